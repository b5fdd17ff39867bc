"""The kinds of step, one module each: how it is read, what it asks, lacks, takes as an answer, records, owes, shows."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.steps.check import CHECK
from bayvoice.dialogue.steps.choose import CHOOSE
from bayvoice.dialogue.steps.do import DO
from bayvoice.dialogue.steps.fasten import FASTEN
from bayvoice.dialogue.steps.hold import HOLD
from bayvoice.dialogue.steps.measure import MEASURE
from bayvoice.dialogue.steps.read import READ
from bayvoice.dialogue.steps.replace import REPLACE
from bayvoice.dialogue.steps.tally import TALLY
from bayvoice.dialogue.steps.together import TOGETHER
from bayvoice.dialogue.steps.wait import WAIT
from bayvoice.job.folds import SHARED
from bayvoice.job.job import Kinds

KINDS: Final = Kinds((DO, CHECK, MEASURE, FASTEN, WAIT, REPLACE, TALLY, HOLD, TOGETHER, READ, CHOOSE), SHARED)
"""All of them, in the order in which they are named to a reader.

Procedures are read with them, `load_text(text, name, KINDS)`, and a job gets them when it is made:
`Job(name, procedure, KINDS)`.
"""
