"""What the steps use up, and the list of it all before the job."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from bayvoice.language.units import UNITS
from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import quoted, suggest
from bayvoice.procedure.model import Item, Part, Procedure, Replace, Step, Use

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
            table.wrong("uses", f"no part or consumable has the id {quoted(use.item)}",
                        suggest(use.item, filter(None, known), "add it as a [[part]] or a [[consumable]]"))  # fmt: skip
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
        table.wrong("uses", f"{quoted(unit)} is no unit of a quantity",
                    "write l, ml, kg, g, mm, or the number of pieces alone")  # fmt: skip
        unit = ""
    return Use(name, amount, unit)


def needs(procedure: Procedure) -> list[Need]:
    """The parts and consumables the job needs, parts first, in the order of the file.

    A quantity is the sum over the steps; where no step says how much, it is what the file lists. A part that is not
    for one use and that no step uses is not listed: it comes from the machine and goes back.
    """
    used: dict[str, list[tuple[Step, Use]]] = {}
    renewals: dict[str, int] = {}
    for step in procedure.steps:
        if isinstance(step.detail, Replace):
            renewals[step.detail.part] = renewals.get(step.detail.part, 0) + 1
    for step in procedure.steps:
        for use in step_uses(step, procedure, renewals):
            used.setdefault(use.item, []).append((step, use))
    rows = [_need(each, used.get(each.id, [])) for each in procedure.parts if each.one_use or each.id in used]
    return rows + [_need(each, used.get(each.id, [])) for each in procedure.consumables]


def step_uses(step: Step, procedure: Procedure, renewals: dict[str, int]) -> list[Use]:
    """What `step` uses, a renewed part included. `renewals`: part id -> how many steps renew it; where it is one step
    alone, that step takes the whole listed quantity."""
    uses = list(step.used)
    detail = step.detail
    if isinstance(detail, Replace) and detail.part not in step.uses:
        listed = {part.id: part.quantity for part in procedure.parts}
        uses.append(Use(detail.part, Decimal(listed.get(detail.part, 1) if renewals.get(detail.part) == 1 else 1)))
    return uses


def _need(item: Part | Item, used: list[tuple[Step, Use]]) -> Need:
    part = isinstance(item, Part)
    # A part named by the step that renews it and by the one that fits it is one part.
    renewed = any(isinstance(step.detail, Replace) and step.detail.part == item.id for step, _ in used)
    counted = [
        (step, use) for step, use in used if not renewed or use.amount is not None or isinstance(step.detail, Replace)
    ]
    line = _total([use for step, use in counted if not step.aside])
    aside = _total([use for step, use in counted if step.aside])
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
