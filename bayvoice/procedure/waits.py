"""Reading wait steps: each kind of wait has limits it needs and limits that mean nothing to it."""

from __future__ import annotations

from collections.abc import Sequence

from bayvoice.procedure.fields import Table
from bayvoice.procedure.lengths import Lengths, read_lengths
from bayvoice.procedure.mistakes import quoted, suggest
from bayvoice.procedure.model import Wait, WaitKind

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


def read_wait(table: Table, here: int, ids: Sequence[str]) -> Wait | None:
    """The wait of the step at position `here`; `ids`: ids of all steps in order, "" where there is none."""
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
    return Wait(
        kind, name, at_least, at_most, gates, closes, recovery, starts != "step", lengths.rows, lengths.law
    )  # fmt: skip


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
        table.wrong("recovery", f"no step has the id {quoted(recovery)}",
                    suggest(recovery, filter(None, ids), "name the step to go to"))  # fmt: skip
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
            table.wrong("closes", f"closes comes before {quoted(first)}, the first step held back",
                        f"write closes = {quoted(first)}")  # fmt: skip
        return closes or first
    return closes if kind is WaitKind.OPEN else ""


def _an(kind: WaitKind) -> str:
    return f"an {kind}" if kind in (WaitKind.ACT, WaitKind.OPEN) else f"a {kind}"
