"""Parts and consumables of the list: what was in hand before the job, and batches with their dates."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Bad, Block, Table, judged
from bayvoice.report.base.common import Common, affirmed, text
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Supply:
    """A part or consumable of the list: ticked off before the job, and its batch. `have` None: not gone through.

    `state` of the batch: "in date", "out of date", "not said", "" where none was asked for."""

    item: str
    name: str
    part_number: str
    quantity: str
    have: bool | None
    batch: str = ""
    expires: str = ""
    state: str = ""
    step: str = ""
    number: int = 0
    seq: int = 0


Stock = dict[str, Supply]
"""Item -> its line."""


def _line(state: Stock, item: str) -> Supply:
    return state.get(item) or Supply(item, "", "", "", None)


def _listed(state: Stock, common: Common, fact: Fact) -> None:
    body, item = fact.body, text(fact.body, "item")
    state[item] = replace(
        _line(state, item),
        name=text(body, "name"),
        part_number=text(body, "number"),
        quantity=text(body, "quantity"),
        have=affirmed(body, "have"),
        seq=fact.seq,
    )


def _batch(state: Stock, common: Common, fact: Fact) -> None:
    (step, number), body, item = common.at(fact), fact.body, text(fact.body, "item")
    old = _line(state, item)
    state[item] = replace(
        old,
        name=text(body, "name") or old.name,
        batch=text(body, "number"),
        expires=text(body, "expires"),
        state=text(body, "state"),
        step=step,
        number=number,
        seq=fact.seq,
    )


class Supplies(Section[Stock]):
    """What the job needs."""

    key = "supplies"
    title = "Parts and batches"

    def begin(self, common: Common) -> Stock:
        """Nothing."""
        return {}

    def folds(self) -> Mapping[str, Fold[Stock]]:
        """Ticked off; its batch."""
        return {"listed": _listed, "batch": _batch}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """What was missing at the beginning, and what was past its date or of unknown date."""
        common = found.common
        for supply in self.of(found).values():
            name, batch = one_line(supply.name) or one_line(supply.item), one_line(supply.batch)
            if supply.have is False:
                yield deviation(common, "part", "", f"{name} was not in hand before the job", supply.seq)
            if supply.state in ("", "in date"):
                continue
            what = f"{name}{f', batch {batch},' if batch else ''} was out of date since {one_line(supply.expires)}"
            if supply.state != "out of date":
                what = f"{name}{f', batch {batch}' if batch else ''}: nobody said until when it may be used"
            yield deviation(common, "batch", supply.step, what, supply.seq, reason(common, "batch", supply.step))

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row an item."""
        rows = tuple(
            (
                one_line(s.name) or one_line(s.item),
                one_line(s.part_number) or "–",
                one_line(s.quantity) or "–",
                "–" if s.have is None else "in hand" if s.have else Bad("missing"),
                one_line(s.batch) or "–",
                one_line(s.expires) or "–",
                judged(one_line(s.state) or "–", s.state in ("in date", "")),
            )
            for s in self.of(report).values()
        )
        heads = ("Item", "Number", "Quantity", "Before the job", "Batch", "Usable until", "Date")
        return (Table("Parts and consumables, with their batches", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every item."""
        return {self.key: tuple(self.of(report).values())}


SUPPLIES: Final = Supplies()
