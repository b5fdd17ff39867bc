"""Units put together freely ("N.m/deg", "knot/hour"), by the library pint.

pint reads some units of a workshop as something else: "Nm" as a textile count, "mil" as an angle. So every word of a
unit is looked up in our own table first and handed to pint as a unit defined from it; only the rest is pint's to read.
Importing pint takes a quarter of a second, so it happens here and only when it is needed.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import cache
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.trade.units import find
from bayvoice.units import UNITS, Unit

_BASE: Final = ("meter", "kilogram", "second", "ampere", "kelvin", "degree")
_WORD: Final = re.compile(r"[^\W\d_][\w.·°²³]*")
_LONGEST: Final = 100


def convert_free(value: Decimal, source: str, target: str) -> float:
    """`value` of `source` in `target`, in floating point.

    Raises:
        BayError: a unit cannot be read, has two meanings or is a point on a temperature scale; or the two do not
            measure the same.
    """
    import pint

    registry = _registry()
    one, other = (_read(registry, text) for text in (source, target))
    try:
        result = float((float(value) * one).to(other).magnitude)
    except pint.DimensionalityError:
        raise BayError(
            tell("reckon-source-and-target-do-not-measure", source=source, target=target),
            "",
            tell("reckon-check-units"),
        ) from None
    except (ArithmeticError, ValueError, pint.OffsetUnitCalculusError):
        result = math.nan
    if not math.isfinite(result):
        raise BayError(
            tell("reckon-source-cannot-be-turned-into", source=source, target=target), "", tell("reckon-check-units")
        )
    return result


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def _read(registry: Any, text: str) -> Any:
    if len(text) > _LONGEST or not re.fullmatch(r"[\w.·°²³%*/()^\s-]+", text):
        raise BayError(tell("reckon-no-unit", text=text[:30]), "", tell("reckon-put-units-together"))

    # An exponent stands only behind a word and has two figures at most: pint would work out 9**9**9**9.
    powers = text.replace("^", "**")
    rest = re.sub(_WORD.pattern + r"(?:\s*\*\*\s*-?[0-9]{1,2}(?![0-9]))?", "", powers)
    if re.search(r"[^*/()\s]|\*\*", rest):
        raise BayError(tell("reckon-no-unit", text=text[:30]), "", tell("reckon-put-units-together-powers"))

    def ours(match: re.Match[str]) -> str:
        word = match.group()
        found = find(word)
        return word if found is None or not found.code else _define(registry, found)

    try:
        return registry.parse_units(_WORD.sub(ours, powers))
    except BayError:
        raise
    except Exception:
        # Whatever pint's parser throws at nonsense, to a person it is one thing.
        raise BayError(tell("reckon-no-unit", text=text[:30]), "", tell("reckon-put-units-together")) from None


def _define(registry: Any, found: Unit) -> str:
    if found.on_a_scale:
        raise BayError(
            tell("reckon-code-is-point-on-scale", code=found.code),
            "",
            tell("reckon-use-k-for-difference-of-temperatures"),
        )
    name = f"bay_unit_{list(UNITS).index(found.code)}"
    if name not in registry:
        powers = " * ".join(f"{base}**{power}" for base, power in zip(_BASE, found.powers, strict=True) if power)
        registry.define(f"{name} = {float(found.factor)!r} * {powers or 'dimensionless'}")
    return name
