"""The commented file that `bayvoice vet --new NAME` writes: a small whole job, to be overwritten line by line."""

from __future__ import annotations

from pathlib import PurePath
from typing import Final

from bayvoice.errors import BayError
from bayvoice.procedure.ids import slug


def starting_text(name: str) -> tuple[str, str]:
    """(file name, text) of a new procedure called `name` ("Drain plug, renew the washer" or "drain-plug.toml").

    Raises:
        BayError: nothing in `name` can be an id.
    """
    stem = PurePath(name).stem if name.endswith(".toml") else name
    made = slug(stem)
    if not made:
        raise BayError("the name gives no id", name, "use letters, such as drain-plug")
    title = " ".join(stem.replace("-", " ").split()) if stem == made else " ".join(stem.split())
    title = "".join(c for c in title if c.isprintable() and c not in '"\\')
    return f"{made}.toml", TEMPLATE.replace("@TITLE@", title[:1].upper() + title[1:])


TEMPLATE: Final = """\
# A procedure of bayvoice, format 1. It is worked as it stands; overwrite it line by line with your own job.
#
#     bayvoice vet THIS-FILE        tells every mistake with its line, what is unwise, and how long the job takes
#     bayvoice work THIS-FILE       reads it aloud
#
# How to write: one act a step. `say` is spoken: short, in words a technician uses, the way you would say it across the
# bay. `show` is for the eyes: figures, drawings' names, the longer why. Every time, torque and limit comes from the
# maker's book or the product's own sheet: write where from under `references`. Whatever could hurt goes into `caution`,
# which is said before the act.
format = 1
title = "@TITLE@"
machine = "the machine, as everybody calls it"
references = ["the maker's book, section and page", "the sealant's own sheet"]

# Said once, before the first step. DANGER: death or serious injury WILL happen. WARNING: it COULD. CAUTION: minor or
# moderate injury could. NOTICE: damage, no injury.
[[caution]]
signal = "WARNING"
text = "Oil may be hot enough to burn. Wear gloves and eye protection."

# What must be new. A one-use part needs a step of kind "replace": fitting it again asks whether it is the new one.
[[part]]
id = "seal"
name = "cover seal"
number = "AB-12-345"          # spelled out and read back when it is ticked off
one_use = true

[[tool]]
id = "torque-wrench"
name = "torque wrench, 5 to 60 newton metres"

# What is used up. With batch = true its batch number is asked for, with shelf_life = true its date.
[[consumable]]
id = "sealant"
name = "flange sealant"
batch = true
shelf_life = true

# A gauge with its uncertainty: a reading too near a limit is told apart from one that is clearly in order.
[[gauge]]
id = "dial-gauge"
name = "dial gauge"
unit = "mm"
uncertainty = "0.01"

# What may be found on the way, and what follows from it. `to` names an aside (see the end), stop = true stops the step.
[[finding]]
say = "metal in the oil"
stop = true

# --- the way down -----------------------------------------------------------------------------------------------------

# check: a question answered with yes or no. `want = "no"` where no is in order.
[[step]]
id = "isolate"
kind = "check"
say = "Turn the machine off and take the key out."
ask = "Is the key in your pocket?"
takes = "1 min"               # what you expect it to take: vet adds it all up
caution = { signal = "DANGER", text = "A machine that starts will crush you." }

# wait: settle (cool, bleed, discharge), act (a chemical works), open (working time), cure (no load before).
# It holds back the steps in `gates`; other steps go on meanwhile.
[[step]]
id = "cool-down"
kind = "wait"
wait = "settle"
name = "oil cooling down"
say = "Let the oil cool before the cover is touched."
at_least = "10 min"
gates = ["cover-off"]

# tally: whatever goes into the open machine is counted in, and must be counted out before it is closed.
[[step]]
id = "count-open"
kind = "tally"
say = "The case is about to be opened. Count everything that goes in."
opening = "case"
things = ["rag", "guide pin"]
takes = "1 min"

# `off`: what this step takes off. Bolts that are loosened (undo) go back by themselves: same bolts, tightening order,
# with the stages of `refit`.
[[step]]
id = "bolts-out"
kind = "fasten"
say = "Loosen the six cover bolts, against the numbered order."
undo = true
count = 6
order = "star"                # or "row", or a list such as [1, 4, 2, 5, 3, 6]
name = "cover bolt"
off = ["cover bolts"]
refit = ["10 N.m", "24 N.m", "60 deg"]
takes = "5 min"

# Anything else says how it goes back in [[step.back]] tables: steps like any other, in the order in which they are
# worked on the way back. Cautions of this step are said again there.
[[step]]
id = "cover-off"
kind = "together"             # needs a second pair of hands; beats = 3 counts down to the common move
say = "Lift the cover off with a colleague."
off = ["cover"]
takes = "2 min"
caution = { signal = "WARNING", text = "A dropped cover could crush a hand." }

[[step.back]]
kind = "do"
say = "Lay one bead of sealant round the cover face."
uses = { sealant = "20 ml" }  # the list before the job is worked out from this
takes = "3 min"

[[step.back]]
kind = "wait"
wait = "open"
name = "sealant on the cover"
say = "The sealant is open. Fit the cover before it skins."
at_most = "10 min"
closes = "cover-off-back-3"   # the steps of a way back are called after their step: -back, -back-2, -back-3 …
recovery = "cover-off-back"   # where to go when the time has run out
starts = "step"               # starts by itself; "go" (the usual) waits for the word

[[step.back]]
kind = "together"
say = "Set the cover on straight with your colleague."
beats = 3
takes = "2 min"

# --- the work ---------------------------------------------------------------------------------------------------------

# What comes off for good says why.
[[step]]
id = "old-seal"
kind = "do"
say = "Pull the old seal out."
off = ["old seal"]
back = "none"
because = "a new one goes in"
takes = "2 min"

[[step]]
id = "new-seal"
kind = "replace"
say = "Drive the new seal in flush."
part = "seal"
takes = "4 min"

# measure: said, read back, judged, logged after a yes. `remedy` names the aside to go to when it is not in order; after
# it this step is asked again, at most `tries` times.
[[step]]
id = "end-float"
kind = "measure"
say = "Measure the end float of the shaft."
name = "shaft end float"
unit = "mm"
low = "0.05"
high = "0.15"
gauge = "dial-gauge"
remedy = "reseat"
tries = 3
takes = "3 min"

# hold: someone else looks and signs. until = "a later step" lets other steps go on meanwhile.
[[step]]
id = "look-inside"
kind = "hold"
say = "Call the foreman to look into the open case."
look = "bearings, seal and faces in the open case"
who = "foreman"
takes = "3 min"

[[step]]
id = "count-closed"
kind = "tally"
say = "Count everything out before the cover goes on."
opening = "case"
close = true
takes = "1 min"

# --- the way back: worked out from the steps above, last off first on; vet shows it -----------------------------------

[[step]]
kind = "way_back"

# --- the end ----------------------------------------------------------------------------------------------------------

[[step]]
id = "skin-over"
kind = "wait"
wait = "cure"
name = "sealant skinning over"
say = "Let the sealant skin over before oil goes in."
at_least = "15 min"
gates = ["fill"]

[[step]]
id = "tidy"
kind = "do"
say = "Clean the tools and the bay."
takes = "8 min"

[[step]]
id = "fill"
kind = "measure"
say = "Fill the case with oil and say how much went in."
name = "oil filled"
unit = "l"
low = "1.7"
high = "1.9"
takes = "4 min"

[[step]]
id = "sign"
kind = "hold"
say = "Call the foreman to sign the job off."
look = "joint, bolts and oil level"
takes = "2 min"

# --- asides: steps off the line, entered only by a remedy or a finding, coming back to the step that sent them --------

[[step]]
id = "press-again"
kind = "do"
say = "Press the bearing home again."
aside = "reseat"
takes = "5 min"
"""
