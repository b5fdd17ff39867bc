"""What goes into an open machine and comes out of it again, and what is found there."""

from __future__ import annotations

from bayvoice.dialogue.engine.turn import Turn
from bayvoice.language.intents import Intent
from bayvoice.language.wording import listed


def inside_text(turn: Turn, opening: str) -> str:
    """What is inside an opening, as a list in words."""
    wording = turn.state.wording
    rows = turn.job.left_inside(opening)
    return listed(tuple(wording.text("inside_row", thing=thing, n=n) for thing, n in rows))


def count_in(turn: Turn, intent: Intent) -> None:
    """Things go into the open machine."""
    _count(turn, intent, 1)


def count_out(turn: Turn, intent: Intent) -> None:
    """Things come out of the open machine."""
    _count(turn, intent, -1)


def _count(turn: Turn, intent: Intent, sign: int) -> None:
    job, thing = turn.job, intent.slot("thing")
    if not job.openings:
        turn.say("nothing_open")
        return
    if thing is None:
        turn.say("say_a_thing")
        return
    opening = job.openings[-1]
    count = int(intent.slot("count") or "1")
    inside = dict(job.left_inside(opening)).get(thing, 0)
    if sign < 0 and count > inside:
        turn.ring("refused")
        turn.say("count_too_many", thing=thing, n=inside)
        return
    turn.fact(
        "counted", step=turn.step.id, opening=opening, thing=thing, change=sign * count, inside=inside + sign * count
    )
    text = inside_text(turn, opening)
    key = "counted_in" if sign > 0 else "counted_out"
    turn.say(key, thing=thing, n=count)
    turn.say("now_inside" if text else "now_empty", inside=text)


def foreign(turn: Turn, thing: str) -> None:
    """Something was found inside that nobody counted in. `thing`: what it is, where that was typed."""
    if not turn.job.openings:
        turn.say("nothing_open")
        return
    turn.fact("foreign_part", step=turn.step.id, opening=turn.job.openings[-1], thing=thing)
    turn.say("foreign_part" if thing else "foreign_part_note", thing=thing)
