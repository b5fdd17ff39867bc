### What the product says, English. Fields are filled by the core; bayvoice/language/saying.py turns numbers, units
### and part numbers into words before they are spoken. Short sentences: they are heard over a running compressor.

## the job

dialogue-job_begins = Job begins: { $title }, { $machine }. Technician: { $by }. The maker's instructions come first. Stop silences speech and alerts. It is no emergency stop.
dialogue-job_taken_up = Taking up the job: { $title }. Technician: { $by }.
dialogue-procedure_changed = The procedure's file has changed since this job began. The job stays on the version it began with.
dialogue-returned = { $who } has returned this job and says: { $remark }
dialogue-still_paused = The job is paused. Say resume.
dialogue-finished = All steps are done: { $title }. The record is ready for the foreman.
dialogue-caution = { $signal }. { $text }
dialogue-step = Step { $number }. { $say }
dialogue-where = Step { $number } of { $of }: { $title }.
dialogue-back_at_step = Back at step { $number }.
dialogue-no_step_before = This is the first step.

## choosing a job

dialogue-choose_begins = Choose a job by its number.
dialogue-choose_none = There is no job and no procedure to choose.
dialogue-choose_open = { $number }: { $title }. Job { $job }, { $place }.
dialogue-choose_new = { $number }: { $title }. New job.
dialogue-choose_ends = Say the number.
dialogue-choose_again = Say the number.
dialogue-choose_no_number = There is no number { $number }. The last is { $last }.
dialogue-chosen_open = { $title }. Go on with job { $job }, { $place }? Yes or no?
dialogue-chosen_new = { $title }. Begin a new job? Yes or no?
dialogue-help_choose = Say the number of a job, or repeat.
dialogue-expect_choose = say the NUMBER of a job
dialogue-expect_chosen = say YES or NO

## what a step asks for

dialogue-ask_check = { $ask } Yes or no?
dialogue-ask_measure_both = Say the { $name }: { $low } to { $high_unit }.
dialogue-ask_measure_low = Say the { $name }: at least { $low_unit }.
dialogue-ask_measure_high = Say the { $name }: at most { $high_unit }.
dialogue-ask_measure_none = Say the { $name }.
dialogue-ask_read = The { $name }? Say reads, and spell it.
dialogue-ask_choose = The { $name }? Say choose, and one of: { $options }.
dialogue-ask_series = { $of } readings, to be averaged. { $nth } of { $of }.
dialogue-ask_reading = { $nth } of { $of }.
dialogue-ask_torque = Stage { $stage } of { $stages }: { $to }. { $order }
dialogue-ask_angle = Stage { $stage } of { $stages }: a further { $to }. { $order }
dialogue-ask_angle_total = Stage { $stage } of { $stages }: a further { $to }, { $total } in all. { $order }
dialogue-ask_torque_each = Stage { $stage } of { $stages }: { $to }, one by one.
dialogue-ask_angle_each = Stage { $stage } of { $stages }: a further { $to }, one by one.
dialogue-ask_angle_total_each = Stage { $stage } of { $stages }: a further { $to }, { $total } in all, one by one.
dialogue-each_undo = { $count } { $name }s, one by one, in reverse order. Say done when it is loose.
dialogue-each_plain = { $count } { $name }s, one by one. Say done for each.
dialogue-bolt_first = First { $name } { $number }.
dialogue-bolt_next = Next { $name } { $number }.
dialogue-bolt_last = Last { $name } { $number }.
dialogue-bolt_only = { $name } { $number }.
dialogue-ask_round = Once round all at { $to }, in the same order. Did any { $name } still turn? Yes or no?
dialogue-ask_round_again = Round again at { $to }. Did any { $name } still turn? Yes or no?
dialogue-ask_gauge = Is the calibration of the { $gauge } still in date? Yes or no?
dialogue-ask_plain = { $count } { $name }s, in the order { $order }. Say next when all are done.
dialogue-ask_undo = { $count } { $name }s, in the order { $order }. Say next when all are loose.
dialogue-ask_fasten_done = All { $name }s are done. Say next.
dialogue-order = Order: { $order }. Say next when all are done.
dialogue-same_order = Same order.
dialogue-ask_wait_go = Say go when it begins: { $name }.
dialogue-ask_wait_done = It is over: { $name }. Say next to go on.
dialogue-ask_wait_running = It runs: { $name }. Say next to go on.
dialogue-ask_replace = New { $part } fitted, number { $number }? Yes or no?
dialogue-ask_tally_open = The { $opening } is open: count everything in and out. Say count in, and the thing: { $things }.
dialogue-ask_tally_inside = Still in the { $opening }: { $inside }. Count it out.
dialogue-ask_tally_empty = Nothing is counted in the { $opening }. Look inside, then say next.
dialogue-ask_hold = Hold point. The { $who } must look: { $look } Then say sign, and the name.
dialogue-ask_together = This takes { $people } people. Is everyone in place? Yes, when ready.
dialogue-ask_together_go = Say go, and I count down.
dialogue-ask_moved = Done together? Yes or no?
dialogue-ask_hold_done = This hold point is signed. Say next.
dialogue-together_next = The next step takes { $people } people: call somebody now.
dialogue-together_count = Everyone ready.
dialogue-together_ready_ask = Together now.
dialogue-together_done = It is done. Say next.
dialogue-now = now

## what a step still lacks

dialogue-lacking_check = This step needs a yes or a no.
dialogue-lacking_read = This is still to be read off.
dialogue-lacking_choose = Nothing is chosen yet.
dialogue-lacking_measure = This step needs a value in order.
dialogue-lacking_wait = The wait has not been started.
dialogue-lacking_replace = The new part is not recorded as fitted.
dialogue-lacking_tally = The count is not closed.
dialogue-lacking_hold = This hold point is not signed.
dialogue-lacking_together = Nobody has said that all are in place.
dialogue-lacking_fasten = Not all stages are done.
dialogue-lacking_series = Not all readings are taken.
dialogue-lacking_round = The last round is not answered.

## answers taken

dialogue-logged_check_yes = Logged: yes.
dialogue-logged_check_no = Logged: no.
dialogue-logged_value = Logged: { $name }, { $value }.
dialogue-trusted_value = Logged: { $name }, { $value }. Within limits.
dialogue-averaged = Mean of the { $name }: { $value }. Spread { $spread }.
dialogue-gauge_in_use = With the { $gauge }. It is in date.
dialogue-gauge_not_known = With the { $gauge }. Its calibration is not known.
dialogue-round_still = No { $name } turns any more.
dialogue-reckoned = About { $result } for { $given }.
dialogue-logged_part = Logged: new { $part }.
dialogue-signed = Signed by { $who }.
dialogue-noted = Noted at this step.
dialogue-note_kept = Noted: { $seconds } seconds of sound.
dialogue-note_silent = Nobody spoke. The place is noted.
dialogue-note_unkept = The sound could not be kept. The place is noted.
dialogue-moved_yes = Logged: done together.
dialogue-moved_no = Logged: not yet. Say go to count again.
dialogue-moved_no_plain = Logged: not yet. Say yes when it is done.
dialogue-signed_later = That was the hold point: { $look }
dialogue-finding_signed = The step may go on: { $what }.
dialogue-hold_later = Left open until step { $number }.
dialogue-foreign_part = Recorded: a foreign part, { $thing }.
dialogue-foreign_part_note = Recorded: a foreign part. Say take a note to describe it.
dialogue-searched = Recorded: searched by { $who }{ $how }.
dialogue-found_stop_nobody = Recorded: { $what }. This step stops, and nobody may let it go on. Tell the foreman.
dialogue-found_stop = Recorded: { $what }. This step stops until the foreman signs.
dialogue-found_branch = Recorded: { $what }. That is dealt with first.
dialogue-together_ready = Together now. Say next when it is done.
dialogue-tally_closed = Count closed: { $opening } is clear.
dialogue-counted_in = In: { $thing }, { $n }.
dialogue-counted_out = Out: { $thing }, { $n }.
dialogue-inside_row = { $thing }, { $n }
dialogue-now_inside = Inside: { $inside }.
dialogue-now_empty = Nothing inside.

## answers questioned or refused

dialogue-check_not_in_order = That is not in order. Put it right and answer again{ $onward }.
dialogue-part_not_new = Logged: { $part } not renewed. It is a one-use part. Say yes when the new one is fitted.
dialogue-read_back_within = { $name }, { $value }. Within limits. Is that right?
dialogue-read_back_low = { $name }, { $value }. Below the limit of { $limit }. Is that right?
dialogue-read_back_high = { $name }, { $value }. Above the limit of { $limit }. Is that right?
dialogue-read_back_close = { $name }, { $value }. Too close to the limit to call with this gauge. Is that right?
dialogue-read_not_here = Here the { $name } is wanted. Say it, with its unit.
dialogue-choose_not_offered = That is none of those for the { $name }.
dialogue-read_back_plain = { $name }, { $value }. Is that right?
dialogue-read_back_low_far = { $name }, { $value }. That is far below the limit of { $limit }. Is that what the gauge shows?
dialogue-read_back_high_far = { $name }, { $value }. That is far above the limit of { $limit }. Is that what the gauge shows?
dialogue-far_high = { $value } is ten times the limit of the { $name } or more. Did you mean { $other }?
dialogue-far_low = { $value } is a tenth of the limit of the { $name } or less. Did you mean { $other }?
dialogue-instead_of = Instead of { $old }, logged by { $who }.
dialogue-reading_of = { $name }, { $nth } of { $of }
dialogue-ask_which = That can be two values. { $readings } Which one?
dialogue-which_one = { $nth }: { $value }.
dialogue-hedged = A reading is a plain number. Say the { $name } without { $hedge }.
dialogue-cannot_judge = { $what }. { $mend }.
dialogue-no_limits = The { $name } stays open: { $what }; { $mend }.
dialogue-limit_by = { $limit } that comes from { $by }
dialogue-no_such_reading = There is no such reading of the { $name }.
dialogue-no_value_here = No value is wanted here. Say done when the { $name } is done.
dialogue-corrected_outside = The { $name } is out of order now. Back to its step.
dialogue-corrected_changes = With that the { $name } is out of order. Back to its step.
dialogue-value_dropped = Dropped. Say the { $name } again.
dialogue-value_outside = Outside its limits. Put it right and say the value again{ $onward }.
dialogue-value_close = Too close to call. Measure again{ $onward }.
dialogue-value_scattered = The readings lie too far apart. Measure again{ $onward }.
dialogue-value_gauge = The gauge is out of date, so this does not count yet. Take another gauge{ $onward }.
dialogue-gauge_out_of_date = The calibration of the { $gauge } ran out on { $due }.
dialogue-gauge_not_in_date = The calibration of the { $gauge } has run out.
dialogue-bolt_low = { $name } is below its tolerance. Tighten it and say the value again{ $onward }.
dialogue-bolt_high = { $name } is above its tolerance. Loosen it, tighten it again and say the value{ $onward }.
dialogue-reckon_unclear = Say reckon torque, length, pressure, volume or force, then the number and its unit.
dialogue-reckon_refused = That can't be reckoned: { $what }.
dialogue-say_a_value = Say the { $name } as a number, in { $unit }.
dialogue-below_zero = That is below absolute zero. Say the { $name } again, in { $unit }.
dialogue-wrong_unit = { $said } is { $dimension }; the { $name } is { $own } in { $unit }.
dialogue-nothing_to_correct = There is no value to correct.
dialogue-nothing_open = Nothing is open to count into.
dialogue-say_a_thing = Say what goes in or out.
dialogue-count_too_many = Only { $n } of { $thing } counted in.
dialogue-say_who_signs = Say sign, and the name.
dialogue-sign_yourself = You can't sign your own hold point. The { $who } must.
dialogue-sign_unknown = I don't know { $who } here.
dialogue-sign_role = Only the { $role } signs that.
dialogue-sign_several = Say the name of who signs.
dialogue-sign_like = { $who } is too like the name of somebody else here. Say the name as it is kept.
dialogue-sign_searcher = { $who } searched; somebody else must sign.
dialogue-nothing_to_sign = There is nothing to sign here.
dialogue-ask_code = { $who }, say code and your figures, or type them.
dialogue-code_wrong = That code is wrong.
dialogue-code_waits = Codes must wait after a wrong one. Try again in { $wait }.
dialogue-hold_not_later = This one can't wait. The { $who } must sign now.
dialogue-hold_now = It can't be left open any longer. The { $who } must sign now.
dialogue-say_who_searched = Say searched by, and the name.
dialogue-say_a_finding = Say found, and what: one of the procedure's findings, or foreign part.
dialogue-found_elsewhere = { $what } belongs to other steps. Say take a note to keep it.
dialogue-say_who_takes = Say hand over to, and the name.
dialogue-hand_over_self = You have the job already.
dialogue-not_now = That does not fit here.
dialogue-say_again = What was that?

## guards

dialogue-refused_wait = Not yet. { $name }: { $left } more.{ $past }
dialogue-refused_unbegun = Not yet. { $name }, step { $number }, has not been started.{ $past }
dialogue-refused_late = Too late: { $name } ran out. It has to be done again.{ $past }
dialogue-past_alone = {" "}To go on regardless, say skip step.
dialogue-past_second = {" "}To go on regardless, another person must allow it.
dialogue-past_nobody = {""}
dialogue-or_alone = , or say skip step
dialogue-or_second = , or another person must allow it
dialogue-or_nobody = {""}
dialogue-onward_alone = , or say next to go on regardless
dialogue-onward_second = , or another person must allow it
dialogue-onward_nobody = {""}
dialogue-refused_tally = Not yet. Still in the { $opening }: { $inside }.
dialogue-override_skip = Leave this step out? It will stand in the record. Yes or no?
dialogue-override_wait = Go on before the minimum: { $name }? It will stand in the record. Yes or no?
dialogue-override_late = Go on though the time is over: { $name }? It will stand in the record. Yes or no?
dialogue-override_hold = Go on without a sign: { $name } It will stand in the record. Yes or no?
dialogue-override_part = Go on without a new { $name }? It will stand in the record. Yes or no?
dialogue-override_batch = Use the { $name } regardless? It will stand in the record. Yes or no?
dialogue-nobody_skip = Nobody may leave this step out. Do it, or leave the job open.
dialogue-nobody_wait = Nobody may shorten this: { $name }. Wait until its time is over.
dialogue-nobody_late = Nobody may go on after its time: { $name }. It has to be done again.
dialogue-nobody_cancel = Nobody may call this off: { $name }. Wait until its time is over.
dialogue-nobody_check = Nobody may go on while this is not in order. Put it right and answer again.
dialogue-nobody_measure = Nobody may go on with that value. Put it right and say the value again.
dialogue-nobody_gauge = Nobody may let that value count: { $name } is out of date. Take another gauge and say the value again.
dialogue-nobody_batch = Nobody may use this: { $name }. Take another and say next.
dialogue-nobody_bolt = Nobody may leave this as it is: { $name }. Put it right and say its value again.
dialogue-nobody_part = Nobody may go on without a new one: { $name }. Fit a new one and say yes.
dialogue-nobody_hold = Nobody may go on without this sign: { $name } Call who must sign, or leave the job open.
dialogue-nobody_tally = Nobody may close the count with something inside: { $name }. Find it and count it out.
dialogue-nobody_finding = A finding stops this job, and nobody may let it go on: { $name }. Leave the job open and tell the foreman.
dialogue-ask_who = Who allows it? Say allowed by, and the name.
dialogue-named_yourself = Somebody who has not worked on the job must allow it.
dialogue-owed_tally = Not yet. The count is open: { $name }.
dialogue-owed_hold = Not yet. A hold point is not signed: { $name }
dialogue-owed_part = Not yet. No new { $name } is recorded.
dialogue-owed_value = Not yet. The { $name } is out of order since a value was corrected.
dialogue-owed_finding = Not yet. A finding stops this step: { $name }. The foreman must sign.
dialogue-tally_search = Still inside: { $inside }. Search first: say searched by, and the name.
dialogue-tally_sign = Still inside: { $inside }. To close it so, somebody else must sign: say sign, and the name.
dialogue-branch_try = To the remedy, try { $turn } of { $turns }.
dialogue-branch_back = Back again.
dialogue-tries_over = No more tries after { $tries }. The foreman may sign{ $onward }.
dialogue-override_check = Go on though the check is not in order? It will stand in the record. Yes or no?
dialogue-override_measure = Go on though the value is not in order? It will stand in the record. Yes or no?
dialogue-override_gauge = Let the value count though the { $name } is out of date? It will stand in the record. Yes or no?
dialogue-override_bolt = Leave { $name } outside its tolerance? It will stand in the record. Yes or no?
dialogue-override_dropped = Good. Nothing is left out.
dialogue-ask_reason = Why? Say the reason.
dialogue-reason_unfit = That is no reason for this. Say { $reasons }, or another reason.
dialogue-reason_typed = No sound can be kept now. Type: another reason, and then the reason.
dialogue-reason_not_kept = No sound was kept, so there is no reason yet. Say { $reasons }, or another reason.
dialogue-overridden = Recorded, with the reason: { $reason }.

## waits

dialogue-wait_started_both = Started: { $name }. At least { $at_least }, at most { $at_most }.
dialogue-wait_started_min = Started: { $name }. At least { $at_least }.
dialogue-wait_started_max = Started: { $name }. At most { $at_most }.
dialogue-wait_due = Time reached: { $name }. You may go on.
dialogue-wait_soon = Soon over: { $name }. { $left } left.
dialogue-wait_over = Time is over: { $name }.
dialogue-wait_over_back = Next goes back to step { $number }.{ $past }
dialogue-wait_lost = How long it has run can't be known: { $name }. Its time counts as over.
dialogue-wait_near = { $left } more: { $name }.
dialogue-wait_left = { $left } left: { $name }.
dialogue-wait_late_word = This alert comes { $late } late.
dialogue-wait_closed = In time: { $name }.
dialogue-ring_due = Time reached: { $name }.
dialogue-ring_soon = Soon over: { $name }.
dialogue-ring_over = Time is over: { $name }.
dialogue-ring_more = And { $n } more. Say how long.
dialogue-recovery = Too late: { $name } ran out. It has to be done again.
dialogue-already_running = It runs already: { $name }.
dialogue-no_wait = No wait is running.
dialogue-no_such_wait = That wait is not running.
dialogue-which = Which wait? Say number, and which: { $rows }
dialogue-which_row = { $number }, { $name }.
dialogue-sure_ago = { $name }: begun { $by } ago. Is that right?
dialogue-sure_ahead = { $name }: to begin in { $by }. Is that right?
dialogue-started_too_early = { $name }: this step began { $here } ago, and it can't have started before. Say go, or a shorter time.
dialogue-sure_restart = Count { $name } anew from nought. Is that right?
dialogue-sure_extend = Make { $name } longer by { $by }, to at least { $at_least }. Is that right?
dialogue-sure_ambient = { $name } { $value }. Is that right?
dialogue-sure_dropped = Nothing is changed.
dialogue-extended = { $name }: at least { $at_least } now.
dialogue-extend_how_long = Say by how much, in minutes.
dialogue-extend_no_minimum = { $name } has no time at least. A time at most is the maker's and can't be made longer.
dialogue-extend_too_long = That is more than { $name } may take at most, { $most }.
dialogue-override_cancel = Call off { $name }? It then holds nothing back, and that will stand in the record. Yes or no?
dialogue-cancelled = Called off: { $name }. Reason: { $reason }.
dialogue-ask_temperature = Say the temperature in the bay, in degrees Celsius.
dialogue-ask_humidity = Say the relative humidity, in percent.
dialogue-ask_depth = Say how deep the bead is, in millimetres.
dialogue-ambient_again = Say the { $name } again.
dialogue-ambient_old = The { $name } was taken too long ago. Go back to step { $number } to give it anew.
dialogue-time_both = { $name }: { $short } more, and at most { $left }.
dialogue-time_short = { $name }: { $short } more.
dialogue-time_left = { $name }: { $left } left.
dialogue-time_over = { $name }: over by { $over }.
dialogue-time_ready = { $name }: done.
dialogue-then_gated = Then step { $number }: { $say }
dialogue-then_closes = Before it ends, step { $number } must be done: { $say }
dialogue-then_closes_begun = Before it ends, step { $number } must begin: { $say }
dialogue-then_recovery = Next goes back to step { $number }: { $say }
dialogue-meanwhile = Meanwhile you may say next: step { $number }. { $say }

## parts and consumables

dialogue-parts_begin = Parts list: { $n } items. Say parts list to tick them off.
dialogue-ask_item = { $quantity }: { $name }.{ $number }{ $spare } Have it, missing, or later?
dialogue-part_number = {" "}Number { $number }.
dialogue-part_spare = {" "}Perhaps { $spare } more.
dialogue-item_missing = Noted: { $name } is missing.
dialogue-parts_missing = The list is done. Missing: { $items }.
dialogue-parts_all = The list is done. All is in hand.
dialogue-parts_later = The rest of the list is left for later.
dialogue-ask_batch = Batch of the { $name }? Say batch, and spell it.
dialogue-ask_expiry = { $name }: good until? Say month and year, or no date.
dialogue-read_batch = Batch { $spelt }. Is that right?
dialogue-read_expiry = Good until { $until }. Is that right?
dialogue-batch_logged = Logged: batch of the { $name }.
dialogue-batch_out = Out of date: { $name }.
dialogue-batch_undated = No date on the { $name }: it may not be used.
dialogue-batch_again = Take another and say next{ $past }.

## interruption

dialogue-told_last = Done last: step { $number }. { $say }
dialogue-told_last_ago = Done last, { $ago } ago: step { $number }. { $say }
dialogue-told_now = Now: step { $number } of { $of }. { $say }
dialogue-told_needs = It needs: { $needs }.
dialogue-told_inside = In the { $opening }: { $inside }.
dialogue-told_open = The { $opening } is open, nothing counted in.
dialogue-told_hold = Still to sign: { $look }
dialogue-told_parts = The parts list is not done.
dialogue-told_finding = A finding waits for the foreman: { $what }.
dialogue-told_missing = Missing: { $items }.
dialogue-need_people = { $people } people
dialogue-need_sign = the { $who }
dialogue-away = Nothing happened for { $away }.
dialogue-hand_over_ask = Hand the job over to { $who }? Yes or no?
dialogue-hand_over_take = { $who }, do you take the job? Yes or no?
dialogue-handed_over = The job is yours, { $who }.
dialogue-hand_over_dropped = The job stays with { $who }.

## pause and trouble

dialogue-paused = Paused. Say resume.
dialogue-paused_waits = Paused. Still running: { $waits }. Say resume.
dialogue-trouble = { $what }. { $mend }.
dialogue-store_failed = The record can't be written. Nothing is logged until it can.
dialogue-store_mend = Make room on the disk or see to its rights; writing is tried again every few seconds
dialogue-clock_forward = The computer's clock was set forward by { $by }. The waits do not hang on it.
dialogue-clock_back = The computer's clock was set back by { $by }. The waits do not hang on it.
dialogue-clock_restart = The waits went on by the calendar clock.
dialogue-clock_uncounted = { $name }: the time the computer was off does not count.
dialogue-clock_unknown = How long the computer was off can't be known. Minimum times count only what is certain, maximum times count as over.
dialogue-why_own_voice = said while I was speaking
dialogue-why_changed = said before this was asked
dialogue-why_not_here = not a phrase of this step
dialogue-why_doubtful = not sure of it: say it again
dialogue-why_unsure = too unsure to be meant

## help: what can be said

dialogue-help_step = Say next, repeat, back, which step, or how long.
dialogue-help_check = Say yes, no, repeat, or skip step.
dialogue-help_measure = Say the value with its unit, or repeat, or skip step.
dialogue-help_check_kept = Say yes, no, or repeat.
dialogue-help_measure_kept = Say the value with its unit, or repeat.
dialogue-help_confirm = Say yes, no, or the right value.
dialogue-help_either = Say the first, the second, or the value again.
dialogue-help_gauge = Say yes if the gauge is in date, else no.
dialogue-help_override = Say yes or no.
dialogue-help_reason = Say { $reasons }, or another reason.
dialogue-help_list = Say have it, missing, or later.
dialogue-help_read = Say reads, then letters as alfa, bravo, and figures one by one; or type it after the word reads.
dialogue-help_choose_step = Say choose and one of what is offered, or its number, or repeat.
dialogue-help_spell = Say batch, then letters as alfa, bravo, and figures one by one; or later, or skip step.
dialogue-help_expiry = Say month and year, no date, later, or skip step.
dialogue-help_spell_kept = Say batch, then letters as alfa, bravo, and figures one by one; or later.
dialogue-help_expiry_kept = Say month and year, no date, or later.
dialogue-help_noting = Say end of note, or stop, or be quiet for two seconds.
dialogue-help_consent = Say yes or no.
dialogue-help_code = Say code and the figures, or no.
dialogue-help_named = Say allowed by and the name, or no.
dialogue-help_fasten = Say next when the stage is done, or repeat.
dialogue-help_ambient = Say the value with its unit, or go if it has begun already.
dialogue-help_sure = Say yes or no.
dialogue-help_which = Say the number or the name of the wait, or no.
dialogue-help_bolt = Say done for this one, or the value it reached, or repeat.
dialogue-help_wait = Say go to start the wait, next to go on, or how long.
dialogue-help_replace = Say yes when the new part is fitted, or no.
dialogue-help_tally = Say count in or count out, the thing and how many, or next.
dialogue-help_hold = Say sign and the name of who has looked.
dialogue-help_together = Say yes when everyone is in place, then next.
dialogue-help_paused = Say resume, which step, or how long.
dialogue-help_finished = The job is done. Say repeat to hear it again.

## the screen: the one thing expected now

dialogue-expect_step = say NEXT when done
dialogue-expect_check = say YES or NO
dialogue-expect_measure_both = say a value in { $unit }, { $low } to { $high_unit }
dialogue-expect_measure_low = say a value in { $unit }, at least { $low_unit }
dialogue-expect_measure_high = say a value in { $unit }, at most { $high_unit }
dialogue-expect_measure_none = say a value in { $unit }
dialogue-expect_reading = { $nth } of { $of }: { $said }
dialogue-expect_confirm = say YES, NO or the right value
dialogue-expect_either = say THE FIRST, THE SECOND or the value
dialogue-expect_gauge = say YES if the gauge is in date, or NO
dialogue-expect_override = say YES or NO
dialogue-expect_reason = say the reason
dialogue-expect_fasten = say NEXT when the stage is done
dialogue-expect_ambient = say the value it is worked out from
dialogue-expect_sure = say YES or NO
dialogue-expect_which = say the NUMBER of the wait
dialogue-expect_bolt = say DONE, or the value it reached
dialogue-expect_wait = say GO when it begins
dialogue-expect_wait_barred = wait, or say HOW LONG
dialogue-expect_wait_running = say NEXT to go on
dialogue-expect_replace = say YES when the new part is fitted
dialogue-expect_tally = say COUNT IN or COUNT OUT and the thing, or NEXT
dialogue-expect_hold = say SIGN and the name
dialogue-expect_together = say YES when everyone is in place, then NEXT
dialogue-expect_list = say HAVE IT, MISSING or LATER
dialogue-expect_read = say READS and spell it: ALFA, BRAVO, ONE …
dialogue-expect_choose_step = say CHOOSE and one of these, or its NUMBER
dialogue-expect_spell = say BATCH and spell it: ALFA, BRAVO, ONE …
dialogue-expect_expiry = say month and year, or NO DATE
dialogue-expect_noting = speak your note, then be quiet, or say STOP
dialogue-expect_consent = say YES or NO
dialogue-expect_code = say CODE and the figures, or type them
dialogue-expect_named = say ALLOWED BY and the name
dialogue-expect_paused = say RESUME
dialogue-expect_finished = the job is done

## words that sentences are made of

dialogue-ordinal_1 = first
dialogue-ordinal_2 = second
dialogue-ordinal_3 = third
dialogue-ordinal_4 = fourth
dialogue-ordinal_5 = fifth
dialogue-ordinal_6 = sixth
dialogue-ordinal_7 = seventh
dialogue-ordinal_8 = eighth
dialogue-ordinal_9 = ninth
dialogue-ordinal_10 = tenth
dialogue-a_torque = a torque
dialogue-a_length = a length
dialogue-a_angle = an angle
dialogue-a_pressure = a pressure
dialogue-a_temperature = a temperature
dialogue-a_voltage = a voltage
dialogue-a_current = a current
dialogue-a_resistance = a resistance
dialogue-a_volume = a volume
dialogue-a_mass = a mass
dialogue-a_time = a time
dialogue-a_force = a force
dialogue-a_speed = a speed
dialogue-a_speed_of_rotation = a speed of rotation
dialogue-a_proportion = a proportion

## reasons for passing a guard, by the code that facts hold

dialogue-reason_not_fitted = not fitted
dialogue-reason_not_needed = not needed
dialogue-reason_already_done = already done
dialogue-reason_part_missing = part missing
dialogue-reason_tool_missing = tool missing
dialogue-reason_damaged = damaged
dialogue-reason_wrong_part = wrong part
dialogue-reason_foremans_order = foreman's order
dialogue-reason_maker_allows = maker allows it
dialogue-reason_tested_good = tested good
dialogue-reason_tested_hard = tested hard
dialogue-reason_measured_cold = measured cold
dialogue-reason_measured_empty = measured empty
dialogue-reason_stood_long = stood long enough
dialogue-reason_nothing_applied = nothing applied
dialogue-reason_started_wrongly = started by mistake
dialogue-reason_done_later = done again later
dialogue-reason_no_other_gauge = no other gauge
dialogue-reason_compared = compared with another gauge
dialogue-reason_no_other_batch = no other batch
dialogue-reason_label_unreadable = label unreadable
dialogue-reason_old_one_good = old one in good order
dialogue-reason_not_found = searched and not found
dialogue-reason_miscounted = counted wrongly
dialogue-reason_person_missing = person not here
dialogue-reason_seen_before = looked at before
dialogue-reason_another = another reason

## what is searched with, by the code that facts hold

dialogue-means_lamp = a lamp
dialogue-means_mirror = a mirror
dialogue-means_magnet = a magnet
dialogue-means_borescope = a borescope
dialogue-means_both_hands = both hands

## over an open question on the screen

dialogue-heading_value = a question first
dialogue-heading_guard = a guard is in the way
dialogue-heading_reason = a reason is wanted
dialogue-heading_named = somebody has to allow it
dialogue-heading_code = a code is wanted; it is neither shown nor kept
dialogue-heading_note = a note
dialogue-heading_hand_over = handing over
dialogue-heading_list = the list of parts and consumables
dialogue-heading_batch = a batch number is wanted
dialogue-heading_expiry = a shelf life is wanted
dialogue-heading_batch_read = read back
dialogue-heading_wait = about a wait
