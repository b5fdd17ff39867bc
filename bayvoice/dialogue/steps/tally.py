"""The count of what goes into an opening and comes out again: it opens, is searched, and closes."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import Answers, Owed, Piece, Row, Shown, Sign, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing
from bayvoice.dialogue.flow.counts import count_in, count_out, inside_text
from bayvoice.dialogue.flow.walk import ask, go_on
from bayvoice.job.facts import Fact, owned
from bayvoice.job.folds import excused
from bayvoice.job.job import Folds, Job, Searched, answer
from bayvoice.job.people import signer
from bayvoice.language.intents import Intent
from bayvoice.language.wording import listed
from bayvoice.procedure.forms.tally import TallyForm
from bayvoice.procedure.model import FOREMAN, Step, Tally


def next_(turn: Turn, intent: Intent) -> None:
    """Everything was counted."""
    go_on(turn)


def tally_no(turn: Turn, intent: Intent) -> None:
    """Not everything is out yet."""
    ask(turn, turn.step)


def detail_of(step: Step) -> Tally:
    """The opening whose count opens or closes."""
    assert isinstance(step.detail, Tally)
    return step.detail


def closing(job: Job, step: Step) -> str:
    """The opening whose count `step` is to close and that is still open, "" if none."""
    detail = detail_of(step)
    return detail.opening if detail.close and detail.opening in job.openings else ""


def searchers(turn: Turn, opening: str) -> tuple[str, ...]:
    """Who has searched `opening`."""
    return tuple(one.who for one in turn.job.searches if one.opening == opening)


def searched(turn: Turn, intent: Intent) -> None:
    """Somebody searched for what is still counted inside."""
    who, job = intent.slot("who"), turn.job
    opening = closing(job, turn.step) or (job.openings[-1] if job.openings else "")
    if not opening:
        turn.say("nothing_open")
        return
    if who is None:
        turn.say("say_who_searched")
        return
    # Whoever works on the job may search; who signs for what is left must be another.
    person, barred = signer(turn.state.roll, (*turn.job.hands, *turn.state.people), (), who, "")
    if person is None:
        turn.ring("refused")
        turn.say(barred, who=who)
        return
    name, how = person.name, intent.slot("how") or ""
    turn.fact("searched", step=turn.step.id, opening=opening, who=name, how=turn.state.wording.code("means_", how))
    inside = inside_text(turn, opening)
    turn.say("searched", who=name, how=f", {how}" if how else "")
    turn.say("tally_sign" if inside else "now_empty", inside=inside)


def not_left_out(turn: Turn, opening: str) -> None:
    """A count is not closed by leaving its step out: what that takes is said."""
    inside = inside_text(turn, opening)
    if inside and passing.nobody_may(turn, OverrideAsked("tally", turn.step.id, opening)):
        return
    left = sum(n for _, n in turn.job.left_inside(opening))
    turn.fact("refused", step=turn.step.id, what="tally", name=opening, n=left, of="things")
    turn.ring("refused")
    if not inside:
        turn.say("ask_tally_empty", opening=opening)
    else:
        turn.say("tally_sign" if searchers(turn, opening) else "tally_search", inside=inside)


def close(turn: Turn, step: Step, opening: str) -> bool:
    """Close the count, if nothing is left inside; whether it is closed."""
    inside = inside_text(turn, opening)
    if inside:
        left = sum(n for _, n in turn.job.left_inside(opening))
        turn.fact("refused", step=step.id, what="tally", name=opening, n=left, of="things")
        turn.ring("refused")
        turn.say("refused_tally", opening=opening, inside=inside)
        return False
    turn.fact("tally_closed", step=step.id, opening=opening)
    turn.say("tally_closed", opening=opening)
    return True


def _opened(job: Job, fact: Fact) -> Job:
    opening = fact.body["opening"]
    openings = job.openings if opening in job.openings else (*job.openings, opening)
    return answer(replace(job, openings=openings), fact.body["step"], True)


def _counted(job: Job, fact: Fact) -> Job:
    b = fact.body
    others = tuple(row for row in job.inside if row[:2] != (b["opening"], b["thing"]))
    return replace(job, inside=(*others, (b["opening"], b["thing"], b["inside"])))


def _closed(job: Job, fact: Fact) -> Job:
    return answer(_ended(job, fact.body["opening"]), fact.body["step"], True)


def _ended(job: Job, opening: str) -> Job:
    return replace(
        job,
        openings=tuple(o for o in job.openings if o != opening),
        inside=tuple(row for row in job.inside if row[0] != opening),
    )


def _searched(job: Job, fact: Fact) -> Job:
    """Somebody looked for what is still inside."""
    body = fact.body
    return replace(job, searches=(*job.searches, Searched(body["opening"], body["who"], body["how"])))


def _foreign_part(job: Job, fact: Fact) -> Job:
    """Something was found inside that nobody counted in."""
    return replace(job, foreign=(*job.foreign, (fact.body["opening"], fact.body["thing"])))


class TallyKind(TallyForm, StepKind):
    """A count that opens with one step and closes with another."""

    facts = owned("tally_opened", "counted", "tally_closed", "searched", "foreign_part")
    folds: ClassVar[Folds] = {
        "tally_opened": _opened,
        "counted": _counted,
        "tally_closed": _closed,
        "searched": _searched,
        "foreign_part": _foreign_part,
    }
    answers: ClassVar[Answers] = {Mode.TALLY: {"yes": next_, "no": tally_no, "searched": searched}}
    steers: ClassVar[Row] = {"count_in": count_in, "count_out": count_out}

    def mode(self, job: Job, step: Step) -> str:
        """A count of its own state."""
        return Mode.TALLY

    def ask(self, turn: Turn, step: Step) -> None:
        """How to count, or what is still in."""
        detail = detail_of(step)
        if not detail.close:
            turn.say("ask_tally_open", opening=detail.opening, things=listed(detail.things))
            return
        inside = inside_text(turn, detail.opening)
        turn.say("ask_tally_inside" if inside else "ask_tally_empty", opening=detail.opening, inside=inside)

    def complete(self, turn: Turn, step: Step, here: bool) -> None:
        """Being in the step opens the count."""
        detail = detail_of(step)
        # Where a recovery led back before it, its count is open still and the step is to be done all the same.
        opened = detail.opening in turn.job.openings and step.id in turn.job.answered
        if here and not detail.close and not opened:
            turn.fact("tally_opened", step=step.id, opening=detail.opening)

    def advance(self, turn: Turn, step: Step) -> bool:
        """Close the count."""
        opening = closing(turn.job, step)
        return close(turn, step, opening) if opening else super().advance(turn, step)

    def bars_skip(self, turn: Turn, step: Step) -> bool:
        """A count is not closed by leaving its step out."""
        opening = closing(turn.job, step)
        if opening:
            not_left_out(turn, opening)
        return bool(opening)

    def passed(self, job: Job, fact: Fact) -> Job | None:
        """A count that is ended by an override loses what is left inside."""
        if fact.body["what"] != "tally":
            return None
        opening = fact.body["name"]
        lost = tuple(row for row in job.inside if row[0] == opening and row[2])
        return _ended(replace(excused(job, fact), lost=(*job.lost, *lost)), opening)

    def stands(self, job: Job, step: Step, redone: frozenset[str]) -> bool:
        """It closed a count which is not opened again by another of the steps: there is nothing to close."""
        detail = detail_of(step)
        if not detail.close or detail.opening in job.openings:
            return False
        counts = ((each.id, each.detail) for each in job.procedure.steps if isinstance(each.detail, Tally))
        return all(each.close or each.opening != detail.opening or step_id not in redone for step_id, each in counts)

    def sign(self, job: Job, step: Step) -> Sign | None:
        """What stays inside, once it was searched for."""
        opening = closing(job, step)
        return Sign("tally", FOREMAN, opening) if opening and job.left_inside(opening) else None

    def sign_barred(self, turn: Turn, step: Step, name: str) -> bool:
        """First a search, and then the sign of somebody who did not search."""
        found = searchers(turn, closing(turn.job, step))
        if not found:
            not_left_out(turn, closing(turn.job, step))
        elif name in found:
            turn.ring("refused")
            turn.say("sign_searcher", who=name)
        return not found or name in found

    def owed(self, job: Job, step: Step) -> Owed | None:
        """The count is to be closed."""
        opening = closing(job, step)
        return Owed("tally", step.id, opening) if opening else None

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """What is counted where."""
        detail = detail_of(step)
        what = "everything out" if detail.close else ", ".join(detail.things)
        return ((Piece(f"{detail.opening}: count {what}"),),)


TALLY = TallyKind()
