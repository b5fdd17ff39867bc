"""What the technician of the demo says, and when: the transfer-case job of the Varrow T4, Northgate depot, bay 2.

A cue is spoken once the product has been silent for `gap` seconds; `rest` more seconds pass first (a wait that is sat
out). `barge` cues are spoken into the product's own speech, that many seconds after it began.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cue:
    """One thing said."""

    words: str
    gap: float = 0.9
    rest: float = 0.0
    barge: float = 0.0


CUES: tuple[Cue, ...] = (
    Cue("next"),  # isolator off
    Cue("yes"),  # wheels chocked
    Cue("go"),  # the oil cools down
    Cue("next"),  # meanwhile the drain pan
    Cue("next"),  # too early for the drain plug: refused
    Cue("how long"),
    Cue("next", rest=112.0),  # the alert has come meanwhile
    Cue("next"),  # drained
    Cue("count in rag two"),
    Cue("count in drain plug"),
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
    Cue("record point one two"),
    Cue("yes"),
    Cue("where am i"),
    Cue("stop", barge=2.5),  # heard enough
    Cue("next"),  # remover brushed on
    Cue("go"),
    Cue("next"),  # too early to scrape: refused
    Cue("how long", rest=20.0),
    Cue("next", rest=160.0),
    Cue("next"),  # scraped
    Cue("yes"),  # faces bright and dry
    Cue("yes"),  # new seal
    Cue("yes"),  # new washer
    Cue("count out drain plug"),
    Cue("next"),  # drain plug tightened
    Cue("sign ruth"),  # the foreman has looked
    Cue("next"),  # refused: two rags still inside
    Cue("count out rag two"),
    Cue("next"),
    Cue("next"),  # bead laid
    Cue("next"),  # to the cover, the sealant is open
    Cue("yes"),
    Cue("next"),  # cover on
    Cue("next"),  # stage 1
    Cue("next"),  # stage 2
    Cue("next"),  # stage 3
    Cue("thirty six point five newton metres"),
    Cue("yes"),
    Cue("go"),  # skinning over
    Cue("pause"),
    Cue("resume", rest=30.0),
    Cue("next", rest=85.0),
    Cue("one point eight litres"),
    Cue("yes"),
    Cue("yes"),  # joint is dry
    Cue("sign ruth"),
)
