"""What fasteners, parts, the tally and common work add to a report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.gathered import Gathered, strings, text, whole
from bayvoice.report.lines import BoltDone, Helped, PartFitted, Round, Search, StageDone, Supply, TallyLine


def _stage_done(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    done = StageDone(
        step, number, text(body, "name"), whole(body, "stage") or 0, whole(body, "stages") or 0, text(body, "amount"),
        text(body, "unit"), strings(body, "order"), gathered.by, fact.wall, fact.seq,
    )  # fmt: skip
    gathered.stages.append(done)
    gathered.stage_of[step] = done


def _fastened(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    stage, bolt = whole(body, "stage") or 0, whole(body, "number") or 0
    done = BoltDone(
        step, number, stage, bolt, whole(body, "place") or 0, text(body, "amount"), text(body, "unit"),
        text(body, "achieved"), text(body, "achieved_unit"), text(body, "verdict"), gathered.by, fact.wall, fact.seq,
    )  # fmt: skip
    gathered.bolts.append(done)
    gathered.bolt_of[step, stage, bolt] = done


def _round_done(gathered: Gathered, fact: Fact) -> None:
    turned = fact.body.get("turned")
    gathered.rounds.append(
        Round(*gathered.at(fact), whole(fact.body, "round") or 0, turned not in (False, "no", 0, None, ""),
              gathered.by, fact.wall, fact.seq)
    )  # fmt: skip


def _replaced(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    part = PartFitted(
        step, number, text(body, "name"), text(body, "number"), body.get("new") is True, gathered.by, fact.wall,
        fact.seq,
    )  # fmt: skip
    gathered.parts.append(part)
    gathered.part_of[step] = part


def _listed(gathered: Gathered, fact: Fact) -> None:
    body, item = fact.body, text(fact.body, "item")
    old = gathered.supplies.get(item) or Supply(item, "", "", "", None)
    gathered.supplies[item] = replace(
        old, name=text(body, "name"), part_number=text(body, "number"), quantity=text(body, "quantity"),
        have=body.get("have") not in (False, "no", 0, None, ""), seq=fact.seq,
    )  # fmt: skip


def _batch(gathered: Gathered, fact: Fact) -> None:
    (step, number), body, item = gathered.at(fact), fact.body, text(fact.body, "item")
    old = gathered.supplies.get(item) or Supply(item, "", "", "", None)
    gathered.supplies[item] = replace(
        old, name=text(body, "name") or old.name, batch=text(body, "number"), expires=text(body, "expires"),
        state=text(body, "state"), step=step, number=number, seq=fact.seq,
    )  # fmt: skip


def _tally_opened(gathered: Gathered, fact: Fact) -> None:
    opening = text(fact.body, "opening")
    gathered.openings[opening] = False
    gathered.opening_step[opening] = text(fact.body, "step"), fact.seq


def _counted(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    key = text(body, "opening"), text(body, "thing")
    line = gathered.tally.get(key) or TallyLine(*key, 0, 0, 0, False)
    change = whole(body, "change") or 0
    gathered.tally[key] = replace(
        line, went_in=line.went_in + max(0, change), came_out=line.came_out + max(0, -change),
        inside=whole(body, "inside") or 0,
    )  # fmt: skip


def _searched(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.searches.append(
        Search(*gathered.at(fact), text(body, "opening"), text(body, "who"), text(body, "how"), text(body, "thing"),
               fact.wall, fact.seq)
    )  # fmt: skip


def _tally_closed(gathered: Gathered, fact: Fact) -> None:
    opening = text(fact.body, "opening")
    gathered.openings[opening] = True
    gathered.opening_step[opening] = text(fact.body, "step"), fact.seq
    for key, line in gathered.tally.items():
        if key[0] == opening:
            gathered.tally[key] = replace(line, closed=True)


def _helped(gathered: Gathered, fact: Fact) -> None:
    gathered.helped.append(
        Helped(*gathered.at(fact), whole(fact.body, "people") or 0, "", gathered.by, fact.wall, fact.seq)
    )


def _moved_together(gathered: Gathered, fact: Fact) -> None:
    step, result = text(fact.body, "step"), text(fact.body, "result")
    for i in reversed(range(len(gathered.helped))):
        if gathered.helped[i].step == step:
            gathered.helped[i] = replace(gathered.helped[i], result=result, seq=fact.seq)
            return
    gathered.helped.append(Helped(*gathered.at(fact), 0, result, gathered.by, fact.wall, fact.seq))


FOLDS: Final[dict[str, Callable[[Gathered, Fact], None]]] = {
    "stage_done": _stage_done,
    "fastened": _fastened,
    "round_done": _round_done,
    "replaced": _replaced,
    "listed": _listed,
    "batch": _batch,
    "tally_opened": _tally_opened,
    "counted": _counted,
    "searched": _searched,
    "foreign_part": _searched,
    "tally_closed": _tally_closed,
    "helped": _helped,
    "moved_together": _moved_together,
}
