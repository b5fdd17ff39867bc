"""What a subject of `bayvoice reckon` answers, and how figures are written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Context, Decimal
from typing import Any

_WIDE = Context(prec=90)


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer.

    Attributes:
        figures: for programs; a Decimal stands there as text, so that it keeps its digits.
        lines: for people.
        in_order: False where what was examined is not: outside its limits, worn out.
        rounding: how the figures in the lines are rounded; "" where they are exact.
    """

    figures: dict[str, Any]
    lines: Sequence[str] = field(default_factory=list)
    in_order: bool = True
    rounding: str = ""


def plain(value: Decimal) -> str:
    """A decimal number without exponent."""
    return format(value, "f")


def figures(value: Decimal | float, count: int = 4) -> str:
    """`value` to `count` significant figures, written out; a Decimal that has no more is left as it is."""
    number = Decimal(repr(value)) if isinstance(value, float) else value
    if not number:
        return "0"
    if isinstance(value, Decimal) and len(number.normalize(_WIDE).as_tuple().digits) <= count:
        return plain(number)
    rounded = number.quantize(Decimal(1).scaleb(number.adjusted() - count + 1), context=_WIDE)
    return plain(rounded)


def for_json(value: Any) -> Any:
    """`value` with every Decimal as text."""
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, dict):
        return {key: for_json(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [for_json(inner) for inner in value]
    return value
