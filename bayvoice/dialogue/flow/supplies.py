"""What is known of parts and consumables in use: batch numbers and shelf lives, and which of them are still wanted."""

from __future__ import annotations

from bayvoice.dialogue.engine.asked import BatchAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.job.job import Job
from bayvoice.procedure.model import Item, Part, Step


def item_of(job: Job, item_id: str) -> Part | Item | None:
    """The part or consumable called `item_id`."""
    items: list[Part | Item] = [*job.procedure.parts, *job.procedure.consumables]
    return next((one for one in items if one.id == item_id), None)


def shelf_life(item: Part | Item) -> bool:
    """Whether its shelf life is asked for."""
    return isinstance(item, Item) and item.shelf_life


def wants_batch(item: Part | Item) -> bool:
    """Whether anything is asked of its batch."""
    return item.batch or shelf_life(item)


def batch_known(job: Job, item: Part | Item) -> bool:
    """Whether all that is asked of its batch is known and in order."""
    state = next((state for one, _, state in job.batches if one == item.id), "")
    return state == "in_date" or (state == "not_said" and not shelf_life(item))


def batch_owed(job: Job, step: Step) -> Part | Item | None:
    """The part or consumable of `step` whose batch or shelf life is still wanted; None where the step may be left."""
    if ("batch", step.id) in job.excused:
        return None
    part = kind_of(job, step).renews(step)
    uses = [*step.uses, *([part] if part else [])]
    for item_id in uses:
        item = item_of(job, item_id)
        if item is not None and wants_batch(item) and not batch_known(job, item):
            return item
    return None


def ask_batch(turn: Turn, item: Part | Item, *, listing: bool = False) -> None:
    """Ask for the batch number, or at once for the shelf life where no number is wanted."""
    turn.put(pending=BatchAsked(item.id, "", listing=listing))
    turn.mode(Mode.SPELL if item.batch else Mode.EXPIRY)
    say_batch(turn)


def say_batch(turn: Turn) -> None:
    """Ask for the number or the month, as the dialogue state says."""
    _, item = batch(turn)
    turn.say_text(batch_text(turn.state, item))


def batch_text(state: State, item: Part | Item) -> str:
    """What is asked of the batch of `item`: the number or the month, as the dialogue state says."""
    return state.wording.text("ask_batch" if state.mode is Mode.SPELL else "ask_expiry", name=item.name)


def batch(turn: Turn) -> tuple[BatchAsked, Part | Item]:
    """The batch that is asked for now, and of what."""
    asked = turn.state.pending
    assert isinstance(asked, BatchAsked), "a batch nobody asked for"
    item = item_of(turn.job, asked.item)
    assert item is not None
    return asked, item
