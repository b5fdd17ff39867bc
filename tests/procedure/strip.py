"""A procedure whose way back is worked out."""

from __future__ import annotations

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'


STRIP = (
    HEAD
    + """
[[part]]
id = "seal"
name = "seal"
number = "K40-1"
one_use = true

[[consumable]]
id = "sealant"
name = "sealant"
quantity = "1 tube"

[[consumable]]
id = "oil"
name = "oil"

[[step]]
id = "isolate"
kind = "do"
say = "Turn it off."

[[step]]
id = "guard-off"
kind = "fasten"
say = "Take the guard off."
count = 4
order = "star"
undo = true
name = "guard bolt"
off = ["guard"]
refit = ["8 N.m", "30 deg"]
caution = { signal = "CAUTION", text = "Sharp edges." }

[[step]]
id = "cover-off"
kind = "together"
say = "Lift the cover off."
takes = "5 min"
off = ["cover"]

[[step.back]]
kind = "do"
say = "Lay the bead."
uses = { sealant = "20 ml" }

[[step.back]]
kind = "wait"
wait = "open"
name = "sealant on the cover"
say = "It is open."
at_most = "6 min"
closes = "cover-off-back-3"

[[step.back]]
kind = "together"
say = "Set the cover on."
beats = 3

[[step]]
id = "look"
kind = "check"
say = "Look inside."
ask = "Is it clean?"

[[step]]
id = "seal-out"
kind = "do"
say = "Pull the old seal."
off = ["old seal"]
back = "none"
because = "a new one is fitted"

[[step]]
id = "new-seal"
kind = "replace"
say = "Fit the new seal."
part = "seal"

[[step]]
kind = "way_back"

[[step]]
id = "fill"
kind = "do"
say = "Fill it."
uses = { oil = "1.8 l", sealant = "5 ml" }
"""
)
