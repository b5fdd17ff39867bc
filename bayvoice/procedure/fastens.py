"""The keys of a fastening step."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Final

from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Fasten, Stage
from bayvoice.trade.order import rectangle_order, row_order, star_order

MOST_FASTENERS: Final = 200
ORDER_HELP: Final = '"star", "row", "rectangle" or a list like [1, 3, 2, 4]'


def read_fasten(table: Table) -> Fasten:
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
