"""Reading the steps of a procedure file, and reading again only those that have changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import partial
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.phrases import spoken_form
from bayvoice.procedure import wayback
from bayvoice.procedure.fields import Table
from bayvoice.procedure.ids import raw_id, unique
from bayvoice.procedure.kind import Around, Form, Kinds
from bayvoice.procedure.memo import Memo, Row, Whole
from bayvoice.procedure.mistakes import listed, quoted
from bayvoice.procedure.model import Caution, Part, Passing, Signal, Step
from bayvoice.procedure.places import Path
from bayvoice.procedure.supplies import read_uses

SIGNAL_HELP: Final = (
    "write DANGER (death or serious injury will happen), WARNING (death or serious injury could happen), "
    "CAUTION (minor or moderate injury could happen) or NOTICE (damage, no injury)"
)

PASSING_HELP: Final = {
    Passing.ALONE: "the technician, with a yes and a reason",
    Passing.SECOND: "somebody else besides, who has not worked on the job",
    Passing.NOBODY: "no one at all",
}


STEP_KEYS: Final = (
    "id",
    "kind",
    "say",
    "show",
    "caution",
    "takes",
    "off",
    "puts_back",
    "back",
    "because",
    "uses",
    "aside",
    "pass",
    "reasons",
)
"""Keys a step of any kind may have."""
NOT_GOING_BACK: Final = ("off", "back", "because", "aside")
"""Those of them that a step of the way back does not have."""


def read_steps(
    top: Table, parts: list[Part], memo: Memo, kinds: Kinds[Form]
) -> tuple[tuple[Step, ...], tuple[Path, ...]]:
    """The steps that could be read, in the order in which they are worked, and where in the file each stands.

    Args:
        top: the whole document.
        parts: its parts.
        memo: what was read before of the same tables.
        kinds: the step kinds that are known.
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
    reader = _Reader(top, kinds, known, supplies)
    whole = reader.again(raws, memo.whole) if memo.whole else None
    whole = whole or reader.all(raws, memo)
    if top.notes.count == before:
        memo.whole = whole
    return tuple(step for step in whole.steps if step is not None), tuple(
        row.path for row, step in zip(whole.rows, whole.steps, strict=True) if step is not None
    )


_TURNS_OFF: Final = frozenset({"aside", "remedy"})


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads the steps of one file. `supplies`: ids of what a step may use up."""

    top: Table
    kinds: Kinds[Form]
    parts: Mapping[str, Part]
    supplies: list[str]

    def all(self, raws: Sequence[Mapping[str, Any]], memo: Memo) -> Whole:
        """Every step; one whose table is known is not read again."""
        notes = self.top.notes
        rows = wayback.rows(notes, raws, memo)
        ids = [raw_id(row.raw) for row in rows]
        if not all(ids) or len(set(ids)) < len(ids):
            unique([Table(notes, row.path, row.raw) for row in rows], "step")
        turns = [(row.raw.get("aside"), row.raw.get("remedy")) for row in rows if _TURNS_OFF & row.raw.keys()]
        memo.order((ids, turns), self.kinds)
        orders = wayback.Orders(rows, ids)
        steps: list[Step | None] = []
        for here, row in enumerate(rows):
            step = memo.step(row.raw)
            if step is None:
                before = notes.count
                step = self.step(row, partial(orders, here))
                if step is not None and notes.count == before:
                    memo.keep_step(row.raw, step)
            steps.append(step)
        return Whole(raws, rows, ids, steps)

    def again(self, raws: Sequence[Mapping[str, Any]], whole: Whole) -> Whole | None:
        """`whole` with the steps read anew whose tables differ; None where the order of the steps may differ too."""
        if len(raws) != len(whole.raws):
            return None
        changed = [i for i, (raw, before) in enumerate(zip(raws, whole.raws, strict=True)) if raw is not before]
        rows, steps = list(whole.rows), list(whole.steps)
        orders = wayback.Orders(rows, whole.ids)
        for number in changed:
            at = whole.rows_of(number)
            new = wayback.rows_of(self.top.notes, number, raws[number], back=len(at) > 1)
            if new is None or any(raws[number].get(key) != whole.raws[number].get(key) for key in _TURNS_OFF):
                return None
            if [raw_id(row.raw) for row in new] != [whole.ids[i] for i in at]:
                return None
            for i, row in zip(at, new, strict=True):
                if any(row.raw.get(key) != rows[i].raw.get(key) for key in _TURNS_OFF):
                    return None
                rows[i] = row
                steps[i] = self.step(row, partial(orders, i))
        return whole.with_changed(raws, rows, steps)

    def step(self, row: Row, order: Callable[[], tuple[int, list[str]]]) -> Step | None:
        """One step; None where nothing can be made of it. `order`: its place, and the ids around it."""
        table = Table(self.top.notes, row.path, row.raw)
        word = table.choice("kind", list(self.kinds), what="kind of step")
        self._allow(table, self.kinds[word] if word else None, going_back=len(row.path) > 2)
        form = self.kinds[word] if word else self._likely(table)
        say = " ".join(table.text("say", required=True, lines=True).split())
        show = table.text("show", default=say, lines=True)
        detail = form.read(table, Around(self.parts, self.supplies, order))
        cautions, takes, off = read_cautions(table), table.duration("takes"), table.texts("off")
        puts_back, because, aside = table.texts("puts_back"), table.text("because"), table.text("aside")
        used, passing, reasons = read_uses(table, self.supplies), read_passing(table), read_reasons(table)
        if detail is None:
            return None
        return Step(
            id=raw_id(row.raw),
            kind=form.word,
            say=say,
            show=show,
            detail=detail,
            cautions=cautions,
            takes=takes,
            off=off,
            puts_back=puts_back,
            origin=row.origin,
            because=because,
            aside=aside,
            used=used,
            pass_=passing,
            reasons=reasons,
        )

    def _allow(self, table: Table, form: Form | None, *, going_back: bool) -> None:
        """Note keys that a step of this kind does not have; with an unknown kind, keys no kind has."""
        common = tuple(key for key in STEP_KEYS if not (going_back and key in NOT_GOING_BACK))
        owners: dict[str, list[str]] = {}
        for each in self.kinds.values():
            for key in each.keys:
                owners.setdefault(key, []).append(each.word)
        if form is None:
            table.allow((*common, *owners))
        else:
            elsewhere = {key: f"steps of kind {listed(words)}" for key, words in owners.items()}
            table.allow((*common, *form.keys), elsewhere)

    def _likely(self, table: Table) -> Form:
        """For a step whose kind is no kind: the one that its word and its keys point to, so that its other keys are
        read too and no count or part seems to lack its step."""
        word = table.raw.get("kind")
        near = get_close_matches(word[:20].lower(), self.kinds, n=1) if isinstance(word, str) else []
        if near and any(table.has(key) for key in self.kinds[near[0]].keys):
            return self.kinds[near[0]]
        told = (form for form in self.kinds.values() if any(table.has(key) for key in form.telling))
        return next(told, self.kinds.first)


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


def read_cautions(table: Table) -> tuple[Caution, ...]:
    """What is said before the act, or before the job."""
    cautions = []
    for each in table.tables("caution", single=True):
        each.allow(("signal", "text"))
        word = each.choice("signal", [signal.value for signal in Signal], what="signal word", mend=SIGNAL_HELP)
        cautions.append(Caution(Signal(word or "NOTICE"), each.text("text", required=True)))
    return tuple(cautions)
