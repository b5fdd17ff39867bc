"""Going from step to step: what must be true to leave one, what happens on entering the next."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import LEAVING, Owed, kind_of
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, route, supplies, waits
from bayvoice.job.job import Running
from bayvoice.language.wording import duration
from bayvoice.procedure.model import Caution, Passing, Signal, Step


def enter(turn: Turn, index: int, again: str = "no") -> None:
    """Begin the step at `index` (one past the last: end the job), unless a wait or an open machine bars the way."""
    steps = turn.job.procedure.steps
    if index >= len(steps):
        finish(turn)
        return
    step = steps[index]
    barred = waits.gating(turn.job, step, turn.at.mono) if again in ("no", "owed", "back", "return") else None
    if barred:
        refuse_for_wait(turn, barred)
        if again == "back" and (earlier := _before(turn, index)) is not None:
            enter(turn, earlier, "back")
        return
    if again == "no":
        late = waits.overrun(turn, step)
        if late:
            too_late(turn, *late)
            return
        owes = route.owed_before(turn.job, index)
        if owes:
            refuse_for_owed(turn, owes)
            return
    turn.put(gate="", pending=None, moved=False, counting=0)
    if again == "return":
        turn.say("branch_back")
    turn.fact("step_entered", step=step.id, again=again)
    waits.close_on_begin(turn, step)
    read(turn, step)
    kind_of(turn.job, step).entered(turn, step)


def _before(turn: Turn, index: int) -> int | None:
    """Index of the last step before `index`, in the line or in the same aside, that no wait bars."""
    steps = turn.job.procedure.steps
    earlier = [i for i in range(index) if steps[i].aside == steps[index].aside]
    return next((i for i in reversed(earlier) if not waits.gating(turn.job, steps[i], turn.at.mono)), None)


def go_along(turn: Turn) -> None:
    """Enter the step that follows the current one, wherever the job has come from."""
    way = route.onward(turn.job)
    enter(turn, way.index, way.again)


def refuse_for_owed(turn: Turn, owes: Owed) -> None:
    """The way on is barred by what an earlier step left open: that step comes first."""
    turn.fact(
        "refused", step=turn.job.current.id if turn.job.current else "", what=owes.what, name=owes.name, n=0, of=""
    )
    turn.ring("refused")
    turn.say(f"owed_{owes.what}", name=owes.name)
    enter(turn, turn.job.procedure.index(owes.step), "owed")


def too_late(turn: Turn, wait: Running, recovery: Step | None) -> None:
    """A window ran out: what it was for has to be done again from the recovery step on, or, without one, by hand."""
    turn.fact(
        "refused",
        step=turn.job.current.id if turn.job.current else "",
        what="late",
        name=wait.name,
        n=int(-(wait.left(turn.at.mono) or 0.0)),
        of="seconds",
    )
    if recovery is None:
        turn.ring("refused")
        turn.say("refused_late", name=wait.name, past=passing.past(turn, "late", wait.step))
        return
    barred = waits.gating(turn.job, recovery, turn.at.mono)
    if barred:
        refuse_for_wait(turn, barred)
        return
    owes = route.owed_before(turn.job, turn.job.procedure.index(recovery.id))
    if owes and owes.step != recovery.id:
        # Going to what is owed from here would leave the step in hand behind.
        turn.ring("refused")
        turn.say(f"owed_{owes.what}", name=owes.name)
        return
    turn.say("recovery", name=wait.name)
    enter(turn, turn.job.procedure.index(recovery.id), "recovery")
    # Last: a job cut off in between stands at the recovery step, and not before the gate without its wait.
    if turn.job.wait_of(wait.step) is wait:
        waits.end(turn, wait)


def read(turn: Turn, step: Step) -> None:
    """Say the step: its cautions first, then what to do, then what the product waits for."""
    complete(turn, step)
    for caution in sorted(step.cautions, key=lambda c: list(Signal).index(c.signal)):
        turn.say_text(warning(turn, caution))
    turn.say("step", number=turn.job.step + 1, say=step.say)
    turn.mode(mode_of(turn.job, step))
    if not kind_of(turn.job, step).ready(turn, step):
        return
    ask(turn, step)
    coming = route.onward(turn.job).index
    if coming < len(turn.job.procedure.steps):
        following = turn.job.procedure.steps[coming]
        if following.kind != step.kind:
            kind_of(turn.job, following).announce(turn, following)


def complete(turn: Turn, step: Step) -> None:
    """Record what follows from the facts there are and was not recorded because the sitting broke off."""
    for each in turn.job.procedure.steps:
        if each.id != step.id:
            kind_of(turn.job, each).complete(turn, each, False)
    kind_of(turn.job, step).complete(turn, step, True)


def warning(turn: Turn, caution: Caution) -> str:
    """A caution as it is said: the signal word, then the text."""
    return turn.state.wording.text("caution", signal=caution.signal.value.capitalize(), text=caution.text)


def ask(turn: Turn, step: Step) -> None:
    """Say what is expected in this step now, where the step's own words do not."""
    kind_of(turn.job, step).ask(turn, step)


def refuse_for_wait(turn: Turn, bar: waits.Bar) -> None:
    """Refuse to go on: a minimum has not been reached, or not begun. What is missing is said and recorded."""
    missing = bar.missing
    turn.fact(
        "refused",
        step=turn.job.current.id if turn.job.current else "",
        what="wait" if missing is not None else "unbegun",
        name=bar.name,
        n=int(-(-(missing or 0) // 1)),
        of="seconds" if missing is not None else "",
    )
    turn.put(gate=bar.step)
    turn.ring("refused")
    way = passing.past(turn, "wait", bar.step)
    if missing is None:
        number = turn.job.procedure.index(bar.step) + 1
        turn.say("refused_unbegun", name=bar.name, number=number, past=way)
    else:
        turn.say("refused_wait", name=bar.name, left=duration(missing), past=way)


def way_barred(turn: Turn, step: Step, but: str = "") -> bool:
    """Whether a finding or a wait's minimum keeps `step` from being left; that it does is said and recorded.

    but: id of a step whose wait does not count.
    """
    if stopped(turn, step):
        return True
    index, steps = route.onward(turn.job).index, turn.job.procedure.steps
    barred = waits.gating(turn.job, steps[index] if index < len(steps) else None, turn.at.mono, but)
    # A wait that was begun anew holds back the step it gates, though that was come to before.
    barred = waits.gating(turn.job, step, turn.at.mono, but, running=True) or barred
    if barred:
        refuse_for_wait(turn, barred)
    return barred is not None


def go_on(turn: Turn) -> None:
    """Leave the current step as done and begin the next; refuse with a reason where something stands in the way."""
    step = turn.step
    kind = kind_of(turn.job, step)
    guard = kind.guard(turn.job, step)
    if guard is None:
        if kind.advance(turn, step):
            leave(turn, step)
    elif guard.what not in LEAVING or not way_barred(turn, step):
        passing.ask_override(turn, guard)


def after_batch(turn: Turn, step: Step) -> None:
    """The batch a step uses is known, or gone on without: leave the step, or begin it where it only begins then."""
    kind = kind_of(turn.job, step)
    if kind.begins_supplied(turn.job, step):
        kind.supplied(turn, step)
    else:
        leave(turn, step)


def stopped(turn: Turn, step: Step) -> bool:
    """Whether a finding stops `step`; that it does is said and recorded. Only a sign lets it go on."""
    found = next((what for where, what in turn.job.stopped if where == step.id), "")
    if found:
        turn.fact("refused", step=step.id, what="finding", name=found, n=0, of="")
        turn.ring("refused")
        nobody = passing.finding_class(turn.job, step.id) is Passing.NOBODY
        turn.say("nobody_finding" if nobody else "owed_finding", name=found)
    return bool(found)


def leave(turn: Turn, step: Step, how: str = "done", reason: str = "") -> None:
    """Record the step as left and go on, if no finding and no wait bars it."""
    if way_barred(turn, step):
        return
    item = supplies.batch_owed(turn.job, step) if how == "done" else None
    if item is not None:
        supplies.ask_batch(turn, item)
        return
    way = route.onward(turn.job)
    late = waits.overrun(turn, step)
    if late and how == "done":
        too_late(turn, *late)
        return
    turn.fact("step_done", step=step.id, how=how, reason=reason)
    waits.close_on_done(turn, step, skipped=how == "skipped")
    enter(turn, way.index, way.again)


def finish(turn: Turn) -> None:
    """The last step is done: the job ends, unless a wait runs or something is owed."""
    barred = waits.gating(turn.job, None, turn.at.mono)
    if barred:
        refuse_for_wait(turn, barred)
        return
    owes = route.owed_before(turn.job, len(turn.job.procedure.steps))
    if owes:
        refuse_for_owed(turn, owes)
        return
    turn.fact("job_done")
    turn.mode(Mode.FINISHED)
    turn.say("finished", title=turn.job.procedure.title)
