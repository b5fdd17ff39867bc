"""Reading the steps of a procedure file, and reading again only those that have changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from functools import partial
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.phrases import spoken_form
from bayvoice.procedure import kinds, wayback
from bayvoice.procedure.fields import Table
from bayvoice.procedure.ids import raw_id, unique
from bayvoice.procedure.memo import Memo, Row, Whole
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Caution, Kind, Part, Passing, Signal, Step
from bayvoice.procedure.places import Path
from bayvoice.procedure.supplies import read_uses
from bayvoice.procedure.waits import read_wait

SIGNAL_HELP: Final = (
    "write DANGER (death or serious injury will happen), WARNING (death or serious injury could happen), "
    "CAUTION (minor or moderate injury could happen) or NOTICE (damage, no injury)"
)

PASSING_HELP: Final = {
    Passing.ALONE: "the technician, with a yes and a reason",
    Passing.SECOND: "somebody else besides, who has not worked on the job",
    Passing.NOBODY: "no one at all",
}


def read_steps(top: Table, parts: list[Part], memo: Memo) -> tuple[tuple[Step, ...], tuple[Path, ...]]:
    """The steps that could be read, in the order in which they are worked, and where in the file each stands.

    Args:
        top: the whole document.
        parts: its parts.
        memo: what was read before of the same tables.
    """
    raws = top.raw.get("step", [])
    if not isinstance(raws, list) or not all(isinstance(raw, dict) for raw in raws):
        raws = [table.raw for table in top.tables("step")]
    if not raws and not top.raw.get("step"):
        top.wrong("step", "the procedure has no steps", "add the first with [[step]]")
    known = {part.id: part for part in parts if part.id}
    consumables = top.raw.get("consumable")
    supplies = [*known, *map(raw_id, consumables if isinstance(consumables, list) else [])]
    before = top.notes.count
    whole = _again(top, raws, known, supplies, memo.whole) if memo.whole else None
    whole = whole or _all(top, raws, known, supplies, memo)
    if top.notes.count == before:
        memo.whole = whole
    return tuple(step for step in whole.steps if step is not None), tuple(
        row.path for row, step in zip(whole.rows, whole.steps, strict=True) if step is not None
    )


def _all(
    top: Table, raws: Sequence[Mapping[str, Any]], known: dict[str, Part], supplies: list[str], memo: Memo
) -> Whole:
    """Every step; one whose table is known is not read again."""
    rows = wayback.rows(top.notes, raws, memo)
    ids = [raw_id(row.raw) for row in rows]
    if not all(ids) or len(set(ids)) < len(ids):
        unique([Table(top.notes, row.path, row.raw) for row in rows], "step")
    memo.order((ids, [(row.raw.get("aside"), row.raw.get("remedy")) for row in rows if _TURNS_OFF & row.raw.keys()]))
    orders = wayback.Orders(rows, ids)
    steps: list[Step | None] = []
    for here, row in enumerate(rows):
        step = memo.step(row.raw)
        if step is None:
            before = top.notes.count
            step = _step(Table(top.notes, row.path, row.raw), row, partial(orders, here), known, supplies)
            if step is not None and top.notes.count == before:
                memo.keep_step(row.raw, step)
        steps.append(step)
    return Whole(raws, rows, ids, steps)


_TURNS_OFF: Final = frozenset({"aside", "remedy"})


def _again(
    top: Table, raws: Sequence[Mapping[str, Any]], known: dict[str, Part], supplies: list[str], whole: Whole
) -> Whole | None:
    """`whole` with the steps read anew whose tables differ; None where the order of the steps may differ too."""
    if len(raws) != len(whole.raws):
        return None
    changed = [i for i, (raw, before) in enumerate(zip(raws, whole.raws, strict=True)) if raw is not before]
    rows, steps = list(whole.rows), list(whole.steps)
    orders = wayback.Orders(rows, whole.ids)
    for number in changed:
        at = whole.rows_of(number)
        new = wayback.rows_of(top.notes, number, raws[number], back=len(at) > 1)
        if new is None or any(raws[number].get(key) != whole.raws[number].get(key) for key in ("aside", "remedy")):
            return None
        if [raw_id(row.raw) for row in new] != [whole.ids[i] for i in at]:
            return None
        for i, row in zip(at, new, strict=True):
            if any(row.raw.get(key) != rows[i].raw.get(key) for key in _TURNS_OFF):
                return None
            rows[i] = row
            steps[i] = _step(Table(top.notes, row.path, row.raw), row, partial(orders, i), known, supplies)
    return whole.with_changed(raws, rows, steps)


def _step(
    table: Table, row: Row, order: Callable[[], tuple[int, list[str]]], known: dict[str, Part],
    supplies: list[str],
) -> Step | None:  # fmt: skip
    """One step; None where its kind of wait is not known. `order`: its place, and the ids around it."""
    word = table.choice("kind", [kind.value for kind in Kind], what="kind of step")
    kinds.allow_keys(table, Kind(word) if word else None, going_back=len(row.path) > 2)
    kind = Kind(word) if word else _likely_kind(table)
    say = " ".join(table.text("say", required=True, lines=True).split())
    show = table.text("show", default=say, lines=True)
    detail = read_wait(table, *order()) if kind is Kind.WAIT else kinds.read_detail(table, kind, known)
    cautions, takes, off = read_cautions(table), table.duration("takes"), table.texts("off")
    puts_back, because, aside = table.texts("puts_back"), table.text("because"), table.text("aside")
    used, passing, reasons = read_uses(table, supplies), read_passing(table), read_reasons(table)
    if detail is None:
        return None
    return Step(raw_id(row.raw), kind, say, show, detail, cautions, takes, off, puts_back, row.origin, because, aside,
                used, passing, reasons)  # fmt: skip


def read_passing(table: Table, allowed: Sequence[Passing] = tuple(Passing)) -> Passing | None:
    """Who may pass a guard, None where the file does not say."""
    if not table.has("pass"):
        return None
    says = " or ".join(f"{word.value} ({PASSING_HELP[word]})" for word in allowed)
    word = table.choice(
        "pass", [word.value for word in allowed], what="answer to who may pass this", mend=f"write {says}"
    )
    return Passing(word) if word else None


def read_reasons(table: Table) -> tuple[str, ...]:
    """Reasons of the step's own; each is said, so each must be sayable and there once."""
    reasons = table.texts("reasons")
    if table.raw.get("reasons") == []:
        table.wrong("reasons", "no reason is named", "name one, or leave reasons out")
    seen: set[tuple[str, ...]] = set()
    for reason in reasons:
        try:
            words = spoken_form(reason, "reasons")
        except BayError as fault:
            table.wrong("reasons", fault.what, fault.mend)
            continue
        if words in seen:
            table.wrong("reasons", f"{quoted(reason)} is named twice", "name each reason once")
        seen.add(words)
    return reasons


def _likely_kind(table: Table) -> Kind:
    """For a step whose kind is no kind: the one that its word and its keys point to, so that its other keys are read
    too and no count or part seems to lack its step."""
    word = table.raw.get("kind")
    near = get_close_matches(word[:20].lower(), [kind.value for kind in Kind], n=1) if isinstance(word, str) else []
    if near and any(table.has(key) for key in kinds.KIND_KEYS[Kind(near[0])]):
        return Kind(near[0])
    return Kind.TALLY if table.has("opening") else Kind.REPLACE if table.has("part") else Kind.DO


def read_cautions(table: Table) -> tuple[Caution, ...]:
    """What is said before the act, or before the job."""
    cautions = []
    for each in table.tables("caution", single=True):
        each.allow(("signal", "text"))
        word = each.choice("signal", [signal.value for signal in Signal], what="signal word", mend=SIGNAL_HELP)
        cautions.append(Caution(Signal(word or "NOTICE"), each.text("text", required=True)))
    return tuple(cautions)
