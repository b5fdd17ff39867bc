"""Batch numbers and shelf lives by voice: spelled or said, read back, recorded; out of date stops the step."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from bayvoice.dialogue.engine.asked import BatchAsked, OverrideAsked
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, reasons, supplies
from bayvoice.dialogue.flow.supplies import batch, batch_known, say_batch
from bayvoice.dialogue.flow.walk import after_batch
from bayvoice.dialogue.questions.parts import next_item
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import value_of
from bayvoice.language.spelling import read_back
from bayvoice.procedure.model import Item, Part
from bayvoice.trade.days import day_of

MONTHS: Final = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip


def spell(turn: Turn, intent: Intent) -> None:
    """A batch number was spelled: read it back."""
    asked, _ = batch(turn)
    text = intent.slot("spelt") or ""
    if not text:
        say_batch(turn)
        return
    turn.put(pending=BatchAsked(asked.item, text, listing=asked.listing))
    turn.mode(Mode.CONSENT)
    batch_repeat(turn, BatchAsked(asked.item, text))


def expires(turn: Turn, intent: Intent) -> None:
    """A month and year were said: read them back."""
    asked, _ = batch(turn)
    month, year = intent.slot("month") or "", intent.slot("year") or ""
    digits = int(year) if year.isdigit() else _year(year)
    number = int(month) if month.isdigit() else MONTHS.index(month) + 1 if month in MONTHS else 0
    if not digits or not 1 <= number <= 12:
        say_batch(turn)
        return
    read = BatchAsked(asked.item, asked.number, f"{digits:04d}-{number:02d}", asked.listing)
    turn.put(pending=read)
    turn.mode(Mode.CONSENT)
    batch_repeat(turn, read)


def _year(words: str) -> int:
    """ "twenty twenty six" -> 2026."""
    value = value_of(words.split()[1:])
    return 2000 + int(value) if value is not None and 0 < value < 100 else 0


def batch_repeat(turn: Turn, asked: BatchAsked) -> None:
    """Read back what was understood."""
    if asked.expires:
        turn.say("read_expiry", until=until(asked.expires))
    else:
        turn.say("read_batch", spelt=read_back(asked.number))


def until(month: str) -> str:
    """ "2027-03" -> "March 2027"."""
    year, _, number = month.partition("-")
    return f"{MONTHS[int(number) - 1].capitalize()} {year}"


def batch_no(turn: Turn, asked: BatchAsked) -> None:
    """Not understood rightly: ask again for what was read back."""
    if asked.expires:
        turn.put(pending=BatchAsked(asked.item, asked.number, listing=asked.listing))
        turn.mode(Mode.EXPIRY)
    else:
        turn.put(pending=BatchAsked(asked.item, "", listing=asked.listing))
        turn.mode(Mode.SPELL)
    say_batch(turn)


def batch_yes(turn: Turn, asked: BatchAsked) -> None:
    """Understood rightly: go on to the shelf life, or record."""
    _, item = batch(turn)
    if supplies.shelf_life(item) and not asked.expires:
        turn.mode(Mode.EXPIRY)
        say_batch(turn)
        return
    _record(turn, asked, item)


def expiry_unknown(turn: Turn, intent: Intent) -> None:
    """The label gives no date."""
    asked, item = batch(turn)
    _record(turn, asked, item)


def _record(turn: Turn, asked: BatchAsked, item: Part | Item) -> None:
    state = "not_said"
    if asked.expires:
        # Good until the end of the month; days and months written this way are in order as text.
        state = "in_date" if day_of(turn.at.wall)[:7] <= asked.expires else "out_of_date"
    step = turn.step
    turn.fact(
        "batch", step=step.id, item=item.id, name=item.name, number=asked.number, expires=asked.expires, state=state
    )
    turn.put(pending=None)
    good = batch_known(turn.job, item)
    if not good:
        turn.ring("refused")
    turn.say("batch_logged" if good else "batch_out" if state == "out_of_date" else "batch_undated", name=item.name)
    if asked.listing:
        next_item(turn, item.id)
        return
    turn.mode(mode_of(turn.job, step))
    if good:
        after_batch(turn, step)
    else:
        turn.say("batch_again", past=passing.past(turn, "batch", step.id, "or"))


def batch_later(turn: Turn, intent: Intent) -> None:
    """Not now: the list goes on, or the step waits."""
    asked, item = batch(turn)
    turn.put(pending=None)
    if asked.listing:
        next_item(turn, item.id)
        return
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("batch_again", past=passing.past(turn, "batch", turn.step.id, "or"))


def batch_skip(turn: Turn, intent: Intent) -> None:
    """Go on without: asks for a yes and a reason. In the list it is only left for later."""
    asked, item = batch(turn)
    if asked.listing:
        batch_later(turn, intent)
        return
    asked_for = OverrideAsked("batch", turn.step.id, item.name)
    said = intent.slot("reason") or ""
    reason = reasons.meant(turn, asked_for, said) if said else ""
    passing.ask_override(turn, replace(asked_for, reason=reason))


def ask_again(turn: Turn, intent: Intent) -> None:
    """Ask once more for the number or the month."""
    say_batch(turn)
