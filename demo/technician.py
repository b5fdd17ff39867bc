"""The technician of the demo: the transfer-case job of the Varrow K40, Osmere depot, bay 2.

A cue is spoken once the product has been silent for `gap` seconds, `rest` more seconds later (a wait that is sat out).
`barge` cues are spoken into the product's own speech, that many seconds after it began. Like anyone who is not
understood, the technician says it again, and then in other words.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cue:
    """One thing to be said. `others`: other words for it, for when it was not understood twice."""

    words: str
    gap: float = 0.9
    rest: float = 0.0
    barge: float = 0.0
    others: tuple[str, ...] = ()


GO = ("start the clock", "go now")
TIME = ("time left", "how much time")

CUES: tuple[Cue, ...] = (
    Cue("next"),  # isolator off
    Cue("yes"),  # wheels chocked
    Cue("start the clock", others=GO),  # the oil cools down
    Cue("next"),  # meanwhile the drain pan
    Cue("next"),  # too early for the drain plug: refused
    Cue("how long", others=TIME),
    Cue("next", rest=105.0),  # the alert has come meanwhile
    Cue("next"),  # drained
    Cue("count in rag two", others=("count in two rags",)),
    Cue("count in one drain plug"),
    Cue("next"),
    Cue("next"),  # eight bolts loose
    Cue("yes"),  # the colleague is there
    Cue("next"),  # cover off
    Cue("no"),  # no chips on the magnet
    Cue("repeat"),
    Cue("yes"),  # dots face each other
    Cue("zero point five one millimetres"),  # far outside: a slip of the tongue
    Cue("no"),
    Cue("zero point one five millimetres"),
    Cue("yes"),
    Cue("zero point one two millimetres"),
    Cue("yes"),
    Cue("which step"),
    Cue("stop", barge=2.5),  # heard enough
    Cue("next"),  # remover brushed on
    Cue("go", others=GO),
    Cue("next"),  # too early to scrape: refused
    Cue("how long", rest=20.0, others=TIME),
    Cue("next", rest=150.0),
    Cue("next"),  # scraped
    Cue("pause"),  # called away to another bay
    Cue("resume the job", rest=8.0),  # told what was done last, what is open and what comes now
    Cue("yes"),  # faces bright and dry
    Cue("yes"),  # new seal
    Cue("yes"),  # new washer: from here on the way back, worked out from the way down
    Cue("next"),  # drain plug tightened
    Cue("count out one drain plug"),
    Cue("sign ruth", others=("sign as ruth",)),  # the foreman has looked
    Cue("next"),  # refused: two rags still inside
    Cue("count out rag two", others=("count out two rags",)),
    Cue("next"),
    Cue("next"),  # bead laid
    Cue("next"),  # to the cover, the sealant is open
    Cue("yes"),
    Cue("next"),  # cover on
    Cue("yes"),  # eight new bolts
    Cue("next"),  # stage 1
    Cue("next"),  # stage 2
    Cue("next"),  # stage 3
    Cue("thirty six point five newton metres", others=("three six point five newton metres",)),
    Cue("yes"),
    Cue("go", others=GO),  # skinning over
    Cue("next", rest=122.0),
    Cue("one point eight litres"),
    Cue("yes"),
    Cue("yes"),  # joint is dry
    Cue("sign ruth", others=("sign as ruth",)),
)
