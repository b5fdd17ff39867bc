"""What goes into an open machine and comes out of it again; what is searched for and found there."""

from __future__ import annotations

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing
from bayvoice.dialogue.flow.walk import ask, inside_text
from bayvoice.job.people import signer
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Tally


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


def foreign(turn: Turn, thing: str) -> None:
    """Something was found inside that nobody counted in. `thing`: what it is, where that was typed."""
    if not turn.job.openings:
        turn.say("nothing_open")
        return
    turn.fact("foreign_part", step=turn.step.id, opening=turn.job.openings[-1], thing=thing)
    turn.say("foreign_part" if thing else "foreign_part_note", thing=thing)


def closing(turn: Turn) -> str:
    """The opening whose count the present step is to close and that is still open, "" if none."""
    detail = turn.step.detail
    open_still = isinstance(detail, Tally) and detail.close and detail.opening in turn.job.openings
    return detail.opening if open_still and isinstance(detail, Tally) else ""


def searchers(turn: Turn, opening: str) -> tuple[str, ...]:
    """Who has searched `opening`."""
    return tuple(one.who for one in turn.job.searches if one.opening == opening)


def searched(turn: Turn, intent: Intent) -> None:
    """Somebody searched for what is still counted inside."""
    who, job = intent.slot("who"), turn.job
    opening = closing(turn) or (job.openings[-1] if job.openings else "")
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
