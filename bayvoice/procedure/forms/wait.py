"""wait: a running window, which holds steps back or is closed by one.

Each kind of wait has limits it needs and limits that mean nothing to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bayvoice.procedure.amounts import written
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.lengths import WINDOW_KEYS, Lengths, read_lengths
from bayvoice.procedure.forms.shared import detail
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.mistakes import quoted, suggest
from bayvoice.procedure.model import Group, Kind, Name, Procedure, Step, Wait, WaitKind
from bayvoice.procedure.remark import Remark

_MEND_KIND = (
    "write act (a chemical works), open (working time, close the joint before it ends), "
    "cure (no load before) or settle (cool, bleed or discharge)"
)
_NEEDS = {
    WaitKind.ACT: ("at_least", "add how long it must work"),
    WaitKind.OPEN: ("at_most", "add the working time"),
    WaitKind.CURE: ("at_least", "add how long nothing may load it"),
    WaitKind.SETTLE: ("at_least", "add the time the maker gives, it is never assumed"),
}


class WaitForm(Form):
    """Reads what is waited for, how long, what it holds back and what ends it."""

    word = Kind.WAIT
    keys = ("wait", "name", "at_least", "at_most", "gates", "closes", "recovery", "starts", *WINDOW_KEYS)
    ordered = True
    lasts = True
    title = "waits"
    json_key = "waits"
    early = True

    def read(self, table: Table, around: Around) -> Wait | None:
        """A waiting step."""
        here, ids = around.order()
        word = table.choice("wait", [kind.value for kind in WaitKind], what="kind of wait", mend=_MEND_KIND)
        name = table.text("name", required=True)
        lengths = read_lengths(table)
        at_least, at_most = lengths.at_least, lengths.at_most
        starts = table.choice("starts", ("go", "step"), default="go", what="way to start")
        named = dict.fromkeys(table.texts("gates"))
        gates = tuple(gate for gate in named if _later(table, "gates", gate, here, ids))
        closes = table.text("closes")
        if closes and not _later(table, "closes", closes, here, ids):
            closes = ""
        recovery = _recovery(table, here, ids, lengths)
        if at_least is not None and at_most is not None and at_least > at_most and not lengths.rows:
            table.wrong("at_least", "at_least is longer than at_most", "exchange or correct them")
        if word is None:
            return None
        kind = WaitKind(word)
        _limits(table, kind, lengths)
        gates = gates or _default_gates(table, kind, here, ids, lengths)
        closes = _closing(table, kind, gates, closes, ids)
        on_go = starts != "step"
        return Wait(kind, name, at_least, at_most, gates, closes, recovery, on_go, lengths.rows, lengths.law)

    def names(self, step: Step) -> Iterator[Name]:
        """What the wait is called."""
        yield Name(Group.WAITS, "name", detail(step, Wait).name)

    def units(self, step: Step) -> Iterator[str]:
        """Of what its length is worked out from."""
        wait = detail(step, Wait)
        if wait.rows or (wait.law is not None and wait.law.model != "depth"):
            yield "degC"
        if any(row.humidity is not None for row in wait.rows):
            yield "%"
        if wait.law is not None and wait.law.model == "depth":
            yield "mm"

    def window(self, step: Step) -> Wait:
        """Itself."""
        return detail(step, Wait)

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """Limits that leave something open, or leave no time at all."""
        wait = detail(step, Wait)
        if wait.wait is WaitKind.ACT and wait.at_most is None:
            what = "nothing says when it has worked too long"
            yield Remark(step.id, "at_most", what, "add at_most if the maker gives it")
        if wait.at_most is not None and not wait.recovery:
            yield Remark(step.id, "recovery", "nothing says where to go when the time has run out", "add recovery")
        if wait.at_least is not None and wait.at_least == wait.at_most:
            what = "at_least and at_most are the same, nobody can meet them"
            yield Remark(step.id, "at_most", what, "widen the window")

    def line(self, procedure: Procedure, step: Step) -> str:
        """The window in words."""
        wait = detail(step, Wait)
        by_table = "by the table, " if wait.rows else ""
        limits = [
            f"{by_table}at least {written(wait.at_least)}" if wait.at_least is not None else "",
            f"{by_table}at most {written(wait.at_most)}" if wait.at_most is not None else "",
            _worked_out(wait),
            f"holds back {', '.join(wait.gates)}" if wait.gates else "",
            f"ends with {wait.closes}" if wait.closes else "",
            f"too late: {wait.recovery}" if wait.recovery else "",
            'starts on "go"' if wait.on_go else "starts with the step",
        ]
        return f"{wait.wait.value}, {wait.name}: {', '.join(limit for limit in limits if limit)}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same for JSON; times in seconds."""
        wait = detail(step, Wait)
        return {
            "wait": wait.wait.value,
            "name": wait.name,
            "at_least_s": wait.at_least,
            "at_most_s": wait.at_most,
            "gates": list(wait.gates),
            "closes": wait.closes,
            "recovery": wait.recovery,
            "starts": "go" if wait.on_go else "step",
            "model": "table" if wait.rows else "fixed" if wait.law is None else wait.law.model,
            "worked_out": _worked_out(wait),
        }


def _worked_out(wait: Wait) -> str:
    """What the limits depend on, "" where they are fixed."""
    if wait.rows:
        cold, warm = min(row.temperature for row in wait.rows), max(row.temperature for row in wait.rows)
        damp = " and humidity" if wait.rows[0].humidity is not None else ""
        return f"{len(wait.rows)} lines by temperature{damp}, {cold:f} to {warm:f} degC"
    law = wait.law
    if law is None:
        return ""
    if law.model == "depth":
        depth = "asked for" if law.depth is None else f"{law.depth:f} mm"
        return f"that for {law.reference:f} mm, growing with the square of the depth ({depth}), {law.high:f} mm at most"
    how = f"halved every {law.span:f} degC" if law.model == "doubling" else f"by {law.span:f} kJ/mol"
    return f"that at {law.reference:f} degC, {how}, {law.low:f} to {law.high:f} degC"


def _later(table: Table, key: str, step: str, here: int, ids: Sequence[str]) -> bool:
    """Whether `step` is a step after `here`; noted where it is not."""
    if step not in ids:
        table.wrong(key, f"no step has the id {quoted(step)}", suggest(step, filter(None, ids), "name a later step"))
        return False
    if ids.index(step) <= here:
        itself = ids.index(step) == here
        what = "names the wait itself" if itself else f"names the step {quoted(step)}, which comes before the wait"
        table.wrong(key, f"{key} {what}", "name a step that comes after the wait")
        return False
    return True


def _recovery(table: Table, here: int, ids: Sequence[str], lengths: Lengths) -> str:
    recovery = table.text("recovery")
    if recovery and recovery not in ids:
        mend = suggest(recovery, filter(None, ids), "name the step to go to")
        table.wrong("recovery", f"no step has the id {quoted(recovery)}", mend)
        return ""
    if recovery and ids.index(recovery) == here:
        table.wrong("recovery", "recovery names the wait itself", "name the step where the work begins anew")
    if recovery and not lengths.has("at_most"):
        table.wrong("recovery", "there is nothing to recover from: the wait has no at_most", "add at_most")
    return recovery


def _limits(table: Table, kind: WaitKind, lengths: Lengths) -> None:
    key, mend = _NEEDS[kind]
    if not lengths.has(key):
        table.wrong(key, f"{quoted(key)} is missing in {_an(kind)} wait", mend)
    if kind in (WaitKind.CURE, WaitKind.SETTLE):
        for extra in ("at_most", "closes"):
            if table.has(extra) if extra == "closes" else lengths.has(extra):
                table.wrong(extra, f"{extra} means nothing in {_an(kind)} wait", "take it out, or make it an act wait")
    if kind is WaitKind.OPEN and table.has("gates") and not lengths.has("at_least"):
        table.wrong("gates", "gates holds a step back, and the wait has no at_least", "add at_least or take gates out")


def _default_gates(table: Table, kind: WaitKind, here: int, ids: Sequence[str], lengths: Lengths) -> tuple[str, ...]:
    """The next step; for an open wait the step that closes it, and only where there is an `at_least`."""
    if table.raw.get("gates") == []:
        table.wrong("gates", "gates names no step", "name one, or leave gates out: then it is the next step")
    if table.has("gates"):
        return ()
    if kind is WaitKind.OPEN:
        closes = table.raw.get("closes")
        return (closes,) if lengths.has("at_least") and isinstance(closes, str) and closes in ids[here + 1 :] else ()
    if here + 1 == len(ids):
        table.wrong("", "the wait is the last step and holds nothing back", "add the step that may not begin before")
        return ()
    return (ids[here + 1],) if ids[here + 1] else ()


def _closing(table: Table, kind: WaitKind, gates: tuple[str, ...], closes: str, ids: Sequence[str]) -> str:
    if kind is WaitKind.OPEN and not table.has("closes"):
        table.wrong("closes", '"closes" is missing in an open wait', "name the step that closes the joint")
    if kind is WaitKind.ACT and gates:
        first = min(gates, key=ids.index)
        if closes and ids.index(closes) < ids.index(first):
            what = f"closes comes before {quoted(first)}, the first step held back"
            table.wrong("closes", what, f"write closes = {quoted(first)}")
        return closes or first
    return closes if kind is WaitKind.OPEN else ""


def _an(kind: WaitKind) -> str:
    return f"an {kind}" if kind in (WaitKind.ACT, WaitKind.OPEN) else f"a {kind}"
