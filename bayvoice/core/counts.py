"""What goes into an open machine and comes out of it again."""

from __future__ import annotations

from bayvoice.core.turn import Turn
from bayvoice.core.walk import ask, inside_text
from bayvoice.speech.intents import Intent


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


def tally_no(turn: Turn, intent: Intent) -> None:
    """Not everything is out yet."""
    ask(turn, turn.step)
