"""A procedure with remedies, asides, findings and an open hold."""

from __future__ import annotations

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'


TEXT = (
    HEAD
    + """
[[finding]]
say = "cracked bracket"
to = "bracket"

[[finding]]
say = "metal in the oil"
stop = true
steps = ["clean"]

[[step]]
id = "clean"
kind = "check"
say = "Wipe."
ask = "Is it clean?"
remedy = "again"
tries = 2

[[step]]
id = "float"
kind = "measure"
say = "Measure."
name = "end float"
unit = "mm"
high = 1
remedy = "cool"

[[step]]
id = "sign"
kind = "hold"
say = "Call."
look = "it"
until = "end"

[[step]]
id = "more"
kind = "do"
say = "More."

[[step]]
id = "end"
kind = "do"
say = "End."

[[step]]
id = "wipe"
kind = "do"
say = "Wipe again."
aside = "again"

[[step]]
id = "cooling"
kind = "wait"
wait = "settle"
name = "cooling"
say = "Let it cool."
at_least = "5 min"
aside = "cool"

[[step]]
id = "bracket-out"
kind = "do"
say = "Change the bracket."
aside = "bracket"
"""
)
