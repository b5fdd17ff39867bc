"""Sums asked for by voice: said, noted in the record, and judged by nothing."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.dialogue.engine.turn import Turn
from bayvoice.errors import BayError
from bayvoice.language.intents import Intent
from bayvoice.language.units import UNITS
from bayvoice.language.wording import amount
from bayvoice.trade.conversion import convert_spoken
from bayvoice.units import unit


def reckon(turn: Turn, intent: Intent) -> None:
    """A value in its customary other unit: newton metres for foot pounds."""
    if intent.value is None or intent.unit is None:
        turn.say("reckon_unclear")
        return
    try:
        value, code = convert_spoken(intent.value, intent.unit)
    except BayError as why:
        turn.ring("refused")
        turn.say("reckon_refused", what=why.what, mend=why.mend)
        return
    given, result = amount(intent.value, intent.unit), _amount(value, code)
    turn.fact("reckoned", step=turn.step.id, what="conversion", given=given, result=result)
    # Said as about so much, so noughts at the end would only take time.
    round_ = value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()
    turn.say("reckoned", given=given, result=_amount(round_, code))


def _amount(value: Decimal, code: str) -> str:
    """A value in a unit that need not be one a value can be said in."""
    return amount(value, code) if code in UNITS else f"{value:f} {unit(code).name}"
