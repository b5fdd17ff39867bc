"""Interruption: where the job stands, told after a break, to whoever takes it up, and where one hands it to another."""

from __future__ import annotations

from bayvoice.dialogue.engine.asked import HandOverAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import supplies, waits
from bayvoice.dialogue.flow.counts import inside_text
from bayvoice.dialogue.flow.walk import ask, finish, read
from bayvoice.job.people import WORKED, signer, written
from bayvoice.language.intents import Intent
from bayvoice.language.wording import Line, duration, listed
from bayvoice.procedure.model import Step

LONG = 60.0
"""Seconds after which it is worth saying how long ago something was."""


def standing(turn: Turn) -> list[Line]:
    """What is open: sentences about waits, things inside, holds, findings, parts that are missing."""
    job, line = turn.job, turn.state.wording.line
    lines = waits.describe(turn)
    for opening in job.openings:
        inside = inside_text(turn, opening)
        lines.append(line("told_inside" if inside else "told_open", opening=opening, inside=inside))
    for what, step in job.deferred:
        held = job.procedure.steps[job.procedure.index(step)] if what == "hold" else None
        sign = kind_of(job, held).sign(job, held) if held is not None else None
        lines.append(line("told_hold", look=sign.name) if sign is not None else line("told_parts"))
    lines += [line("told_finding", what=what) for _, what in job.stopped]
    missing = [name for item, have in job.listed if not have and (name := _name(turn, item))]
    if missing:
        lines.append(line("told_missing", items=listed(tuple(missing))))
    return lines


def _name(turn: Turn, item: str) -> str:
    found = supplies.item_of(turn.job, item)
    return found.name if found is not None else ""


def needs(turn: Turn, step: Step) -> str:
    """What a step needs to be in reach, as a list in words; "" for nothing."""
    items = [name for item in step.uses if (name := _name(turn, item))]
    items += kind_of(turn.job, step).needs(turn.state, step)
    return listed(tuple(dict.fromkeys(items)))


def told(turn: Turn, here: bool = True) -> list[Line]:
    """All that somebody needs who comes to the job: last done, what is open, the present step, what it needs.

    `here`: with the words of the present step, which are left out where it is read aloud anyway.
    """
    job, line = turn.job, turn.state.wording.line
    lines = []
    last, wall = job.last
    if last:
        index = job.procedure.index(last)
        ago = turn.at.wall - wall
        lines.append(
            line(
                "told_last_ago" if ago >= LONG else "told_last",
                number=index + 1,
                say=job.procedure.steps[index].say,
                ago=duration(ago),
            )
        )
    lines += standing(turn)
    step = job.current
    if step is not None:
        if here:
            lines.append(line("told_now", number=job.step + 1, of=len(job.procedure.steps), say=step.say))
        need = needs(turn, step)
        if need:
            lines.append(line("told_needs", needs=need))
    return lines


def tell(turn: Turn) -> list[Line]:
    """Say all of `told`, and return it."""
    lines = told(turn)
    for each in lines:
        turn.say_text(each.text)
    return lines


def resume(turn: Turn, intent: Intent) -> None:
    """Take the job up after a pause: first where it stands, then the step itself."""
    away = turn.at.wall - turn.job.paused_at
    turn.fact("resumed")
    if turn.job.finished:
        finish(turn)
        return
    if away >= LONG:
        turn.say("away", away=duration(away))
    for line in told(turn, here=False):
        turn.say_text(line.text)
    read(turn, turn.step)


def hand_over(turn: Turn, intent: Intent) -> None:
    """The technician wants to pass the job on."""
    said = intent.slot("who")
    if said is None:
        turn.say("say_who_takes")
        return
    person, barred = signer(turn.state.roll, turn.state.people, (turn.job.by,), said, "")
    if person is None:
        turn.say("hand_over_self" if barred == WORKED else barred, who=said)
        return
    # Who was here before comes back under the same name.
    who = person.name if turn.state.roll else written(turn.job.hands, person.name)
    turn.put(pending=HandOverAsked(who))
    turn.mode(Mode.CONSENT)
    turn.say("hand_over_ask", who=who)


def consent_yes(turn: Turn, asked: HandOverAsked) -> None:
    """First the one who leaves says yes, then, after everything was told, the one who takes the job up."""
    if not asked.told:
        turn.put(pending=HandOverAsked(asked.who, told=True))
        tell(turn)
        turn.mode(Mode.CONSENT)
        turn.say("hand_over_take", who=asked.who)
        return
    record(turn, turn.job.by, asked.who, told(turn))
    turn.put(pending=None)
    turn.say("handed_over", who=asked.who)
    go_back(turn)


def record(turn: Turn, leaves: str, takes: str, lines: list[Line]) -> None:
    """Both names, and what was told."""
    turn.fact("handed_over", leaves=leaves, takes=takes, told=[line.body for line in lines])


def consent_no(turn: Turn, asked: HandOverAsked) -> None:
    """The job stays where it was."""
    turn.put(pending=None)
    turn.say("hand_over_dropped", who=turn.job.by)
    go_back(turn)


def consent_repeat(turn: Turn, asked: HandOverAsked) -> None:
    """Ask, or tell everything, once more."""
    if asked.told:
        tell(turn)
    turn.say("hand_over_take" if asked.told else "hand_over_ask", who=asked.who)


def go_back(turn: Turn) -> None:
    """To the dialogue state of the step in hand, or of the pause."""
    if turn.job.paused:
        turn.mode(Mode.PAUSED)
        turn.say("still_paused")
        return
    turn.mode(mode_of(turn.job, turn.step))
    ask(turn, turn.step)
