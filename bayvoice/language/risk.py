"""How sure one must be of what was heard before it is done: by what the intent would do, in which dialogue state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Risk(StrEnum):
    """What a wrongly heard intent would cost, least first."""

    QUIET = "quiet"
    """A sentence is not heard to its end, or an alert is silenced; a "stop" that is missed is the worse mistake."""
    HARMLESS = "harmless"
    """Something is said once more."""
    STEERING = "steering"
    """The job stands elsewhere or a mark is made; a word puts it back."""
    VALUE = "value"
    """A value is read back, and logged only after a yes; so the read-back is the question."""
    BINDING = "binding"
    """An answer is logged or a step is left."""
    OVERRIDING = "overriding"
    """A guard is passed or a value enters the record."""


@dataclass(frozen=True, slots=True)
class Levels:
    """Natural-log odds: from `act` on it is done, from `doubt` on it is asked about, below that it is nothing."""

    doubt: float
    act: float


LEVELS: Final[Mapping[Risk, Levels]] = {
    Risk.QUIET: Levels(-1.0, -1.0),
    Risk.HARMLESS: Levels(-1.0, -0.5),
    Risk.STEERING: Levels(-1.0, 0.0),
    Risk.VALUE: Levels(-0.5, -0.5),
    Risk.BINDING: Levels(-0.7, 0.0),
    Risk.OVERRIDING: Levels(-0.3, 0.7),
}
"""The one place for these numbers.

Read off ``python -m tests.bench.certainty --each 2 --people 12`` with the networks that ship (the tuning half: people
and five synthesised voices, clean, 10 and 5 dB, everything a job could hear active). Of 36 right stops 34 are above 0
and all above -1; of 91 right values 85 above 0 and 88 above -0.5; of 90 right binding intents 85 above 0.7 and no more
above -0.7, all 36 right answers above 2. Of 87 foreign utterances none is done and one is asked about; two values of
93 are heard as another one, however sure, which is what reading back is for.
"""

READ_FROM: Final = "070d2fa201f13b238fa535abae97a3a7e9d79a631033bd9306e1ba2e99e97be3"
"""SHA-256 of the networks (``edges/ears/data/phones.npz``) that the levels were read off."""

LEAST: Final = min(levels.doubt for levels in LEVELS.values())
"""Below this no intent is even asked about: a recogniser may refuse by itself what is less sure."""

AGREE_S: Final = 6.0
"""Two doubtful hearings of the same intent count as a sure one if the second begins within this many seconds."""

_RISKS: Final[Mapping[str, Risk]] = {
    "stop": Risk.QUIET,
    **dict.fromkeys(("repeat", "where", "time", "help"), Risk.HARMLESS),
    **dict.fromkeys(("pause", "resume", "back", "note", "count_in", "count_out", "parts", "reckon"), Risk.STEERING),
    # What was spelled, a month, and to whom the job passes are read back or asked about.
    **dict.fromkeys(("record", "correct", "pick", "spell", "expires", "hand_over"), Risk.VALUE),
    **dict.fromkeys(("next", "no", "go", "skip", "sign", "later", "searched", "found"), Risk.BINDING),
    # A yes logs, ticks off or passes something in every state that asks for one.
    "yes": Risk.OVERRIDING,
    "name": Risk.OVERRIDING,
    # These only lead to a question.
    **dict.fromkeys(("started", "restart", "extend", "cancel", "choose"), Risk.STEERING),
}

_OF_STATE: Final[Mapping[tuple[str, str], Risk]] = {
    # A "no" here drops a question, which can be put again; in a check it is an answer.
    ("confirm", "no"): Risk.STEERING,
    ("override", "no"): Risk.STEERING,
    ("reason", "no"): Risk.STEERING,
    ("sure", "no"): Risk.STEERING,
    ("which", "no"): Risk.STEERING,
    ("tally", "no"): Risk.HARMLESS,
    ("consent", "no"): Risk.STEERING,
    ("named", "no"): Risk.STEERING,
    ("code", "no"): Risk.STEERING,
    # These put something into the record that nobody is asked about again.
    ("reason", "skip"): Risk.OVERRIDING,
    ("hold", "sign"): Risk.OVERRIDING,
    # In free speech a stop that was not meant cuts a note short.
    ("noting", "stop"): Risk.BINDING,
}


class Verdict(StrEnum):
    """What to do with an utterance that has a meaning."""

    ACT = "act"
    DOUBTFUL = "doubtful"
    REFUSE = "refuse"


def risk_of(state: str, intent: str) -> Risk:
    """The risk of `intent` in dialogue state `state`; states without a rule of their own ("any") have the common one.

    Raises:
        KeyError: there is no such intent.
    """
    return _OF_STATE.get((state, intent)) or _RISKS[intent]


def weigh(state: str, intent: str, sure: float | None) -> Verdict:
    """What to do with `intent` heard in `state`.

    Args:
        state: the dialogue state.
        intent: name of the intent.
        sure: natural-log odds that this was said; None, an engine that cannot tell, counts as sure: such an engine's
            own refusal is all there is.
    """
    levels = LEVELS[risk_of(state, intent)]
    if sure is None or sure >= levels.act:
        return Verdict.ACT
    return Verdict.DOUBTFUL if sure >= levels.doubt else Verdict.REFUSE
