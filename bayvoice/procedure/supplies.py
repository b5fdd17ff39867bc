"""What the steps use up, and the list of it all before the job."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from bayvoice.language.units import UNITS
from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.kind import kinds_of
from bayvoice.procedure.mistakes import quoted, suggest
from bayvoice.procedure.model import Item, Part, Procedure, Use

_AMOUNT: Final = re.compile(r"([0-9][0-9.,_]*)\s*([^\s0-9]\S*)?")
_SUPPLIED: Final = ("volume", "mass", "length")
"""Dimensions a consumable is measured in."""


@dataclass(frozen=True, slots=True)
class Need:
    """One line of the list before the job.

    Attributes:
        item: id of the part or consumable.
        name, number: as spoken; the part number, "" where there is none.
        quantity: what the line of the job uses ("2 l", "3"), "" where nothing says how much.
        spare: what the asides use on top of that if each is gone through once, "" for nothing.
        part: whether it is a part and not a consumable.
    """

    item: str
    name: str
    number: str
    quantity: str
    spare: str = ""
    part: bool = False


def read_uses(table: Table, known: Collection[str]) -> tuple[Use, ...]:
    """What ``uses`` says: a list of ids, or a table from ids to amounts. `known`: ids of parts and consumables."""
    raw = table.raw.get("uses", [])
    if not isinstance(raw, dict):
        uses = [Use(name) for name in table.texts("uses")]
    else:
        uses = [_use(table, name, value) for name, value in raw.items()]
    good = []
    for use in uses:
        if use.item not in known:
            mend = suggest(use.item, filter(None, known), "add it as a [[part]] or a [[consumable]]")
            table.wrong("uses", f"no part or consumable has the id {quoted(use.item)}", mend)
        else:
            good.append(use)
    if len({use.item for use in good}) < len(good):
        table.wrong("uses", "an item is named twice", "name each once, with the whole amount")
    return tuple(good)


def _use(table: Table, name: str, value: object) -> Use:
    hint = 'write it like { sealant = "20 ml", bolt = 8 }'
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    match = _AMOUNT.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        table.wrong("uses", f"{quoted(value)} is no amount", hint)
        return Use(name)
    unit = match[2] or ""
    try:
        amount = amounts.number(match[1])
    except ValueError as why:
        table.wrong("uses", f"{quoted(value)} {why}", hint)
        return Use(name)
    if amount <= 0:
        table.wrong("uses", f"{quoted(value)} is not above zero", "leave it out, or correct it")
    if unit and (unit not in UNITS or UNITS[unit].dimension not in _SUPPLIED):
        mend = "write l, ml, kg, g, mm, or the number of pieces alone"
        table.wrong("uses", f"{quoted(unit)} is no unit of a quantity", mend)
        unit = ""
    return Use(name, amount, unit)


def needs(procedure: Procedure) -> list[Need]:
    """The parts and consumables the job needs, parts first, in the order of the file.

    A quantity is the sum over the steps; where no step says how much, it is what the file lists. A part that is not
    for one use and that no step uses is not listed: it comes from the machine and goes back.
    """
    used: dict[str, list[_Used]] = {}
    quantities = {part.id: part.quantity for part in procedure.parts}
    renewals = Counter(renewed(procedure))
    kinds = kinds_of(procedure)
    for step in procedure.steps:
        part = kinds[step.kind].renews(step)
        uses = list(step.used)
        if part and part not in step.uses:
            # One step that renews it alone takes the whole listed quantity.
            uses.append(Use(part, Decimal(quantities.get(part, 1) if renewals[part] == 1 else 1)))
        for use in uses:
            used.setdefault(use.item, []).append(_Used(use, bool(step.aside), use.item == part))
    rows = [_need(each, used.get(each.id, [])) for each in procedure.parts if each.one_use or each.id in used]
    return rows + [_need(each, used.get(each.id, [])) for each in procedure.consumables]


def renewed(procedure: Procedure) -> list[str]:
    """Ids of the parts of which a new one is fitted, once for each step that does it."""
    kinds = kinds_of(procedure)
    return list(filter(None, (kinds[step.kind].renews(step) for step in procedure.steps)))


class _Used(NamedTuple):
    """`aside`: in an aside; `renews`: by a step that fits a new one."""

    use: Use
    aside: bool
    renews: bool


def _need(item: Part | Item, used: list[_Used]) -> Need:
    part = isinstance(item, Part)
    # A part named by the step that renews it and by the one that fits it is one part.
    twice = any(one.renews for one in used)
    counted = [one for one in used if not twice or one.use.amount is not None or one.renews]
    line = _total([one.use for one in counted if not one.aside])
    aside = _total([one.use for one in counted if one.aside])
    listed = str(item.quantity)
    if part and isinstance(item, Part):
        return Need(item.id, item.name, item.number, line or listed, aside, True)
    return Need(item.id, item.name, "", line or listed, aside)


def _total(uses: Iterable[Use]) -> str:
    """The sum in the unit first used ("1.85 l"); "" where an amount is missing or the units do not go together."""
    uses = list(uses)
    if not uses or any(use.amount is None and use.unit for use in uses):
        return ""
    if all(use.amount is None for use in uses):
        return ""
    unit = next((use.unit for use in uses if use.amount is not None), "")
    total = Fraction(0)
    for use in uses:
        if use.amount is None:
            continue
        if use.unit == unit:
            total += Fraction(use.amount)
        elif use.unit and unit and UNITS[use.unit].dimension == UNITS[unit].dimension:
            total += Fraction(use.amount) * UNITS[use.unit].factor / UNITS[unit].factor
        else:
            return ""
    text = f"{Decimal(total.numerator) / Decimal(total.denominator):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text} {unit}".strip()
