## bearing

trade-pulled-is-less-than-pushed = pulled { $pulled } is less than pushed { $pushed }
trade-swap-readings-or-set-gauge = swap the readings or set the gauge anew
trade-lower-limit-low-is-above = the lower limit { $low } is above the upper limit { $high }
trade-swap-limits = swap the limits
trade-shim-has-thickness-above-0 = a shim has a thickness above 0
trade-check-thicknesses = check the thicknesses
trade-pack-of-up-to-most = a pack of up to { $most } shims is not provided for
trade-allow-1-to-most-shims = allow 1 to { $most_shims }
trade-count-shims-are-too-many = { $count } shims are too many to try
trade-name-most-kinds-nearest = name the { $most_kinds } nearest
trade-pack-would-have-to-be-ends = the pack would have to be { $ends } thick, below nothing
trade-check-which-way-shims-work = check which way the shims work and the readings
trade-no-pack-of-up-to-most = no pack of up to { $most } shims from the stock is { $span } thick
trade-get-other-shims-do-not-leave = get other shims; do not leave the float outside its limits
trade-too-many-packs-to-try = there are too many packs to try
trade-allow-fewer-shims-or-name = allow fewer shims or name fewer thicknesses

## chain

trade-no-chain-designation-here = there is no chain "{ $designation }" here
trade-use-one-of-pitches-or-pitch = use one of { $pitches }, or a pitch
trade-pitch-of-mm-is-not-possible = a pitch of { $pitch } mm is not possible
trade-give-one-from-3-to-200 = give one from 3 to 200 mm
trade-pitches-are-not-length-to-measure = { $pitches } pitches are not a length to measure wear over
trade-measure-over-fewest-pitches-or-more = measure over { $fewest_pitches } or more
trade-measured-mm-over-pitches-of-pitch = { $measured } mm over { $pitches } pitches of { $pitch } mm is { $percent } percent
trade-count-pitches-again = count the pitches again
trade-inside-mm-and-outside-do = { $inside } mm inside and { $outside } mm outside do not fit
trade-outer-reading-is-larger = the outer reading is the larger
trade-sprocket-of-count-teeth-is-not-possible = a sprocket of { $count } teeth is not possible
trade-give-5-to-300 = give 5 to 300
trade-3-percent-in-general = 3 percent in general
trade-1-5-percent-on-fixed = 1.5 percent on fixed centres
trade-200-by-most-teeth = 200 by { $most } teeth

## checks

trade-is-not-possible = { $what } of { $value } is not possible
trade-give-one-above-up-to = give one above { $low } up to { $high }
trade-give-one-from-up-to = give one from { $low } up to { $high }
trade-degrees = degrees
trade-a-adapter-length = an adapter length
trade-a-angle = an angle
trade-a-cam-advance = a cam advance
trade-a-depth = a depth
trade-a-diameter = a diameter
trade-a-exhaust-duration = an exhaust duration
trade-a-force = a force
trade-a-height = a height
trade-a-inlet-duration = an inlet duration
trade-a-largest-torque = a largest torque
trade-a-length = a length
trade-a-lobe-separation = a lobe separation
trade-a-mark = a mark
trade-a-number-of-teeth = a number of teeth
trade-a-nut-factor = a nut factor
trade-a-position = a position
trade-a-scatter = a scatter
trade-a-torque = a torque
trade-a-valve-event = a valve event
trade-a-width = a width
trade-a-wrench-length = a wrench length

## conversion

trade-no-second-unit = { $unit } have no second unit they are usually given in
trade-plain-number-has-no-second-unit = a plain number has no second unit it is usually given in
trade-name-unit-wanted = name the unit of { $measured } you want

## crank

trade-teeth-off-of-is-half = { $teeth_off } of { $teeth } teeth off is half a turn or more
trade-count-teeth-again = count the teeth again
trade-valve-with-these-events-never = a valve with these events never opens
trade-check-events = check the events

## cure

trade-from-table = from the table: { $point }
trade-between-in-table = between { $points } in the table
trade-table-and = {" "}and{" "}
trade-table-point = { $time } at { $temperature } °C
trade-table-moist-point = { $time } at { $temperature } °C, { $humidity } %
trade-percent-humidity = % humidity
trade-range = { $low } to { $high }
trade-is-not-possible-here = { $what } of { $value } is not possible here
trade-give-one-from-to = give one from { $low } to { $high }
trade-is-none = { $what } of { $number } is none
trade-a-activation-energy = an activation energy
trade-a-factor = a factor
trade-a-humidity = a humidity
trade-a-step = a step
trade-a-temperature = a temperature
trade-a-time = a time
trade-table-goes-by-humidity-too = the table goes by humidity too
trade-give-relative-humidity-in-percent = give the relative humidity in percent
trade-table-is-empty = the table is empty
trade-give-at-least-one-line = give at least one line
trade-only-some-lines-of-table = only some lines of the table have a humidity
trade-give-in-all-lines-or-none = give it in all lines or in none
trade-time-of-seconds-s-is-not-one = a time of { $seconds } s is not one to wait for
trade-give-seconds-above-zero = give seconds above zero
trade-table-says-two-things-of-key = the table says two things of { $temperature } °C
trade-keep-one-of-two-lines = keep one of the two lines
trade-table-has-gaps = the table has gaps
trade-give-every-temperature-with-humidity = give every temperature with every humidity
trade-at-unit-is-outside-makers = { $at } { $unit } is outside the maker's table, which holds for { $ends } { $unit }
trade-bring-bay-into-range-or-ask = bring the bay into that range or ask the maker
trade-range-from-low-to-high = a range from { $low } to { $high } °C is none
trade-give-lower-temperature-first = give the lower temperature first
trade-temperature-c-is-outside-range = { $temperature } °C is outside the range the model holds for, { $low } to { $high } °C
trade-rate-factor-times-as-fast = a rate { $factor } times as fast is none
trade-give-factor-above-zero = give a factor above zero
trade-check-model = check the model
trade-time-by-model = { $time }, { $factor } times as fast at { $temperature } °C
trade-seconds-s-is-not-time = { $seconds } s is not a time since it was applied
trade-give-seconds-from-zero-on = give seconds from zero on
trade-depth-of-mm-is-none = a depth of { $depth } mm is none
trade-give-millimetres-above-zero = give millimetres above zero
trade-depth-mm-is-deeper-than-cures = { $depth } mm is deeper than it cures through, { $deepest } mm
trade-lay-in-thinner-beads-each = lay it in thinner beads, each cured before the next
trade-longer-than-ten-years = that would take longer than ten years
trade-check-depths = check the depths
trade-time-by-depth = { $depth } mm take { $time }, and the time grows with the square of the depth
trade-give-number-above-zero = give a number above zero
trade-check-makers-figures = check the maker's figures

## expression

trade-column-of = column { $column } of { $text }
trade-empty-expression = an empty expression
trade-values-none = none
trade-cannot-be-taken-from = { $other } cannot be taken from { $one }
trade-cannot-be-added-to = { $other } cannot be added to { $one }
trade-result-is-dimension-and-no = the result is { $dimension }, and there is no unit for that
trade-check-multiplications-and-divisions = check the multiplications and divisions
trade-result-is-found-not-powers = the result is { $found }, not { $wanted }
trade-make-come-out-as-powers = make it come out as { $wanted }
trade-result-is-difference-of-temperatures = the result is a difference of temperatures
trade-difference-is-in-k = a difference is in K
trade-result-is-below-absolute-zero = the result is below absolute zero
trade-check-values = check the values
trade-result-is-beyond-any-measurement = the result is beyond any measurement
trade-check-expression = check the expression
trade-expression-of-count-characters-is-too = an expression of { $count } characters is too long
trade-use-at-most-longest = use at most { $longest }
trade-not-expected-here = "{ $text }" is not expected here
trade-join-words-of-name-with-underscores = join the words of a name with underscores, or put it in quotes
trade-put-operator-between-two-values = put + - * or / between two values
trade-too-many-brackets = there are too many brackets
trade-make-simpler = make it simpler
trade-too-many-signs = there are too many signs
trade-name-is-empty = a name is empty
trade-put-name-of-value-between = put the name of a value between the quotes
trade-expression-ends-too-early = the expression ends too early
trade-value-must-come-here = a number, a name or a bracket must come here
trade-no-function-text = there is no function "{ $text }"
trade-use-min-max-abs-or-round = use min, max, abs or round
trade-one-value = one value
trade-value-and-step = a value and a step
trade-two-values-or-more = two values or more
trade-function-is-given-count = { $text } is given { $count }
trade-give-function-what-it-wants = give it { $wants }
trade-bracket-is-not-closed = a bracket is not closed
trade-put-bracket-or-operator-here = put ")" here, or an operator
trade-both-must-measure-same = both must measure the same
trade-two-temperatures-cannot-be-added = two temperatures cannot be added like this
trade-write-difference-in-k = write the difference in K
trade-divides-by-zero = this divides by zero
trade-check-value-after-stroke = check the value after the stroke
trade-found-cannot-be-rounded-to = { $found } cannot be rounded to { $to }
trade-give-step-is-dimension = give a step that is { $dimension }
trade-step-of-round-is-not-above = the step of round is not above zero
trade-give-step-above-zero = give a step above zero
trade-first-and-other-cannot-be-compared = { $first } and { $other } cannot be compared
trade-compare-like-with-like = compare like with like
trade-temperature-on-scale-cannot-be-used = a temperature on a scale cannot be used with "{ $text }"
trade-subtract-another-first = subtract another first
trade-plain-number = a plain number
trade-temperature = a temperature
trade-difference-of-temperatures = a difference of temperatures
trade-value-of-dimension = a value of { $dimension }
trade-no-value-name = there is no value "{ $name }"
trade-values-are = the values are: { $there }
trade-two-values-are-called-name = two values are called "{ $name }"
trade-give-them-different-names = give them different names

## flatness

trade-points-of-grid-are-distance = points of a grid are a distance above 0 apart
trade-check-distances = check the distances
trade-rows-of-grid-are-not-equally = the rows of the grid are not equally long
trade-write-dash-for-no-reading = write a dash where there is no reading
trade-count-points-do-not-show = { $count } points do not show whether a face is flat
trade-measure-4-to-most-points = measure 4 to { $most_points } of them
trade-two-readings-are-of-one = two readings are of one place
trade-give-one-for-each-place = give one for each place
trade-points-lie-on-one-line = the points lie on one line
trade-plane-needs-three-points = a plane needs three that do not

## fluids

trade-no-part-which-in-ratio = there is no part { $which } in a ratio of { $count }
trade-count-from-1 = count from 1
trade-share-is-from-0-to-100 = a share is from 0 to 100 percent
trade-check-percentages = check the percentages
trade-now-percent-with-filled-never = { $now } percent with { $filled_with } percent never gives { $wanted } percent
trade-fill-up-with-something-on-other = fill up with something on the other side of what is wanted
trade-check-percentage = check the percentage
trade-left-does-not-fit-fill = { $left } left does not fit a fill of { $share } percent of { $capacity }
trade-check-volumes = check the volumes
trade-mixing-ratio-has-two-or-more = a mixing ratio has two or more parts above 0
trade-write-like-50-1 = write it like 50:1
trade-volume-of-is-not-possible = a volume of { $volume } is not possible
trade-give-one-above-0 = give one above 0

## order

trade-rows-of-columns-fasteners-are-no = { $rows } rows of { $columns } fasteners are no joint
trade-give-at-least-one-of-each = give at least one of each
trade-no-fastener-number-of-wanted = there is no fastener { $number } of { $wanted }
trade-number-them-1-to-wanted = number them 1 to { $wanted }
trade-fastener-comes-twice = fastener { $twice } comes twice
trade-name-each-once = name each once
trade-fastener-is-missing = fastener { $missing } is missing
trade-joint-has-at-least-one = a joint has at least one fastener, not { $count }
trade-give-number-from-1 = give a number from 1
trade-count-fasteners-are-more-than-one = { $count } fasteners are more than one joint has
trade-give-at-most = give at most { $most }

## statistics

trade-too-few-for-spread = { $count } reading shows no spread
trade-no-reading = there is no reading
trade-give-at-least-one = give at least one
trade-one-reading-shows-no-spread = one reading shows no spread
trade-capability-needs-at-least-two = capability needs at least two, and means little below thirty
trade-capability-is-against-limits-and-none = capability is against limits, and there are none
trade-give-low-or-high-limit = give a low or a high limit
trade-lower-limit-low-is-not-below = the lower limit { $low } is not below the upper limit { $high }
trade-capability-needs-two = capability needs at least two
trade-readings-do-not-differ = the readings do not differ
trade-use-gauge-fine-enough-to-show = use a gauge fine enough to show their spread
trade-confidence-of-makes-no-interval = a confidence of { $confidence } makes no interval
trade-give-one-from-0-5 = give one from 0.5 to below 1
trade-holds-for-steady-process-whose = holds for a steady process whose single readings are normally distributed
trade-spread-of-gauge-is-in = the spread of the gauge is in it
trade-count-readings-are-few-below = { $count } readings are few: below { $enough } the interval matters more than the figure
trade-one-limit-only-so-no = one limit only, so there is no Cp
trade-study-of-persons-parts-and-runs = a study of { $persons } persons, { $parts } parts and { $runs } trials is not provided for
trade-use-2-or-3-persons = use 2 or 3 persons, 2 to 10 parts and 2 or 3 trials
trade-study-has-gaps = the study has gaps
trade-every-person-measures-part-as-many = every person measures every part as many times
trade-every-reading-is-same = every reading is the same
trade-use-parts-that-differ = use parts that differ and a gauge that shows it

## tokens

trade-quote-is-not-closed = a quote is not closed
trade-close-behind-name = close it behind the name
trade-sign-means-nothing-here = "{ $text }" means nothing here
trade-use-numbers-names-and-brackets = use numbers, names, + - * / and brackets
trade-no-unit = "{ $shown }" is not a unit
trade-write-code-of-unit-or-before = write the code of a unit, or * before a name
trade-number-ends-with-point = a number ends with a point
trade-write-figure-behind-point = write a figure behind the point

## torque

trade-adapter-points-back-so-far = the adapter points back so far that almost no arm is left
trade-turn-adapter-or-use-longer = turn the adapter or use a longer wrench
trade-no-coarse-thread-known = M{ $diameter } is not a coarse thread known here
trade-use-one-of-sizes = use one of { $sizes }
trade-no-property-class-grade-here = there is no property class "{ $grade }" here
trade-use-one-of-grades = use one of { $grades }
trade-torque-of-final-is-not-possible = a torque of { $final } is not possible
trade-stages-do-not-rise-to-100 = the stages do not rise to 100 percent
trade-write-them-like-30-60 = write them like 30, 60, 100
trade-no-angle = there is no angle
trade-give-at-least-one-in-degrees = give at least one, in degrees
trade-total-degrees-are-more-than-two = { $total } degrees are more than two turns
trade-check-angles = check the angles

## units

trade-write-floz = write "floz"
trade-mil-or-thou = "mil" may be a thousandth of an inch or an angle; write "thou"
trade-mils-or-thou = "mils" may be thousandths of an inch or angles; write "thou"
trade-unit-has-two-meanings = "{ $plain }" has two meanings

## verdict

trade-no-measurement = { $number } is not a number of measurement
trade-uncertainty-of-is-below-nought = an uncertainty of { $uncertainty } is below nought
trade-give-expanded-uncertainty-as-positive = give the expanded uncertainty as a positive number
trade-give-ordinary-decimal-number = give an ordinary decimal number

## days

trade-day = { $day } { $month } { $year }
trade-month-1 = January
trade-month-2 = February
trade-month-3 = March
trade-month-4 = April
trade-month-5 = May
trade-month-6 = June
trade-month-7 = July
trade-month-8 = August
trade-month-9 = September
trade-month-10 = October
trade-month-11 = November
trade-month-12 = December
