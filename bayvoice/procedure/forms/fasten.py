"""fasten: the fasteners of one joint, loosened or tightened in their order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, Final

from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail, details
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Fasten, Kind, Procedure, Stage, Step
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.sense import SPAN
from bayvoice.trade.order import rectangle_order, row_order, star_order
from bayvoice.units import UNITS

MOST_FASTENERS: Final = 200
ORDER_HELP: Final = '"star", "row", "rectangle" or a list like [1, 3, 2, 4]'


class FastenForm(Form):
    """Reads how many fasteners there are, their order, and how far each is tightened."""

    word = Kind.FASTEN
    keys = ("count", "order", "rows", "stages", "undo", "name", "refit", "each", "tolerance", "last_round")
    title = "fasteners"
    json_key = "fasteners"

    def read(self, table: Table, around: Around) -> Fasten:
        """A fastening step."""
        count = table.whole("count", 1, MOST_FASTENERS) or 0
        order = _order(table, count)
        undo = table.flag("undo")
        # A step of the way back of an undo step carries that step's refit stages.
        stages = _stages(table, "stages" if undo or not table.has("refit") else "refit")
        if undo and stages:
            table.wrong("stages", "loosening has no stages", "take stages out, or undo")
        each, last_round = table.flag("each"), table.flag("last_round")
        if undo and table.has("refit"):  # they belong to the step of the way back
            return Fasten(count, order, (), True, table.text("name", default="bolt"), each)
        if last_round and not any(stage.unit != "deg" for stage in stages[-1:]):
            table.wrong("last_round", "a last round needs a last stage that is a torque", "add stages, or take it out")
        tolerance = _tolerances(table, stages)
        if tolerance and not each:
            table.wrong("tolerance", "no value is asked for each fastener", "add each = true, or take tolerance out")
        return Fasten(count, order, stages, undo, table.text("name", default="bolt"), each, tolerance, last_round)

    def units(self, step: Step) -> Iterator[str]:
        """Those of its stages."""
        for stage in detail(step, Fasten).stages:
            yield stage.unit

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """Figures that no hand tool gives."""
        for stage in detail(step, Fasten).stages:
            low, high = SPAN[stage.unit]
            if not low <= stage.amount <= high:
                what = f"{stage.amount:f} {UNITS[stage.unit].symbol} is beyond hand tools"
                yield Remark(step.id, "stages", what, "check the figure and its unit")

    def about_all(self, procedure: Procedure) -> Iterator[Remark]:
        """Fasteners that do not go back as they came out."""
        loosened: dict[tuple[str, str], tuple[Step, Fasten]] = {}
        for _, step, fasten in details(procedure, self.word, Fasten):
            key = (step.aside, fasten.name.lower())
            if fasten.undo:
                loosened[key] = (step, fasten)
            elif key in loosened:
                before, other = loosened.pop(key)
                if other.count != fasten.count:
                    what = f"{fasten.count} x {fasten.name} go back, {quoted(before.id)} took out {other.count}"
                    yield Remark(step.id, "count", what, "correct one of them, or call them by different names")
                elif other.sequence != tuple(reversed(fasten.sequence)):
                    what = f"the order is not the reverse of that in {quoted(before.id)}"
                    mend = "write the same order in both: loosening goes through it backwards"
                    yield Remark(step.id, "order", what, mend)

    def line(self, procedure: Procedure, step: Step) -> str:
        """How many, to what, in which order."""
        fasten = detail(step, Fasten)
        stages = ", ".join(map(_written, fasten.stages))
        way = "loosen" if fasten.undo else f"tighten to {stages}" if stages else "tighten"
        each = ", one by one" if fasten.each else ""
        off = f", within {' and '.join(map(_written, fasten.tolerance))}" if fasten.tolerance else ""
        last = ", then round until none turns" if fasten.last_round else ""
        return f"{fasten.count} x {fasten.name}, {way}{each}{off}{last}: {'-'.join(map(str, fasten.sequence))}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same for JSON."""
        fasten = detail(step, Fasten)
        return {
            "name": fasten.name,
            "count": fasten.count,
            "undo": fasten.undo,
            "sequence": list(fasten.sequence),
            "stages": [_amount(stage) for stage in fasten.stages],
            "each": fasten.each,
            "last_round": fasten.last_round,
            "tolerance": [_amount(tolerance) for tolerance in fasten.tolerance],
        }


def _written(stage: Stage) -> str:
    return f"{stage.amount:f} {stage.unit}"


def _amount(stage: Stage) -> dict[str, str]:
    return {"amount": f"{stage.amount:f}", "unit": stage.unit}


def _order(table: Table, count: int) -> tuple[int, ...]:
    """Fasteners in tightening order; `count` 0 where it is not known."""
    if not table.has("order"):
        table.wrong("order", '"order" is missing', f"add it: {ORDER_HELP}")
        return ()
    raw = table.raw["order"]
    if raw == "rectangle":
        return _rectangle(table, count)
    if table.has("rows"):
        table.wrong("rows", "rows belong to a rectangle", 'write order = "rectangle", or take rows out')
    if raw in ("star", "row"):
        made = star_order if raw == "star" else row_order
        return made(count) if count else ()
    if not isinstance(raw, list) or any(isinstance(n, bool) or not isinstance(n, int) for n in raw):
        shown = quoted(raw) if isinstance(raw, str) else "this"
        table.wrong("order", f"{shown} is not an order", f"write {ORDER_HELP}")
        return ()
    if count and sorted(raw) != list(range(1, count + 1)):
        table.wrong("order", "the order does not name every fastener once", f"name each of 1 to {count} once")
    return tuple(raw)


def _rectangle(table: Table, count: int) -> tuple[int, ...]:
    """From the middle outwards; the fasteners stand in `rows` rows, numbered row by row."""
    rows = table.whole("rows", 1, MOST_FASTENERS)
    if not count or not rows:
        return ()
    if count % rows:
        table.wrong("rows", f"{count} do not stand in {rows} equal rows", "write how many rows there are, or an order")
        return ()
    return rectangle_order(rows, count // rows)


def _stages(table: Table, key: str) -> tuple[Stage, ...]:
    raw: Any = table.raw.get(key, [])
    if not isinstance(raw, list):
        table.wrong(key, f"{key} is not a list", f'write {key} = ["10 N.m", "24 N.m", "90 deg"]')
        return ()
    stages: list[Stage] = []
    for item in raw:
        try:
            stages.append(amounts.stage(item))
        except ValueError as why:
            table.wrong(key, f"{quoted(item)} {why}", 'write a stage as "24 N.m" or "90 deg"')
    _check_stages(table, key, stages, len(stages) == len(raw))
    return tuple(stages)


def _check_stages(table: Table, key: str, stages: list[Stage], complete: bool) -> None:
    torques = [stage for stage in stages if stage.unit != "deg"]
    if len({stage.unit for stage in torques}) > 1:
        table.wrong(key, "the stages mix two units of torque", "write all torques in one unit")
    elif any(later.amount < earlier.amount for earlier, later in pairwise(torques)):
        table.wrong(key, "the torque falls from one stage to the next", "put the lower torque first")
    if complete and stages and stages[0].unit == "deg":
        table.wrong(key, "an angle stands before any torque", "begin with the torque the angle is counted from")


def _tolerances(table: Table, stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    raw: Any = table.raw.get("tolerance", [])
    items = raw if isinstance(raw, list) else [raw]
    found: list[Stage] = []
    for item in items:
        try:
            tolerance = amounts.tolerance(item)
        except ValueError as why:
            table.wrong("tolerance", f"{quoted(item)} {why}", 'write it as "4 %", "2 N.m" or "5 deg"')
            continue
        angle = tolerance.unit == "deg"
        if not any((stage.unit == "deg") is angle for stage in stages):
            what = "an angle" if angle else "a torque"
            table.wrong("tolerance", f"no stage is {what}", "take the tolerance out, or add the stage")
        elif tolerance.unit not in ("%", "deg") and any(stage.unit not in ("deg", tolerance.unit) for stage in stages):
            table.wrong("tolerance", f"{quoted(item)} is not in the unit of the stages", "give both in one unit")
        elif any((other.unit == "deg") is angle for other in found):
            table.wrong("tolerance", "there are two tolerances for the same stages", "take one out")
        else:
            found.append(tolerance)
    return tuple(found)
