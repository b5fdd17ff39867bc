## address

language-word-cannot-be-address = "{ $word }" cannot be the address word
language-give-one-word-in-small = give one word in small letters

## automaton

language-word-cannot-be-spoken-as-stands = "{ $word }" cannot be spoken as it stands
language-write-in-letters-as-is-said = write it in letters, as it is said
language-tag-names-no-intent = the tag {"{"}{ $tag }{"}"} names no intent
language-see-list-of-intents = see the list in bayvoice/language/intents.py
language-tag-has-no-usable-key = the tag {"{"}{ $tag }{"}"} has no usable key
language-write-tag-with-key = write {"{"}key={"}"} or {"{"}key=text{"}"}

## grammar

language-no-grammar-called = no grammar is called { $grammar }
language-put-grammar-among-grammars = put { $grammar }.gram among the grammars
language-no-rule-takes-phrases = no rule <{ $rule }> takes phrases
language-use-one-of-rules = use { $slots }
language-state-name-any-is-taken = the state name any is taken by the program
language-rename-rule = rename the rule
language-no-dialogue-state-name = there is no dialogue state { $name }
language-use-one-of-states = use { $any }, { $names }
language-said-could-be-understood-in-two = "{ $said }" could be understood in two ways
language-rename-one-of-things-or-measurements = rename one of the things or measurements

## jsgf

language-grammar-states-version = the grammar states version { $version }
language-grammar-states-no-version = the grammar states version none
language-a-semicolon = a ";"
language-an-equals-sign = a "="
language-is-not-jsgf-grammar = this is not a JSGF grammar
language-let-file-begin-with-jsgf = let the file begin with "#JSGF V1.0;"
language-write-header = write "#JSGF V1.0;"
language-header-holds-more-than-version = the header holds more than version, encoding and locale
language-write-whole-header = write "#JSGF V1.0 UTF-8 en;"
language-what-is-not-closed = { $what } is not closed
language-add-missing-end = add the missing "{ $end }"
language-comment-is-not-closed = a comment is not closed
language-add-missing-end-of-comment = add the missing "*/"
language-rule-name = a rule name
language-no-rule-name = "<{ $content }>" is not a rule name
language-write-one-name-without-spaces = write one name without spaces in <>
language-tag = a tag
language-quoted-token = a quoted token
language-weight = a weight
language-end-of-file = the end of the file
language-what-is-missing-before-lexeme = { $what } is missing before { $lexeme }
language-write-what = write { $what } there
language-grammar-has-no-name = the grammar has no name
language-write-grammar-name-after-header = write "grammar NAME;" after the header
language-grammars-name = the grammar's name
language-imported-rule-in = the imported rule in <>
language-import-text-names-no-grammar = the import <{ $text }> names no grammar
language-write-grammar-rule-or = write <grammar.rule> or <grammar.*>
language-rule-is-defined-twice-first = rule <{ $rule }> is defined twice, first at { $where }
language-give-one-of-them-another = give one of them another name
language-rule-cannot-begin-with-now = a rule cannot begin with { $now }
language-write-name-what-is-said = write "<name> = what is said;"
language-rule-name-in = a rule name in <>
language-text-is-special-rule-of-format = <{ $text }> is a special rule of the format
language-choose-another-name = choose another name
language-rule-name-text-holds-dot = the rule name <{ $text }> holds a dot
language-choose-name-without-dot = choose a name without a dot
language-only-some-of-alternatives-have = only some of the alternatives have a weight
language-give-every-one-weight-or-none = give every one a weight, or none
language-every-alternative-has-weight-0 = every alternative has the weight 0
language-give-at-least-one-weight = give at least one a weight above 0
language-no-weight = "{ $text }" is not a weight
language-write-number-from-0-up = write a number from 0 up between the slashes
language-nothing-can-be-said-before = nothing can be said before { $now }
language-write-word-or-null = write a word or <NULL> there
language-mark-follows-nothing = { $now } follows nothing
language-write-after-word-rule-or-group = write it after a word, a rule or a group
language-quoted-token-is-empty = a quoted token is empty
language-write-words-between-quotation-marks = write words between the quotation marks, or <NULL>
language-group-is-not-closed = the "{ $kind }" of line { $line } is not closed
language-add-missing-close = add the missing "{ $close }"

## linking

language-imported-rule-not-public = the imported rule <{ $rule }> is not public
language-no-imported-rule = the imported rule <{ $rule }> does not exist
language-or = {" "}or{" "}
language-grammar-name-is-also-used = the grammar name { $grammar } is also used by { $where }
language-rename-one-of-two = rename one of the two
language-imported-grammar-owner-does-not-exist = the imported grammar { $owner } does not exist
language-correct-name = correct the name
language-see-where = see { $where }
language-no-rule = there is no rule <{ $ref }>
language-correct-name-or-define-import = correct the name, or define or import the rule
language-ref-may-mean-found = <{ $ref }> may mean { $found }
language-write-grammars-name-before = write the grammar's name before it
language-rule-full-contains-itself-ring = rule <{ $full }> contains itself ({ $ring }), so its utterances would have no bound
language-write-repetition-with-or-instead = write the repetition with * or + instead

## matcher

language-words-have-many-intents = "{ $words }" has { $count } intents
language-words-have-no-intent = "{ $words }" has no intent
language-give-each-way-of-saying = give each way of saying something exactly one {"{"}intent{"}"} tag
language-unit-is-not = {"{"}unit={ $unit }{"}"} is not a unit
language-see-table-of-units = see the table in bayvoice/language/units.py

## phrases

language-word-in-phrase-cannot-be-spoken = "{ $word }" in "{ $phrase }" cannot be spoken
language-phrase-has-no-words = a phrase has no words
language-write-words-or-leave-phrase = write the words or leave the phrase out

## spelling

language-character-in-text-cannot-be-spelled = "{ $character }" in "{ $text }" cannot be spelled
language-use-letters-figures-and = use letters, figures, - / and .
language-nothing-to-spell = there is nothing to spell
language-give-number-with-letters-or-figures = give a number with letters or figures

## units

language-no-unit-code = there is no unit "{ $code }"
language-use-one-of-units = use one of { $units }

## wording

language-and-last = { $items } and { $last }
language-wording-cannot-be-used = the wording cannot be used ({ $gap })
language-wording-key = wording { $key }
language-add-to-dialogue = add it to dialogue.ftl
