"""Parts and consumables: the list before the job, batch numbers and shelf lives, one-use parts that must be new."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bayvoice.dialogue.engine.asked import ListAsked
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State, mode_of
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import supplies
from bayvoice.dialogue.flow.walk import ask
from bayvoice.job.job import Job
from bayvoice.language.intents import Intent
from bayvoice.language.wording import listed
from bayvoice.procedure.supplies import Need, needs


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the list. `state`: "have", "missing" or "open"; `batch`, `shelf`: number, "in_date" …, "" if none."""

    need: Need
    state: str
    batch: str
    shelf: str


def rows(job: Job) -> tuple[Row, ...]:
    """The list as far as it is ticked off, for the screen."""
    have = dict(job.listed)
    batches = {item: (number, state) for item, number, state in job.batches}
    found = []
    for need in needs(job.procedure):
        state = "open" if need.item not in have else "have" if have[need.item] else "missing"
        found.append(Row(need, state, *batches.get(need.item, ("", ""))))
    return tuple(found)


def announce(turn: Turn) -> None:
    """Before the first step: how long the list is, and how to go through it."""
    count = len(needs(turn.job.procedure))
    if count:
        turn.say("parts_begin", n=count)


def begin(turn: Turn, intent: Intent) -> None:
    """Go through what is not yet in hand."""
    next_item(turn, "")


def _open_items(turn: Turn) -> list[Need]:
    have = dict(turn.job.listed)
    return [need for need in needs(turn.job.procedure) if not have.get(need.item)]


def next_item(turn: Turn, after: str) -> None:
    """Ask for the first item not in hand behind the item `after` ("": from the top)."""
    order = [need.item for need in needs(turn.job.procedure)]
    place = order.index(after) + 1 if after else 0
    left = [need for need in _open_items(turn) if order.index(need.item) >= place]
    if not left:
        _end(turn)
        return
    IN_HAND.put(turn, ListAsked(left[0].item))


def _end(turn: Turn) -> None:
    missing = tuple(need.name for need in _open_items(turn))
    turn.put(pending=None)
    turn.say("parts_missing" if missing else "parts_all", items=listed(missing))
    _to_step(turn)


def _to_step(turn: Turn) -> None:
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("back_at_step", number=turn.job.step + 1)
    turn.say_text(turn.step.say)
    ask(turn, turn.step)


def _need(job: Job, asked: ListAsked) -> Need:
    return next(need for need in needs(job.procedure) if need.item == asked.item)


def _tick(turn: Turn, need: Need, in_hand: bool) -> None:
    turn.fact("listed", item=need.item, name=need.name, number=need.number, quantity=need.quantity, have=in_hand)


class InHand(Question[ListAsked]):
    """Is the item in hand?"""

    mode = Mode.LIST
    asks = ListAsked
    heading = "heading_list"

    def prompt(self, state: State, asked: ListAsked) -> tuple[str, ...]:
        """The item with its quantity, number and spare."""
        need, text = _need(state.job, asked), state.wording.text
        number = text("part_number", number=need.number) if need.number else ""
        spare = text("part_spare", spare=need.spare) if need.spare else ""
        return (text("ask_item", name=need.name, quantity=need.quantity or "1", number=number, spare=spare),)

    def answers(self) -> Mapping[str, Handler]:
        """In hand, missing, or the rest of the list later."""
        return {"yes": self.have, "no": self.missing, "later": self.later}

    def have(self, turn: Turn, intent: Intent) -> None:
        """The item is in hand."""
        need = _need(turn.job, self.asked(turn))
        _tick(turn, need, True)
        item = supplies.item_of(turn.job, need.item)
        if item is not None and supplies.wants_batch(item) and not supplies.batch_known(turn.job, item):
            supplies.ask_batch(turn, item, listing=True)
        else:
            next_item(turn, need.item)

    def missing(self, turn: Turn, intent: Intent) -> None:
        """The item is not there."""
        need = _need(turn.job, self.asked(turn))
        _tick(turn, need, False)
        turn.say("item_missing", name=need.name)
        next_item(turn, need.item)

    def later(self, turn: Turn, intent: Intent) -> None:
        """The rest of the list is left for later."""
        turn.fact("deferred", step=turn.step.id, what="parts")
        turn.put(pending=None)
        turn.say("parts_later")
        _to_step(turn)


IN_HAND = InHand()
