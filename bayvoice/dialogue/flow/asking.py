"""The dialogue of a value before it is logged: which of its readings is meant, whether it can be, and the read-back.

Nothing here records anything. A value goes on to `confirm.log` only by a yes to exactly that value, or at once where
the operator has told the product to trust plain values: those within their limits that replace nothing.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from bayvoice.dialogue.engine.asked import SaidAsked
from bayvoice.dialogue.engine.question import remind
from bayvoice.dialogue.engine.state import MeantAsked, Mode, ReadingAsked, State, Target, ValueAsked
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.errors import BayError
from bayvoice.language import numbers, units
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount
from bayvoice.trade.verdict import judge
from bayvoice.units import possible

REMIND: Final = 10.0
"""Seconds of silence after which an open question about a value is asked once more, and then not again."""

_SLIPS: Final = (-1, 1, -2, 2)
"""Places by which the point may have been misheard, likelier ones first."""


NTHS: Final = {
    word: n
    for n, word in enumerate(
        ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"), 1
    )
}
"""What `which` slots hold -> place."""


def propose(turn: Turn, target: Target, intent: Intent) -> ValueAsked | None:
    """Take what was said as a value for `target`: read it back, ask what is open, or say why it can't be one.

    Returns:
        The value where it may be logged at once because the operator trusts plain values; else None.
    """
    said_unit = units.meant(intent.unit, target.unit)
    words = turn.state.heard.words if turn.state.heard else ""
    if intent.slot("hedge"):
        turn.ring("refused")
        turn.say("hedged", name=target.name, hedge=intent.slot("hedge"))
        return None
    if not intent.readings:
        turn.say("say_a_value", name=target.name, unit=units.spoken(target.unit, True))
        return None
    if units.unit(said_unit).dimension != units.unit(target.unit).dimension:
        turn.ring("refused")
        turn.say("wrong_unit", **_dimensions(turn, target, said_unit))
        return None
    # A temperature below absolute zero was not measured, whatever was said.
    readings = tuple(reading for reading in intent.readings if possible(reading, said_unit))
    if not readings:
        turn.ring("refused")
        turn.say("below_zero", name=target.name, unit=units.spoken(target.unit, True))
        return None
    in_unit = {reading: _in_unit(reading, said_unit, target) for reading in readings}
    left = tuple(r for r in readings if not numbers.far_off(in_unit[r], target.low, target.high))
    if len(readings) > 1 and len(left) != 1:
        reading = ReadingAsked(target, left or readings, said_unit, words)
        _ask(turn, Mode.EITHER, reading, which_reading(turn.state, reading))
        return None
    return settle(turn, target, (left or readings)[0], said_unit, words)


def settle(
    turn: Turn, target: Target, said: Decimal, said_unit: str, words: str, *, sure: bool = False
) -> ValueAsked | None:
    """One value was meant: question it where it is far off, else read it back.

    Args:
        sure: it was questioned already and stands.

    Returns:
        The value where it may be logged at once, see `propose`.
    """
    value = _in_unit(said, said_unit, target)
    try:
        found = judge(value, target.low, target.high, target.uncertainty)
    except BayError as why:
        turn.ring("refused")
        turn.say("cannot_judge", what=_sentence(why.what), mend=_sentence(why.mend))
        return None
    far = numbers.far_off(value, target.low, target.high)
    asked = ValueAsked(target, value, said, said_unit, found, words, far=far)
    before = turn.state.pending
    insists = isinstance(before, MeantAsked) and before.asked.said == asked.said
    if far and not sure and not insists:
        other = _slipped(target, said, said_unit)
        if other is not None:
            meant = MeantAsked(asked, other)
            _ask(turn, Mode.CONFIRM, meant, which_meant(turn.state, meant))
            return None
    if turn.state.trust and found == "within" and not target.corrects:
        return asked
    put(turn, asked)
    return None


def put(turn: Turn, asked: ValueAsked) -> None:
    """Read a value back and wait for its yes."""
    _ask(turn, Mode.CONFIRM, asked, read_back(turn.state, asked))


def put_said(turn: Turn, asked: SaidAsked) -> None:
    """Read an answer in words back and wait for its yes."""
    _ask(turn, Mode.CONSENT, asked, said_back(turn.state, asked))


def said_back(state: State, asked: SaidAsked) -> tuple[str, ...]:
    """An answer in words that waits for its yes."""
    return (state.wording.text("read_back_plain", name=asked.name, value=asked.said),)


def _ask(
    turn: Turn, mode: Mode, asked: ValueAsked | MeantAsked | ReadingAsked | SaidAsked, texts: tuple[str, ...]
) -> None:
    turn.put(pending=asked)
    turn.mode(mode)
    for text in texts:
        turn.say_text(text)
    remind(turn, REMIND)


def read_back(state: State, asked: ValueAsked) -> tuple[str, ...]:
    """A value that waits for its yes, with its verdict; before that what it replaces."""
    target, text = asked.target, state.wording.text
    instead = (text("instead_of", old=target.instead, who=target.instead_by),) if target.instead else ()
    limit, by = (target.high, target.high_by) if asked.verdict == "high" else (target.low, target.low_by)
    shown = "" if limit is None else amount(limit, target.unit)
    key = "read_back_plain" if target.low is None and target.high is None else f"read_back_{asked.verdict}"
    said = text(
        f"{key}_far" if asked.far else key,
        name=_label(state, target),
        value=amount(asked.said_value, asked.said_unit),
        limit=text("limit_by", limit=shown, by=by) if by else shown,
    )
    return (*instead, said)


def which_meant(state: State, asked: MeantAsked) -> tuple[str, ...]:
    """That a value is far off, and whether another was meant."""
    value = asked.asked
    said = state.wording.text(
        "far_high" if value.verdict == "high" else "far_low",
        name=value.target.name,
        value=amount(value.said_value, value.said_unit),
        other=amount(asked.other, value.said_unit),
    )
    return (said,)


def which_reading(state: State, asked: ReadingAsked) -> tuple[str, ...]:
    """What the words can mean, and which was meant."""
    text = state.wording.text
    told = [
        text("which_one", nth=text(f"ordinal_{nth}").capitalize(), value=amount(value, asked.said_unit))
        for nth, value in enumerate(asked.readings, 1)
    ]
    return (text("ask_which", readings=" ".join(told)),)


def label(turn: Turn, target: Target) -> str:
    """What a value is called in a sentence; of several readings also which."""
    return _label(turn.state, target)


def _label(state: State, target: Target) -> str:
    text = state.wording.text
    if target.of > 1:
        return text("reading_of", name=target.name, nth=text(f"ordinal_{target.nth}"), of=target.of)
    return target.name


def ordinal(turn: Turn, number: int) -> str:
    """ "first" … "tenth" in the language of the product."""
    return turn.state.wording.text(f"ordinal_{number}")


def _in_unit(value: Decimal, said_unit: str, target: Target) -> Decimal:
    """`value` in the target's unit, to two places more than its limits have."""
    if said_unit == target.unit:
        return value
    exact = units.convert(value, said_unit, target.unit)
    places = max((-_exponent(limit) for limit in (target.low, target.high) if limit is not None), default=2) + 2
    step = Decimal(1).scaleb(-max(0, places))
    return exact if exact == exact.quantize(step) else exact.quantize(step)


def _exponent(value: Decimal) -> int:
    return int(value.as_tuple().exponent)


def _slipped(target: Target, said: Decimal, said_unit: str) -> Decimal | None:
    """The value within the limits that differs from `said` by its point only, None where there is none."""
    for places in _SLIPS:
        other = said.scaleb(places)
        other = other if _exponent(other) <= 0 else other.quantize(Decimal(1))
        if not possible(other, said_unit):
            continue
        value = _in_unit(other, said_unit, target)
        if other and judge(value, target.low, target.high) == "within":
            return other
    return None


def _dimensions(turn: Turn, target: Target, said_unit: str) -> dict[str, str]:
    """Fields of the sentence that refuses a unit of the wrong dimension by name."""
    said, own = units.unit(said_unit), units.unit(target.unit)
    text = turn.state.wording.text
    return {
        "said": said.singular.capitalize(),
        "dimension": text("a_" + said.dimension.replace(" ", "_")),
        "name": target.name,
        "own": text("a_" + own.dimension.replace(" ", "_")),
        "unit": own.plural,
    }


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
