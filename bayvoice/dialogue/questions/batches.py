"""Batch numbers and shelf lives by voice: spelled or said, read back, recorded; out of date stops the step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from bayvoice.dialogue.engine.asked import BatchAsked, OverrideAsked
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State, mode_of
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import passing, reasons, supplies
from bayvoice.dialogue.flow.supplies import batch, batch_known, batch_text, item_of
from bayvoice.dialogue.flow.walk import after_batch
from bayvoice.dialogue.questions.common import to_step
from bayvoice.dialogue.questions.parts import next_item
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import value_of
from bayvoice.language.spelling import read_back
from bayvoice.procedure.model import Item, Part
from bayvoice.trade.days import day_of

MONTHS: Final = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)


class _Wanted(Question[BatchAsked]):
    """Something of a batch is wanted; it may be left for later, or gone on without."""

    asks = BatchAsked

    def prompt(self, state: State, asked: BatchAsked) -> tuple[str, ...]:
        """Of what, and how it is said."""
        item = item_of(state.job, asked.item)
        assert item is not None
        return (batch_text(state, item),)

    def answers(self) -> Mapping[str, Handler]:
        """Later, or without."""
        return {"later": self.later, "skip": self.skip}

    def later(self, turn: Turn, intent: Intent) -> None:
        """Not now: the list goes on, or the step waits."""
        asked, item = batch(turn)
        if asked.listing:
            turn.put(pending=None)
            next_item(turn, item.id)
            return
        to_step(turn)
        turn.say("batch_again", past=passing.past(turn, "batch", turn.step.id, "or"))

    def skip(self, turn: Turn, intent: Intent) -> None:
        """Go on without: asks for a yes and a reason. In the list it is only left for later."""
        asked, item = batch(turn)
        if asked.listing:
            self.later(turn, intent)
            return
        asked_for = OverrideAsked("batch", turn.step.id, item.name)
        said = intent.slot("reason") or ""
        reason = reasons.meant(turn, asked_for, said) if said else ""
        passing.ask_override(turn, replace(asked_for, reason=reason))


class Spell(_Wanted):
    """What is the batch number?"""

    mode = Mode.SPELL
    heading = "heading_batch"

    def answers(self) -> Mapping[str, Handler]:
        """The number; or later, or without."""
        return {"spell": self.spell, **super().answers()}

    def spell(self, turn: Turn, intent: Intent) -> None:
        """A batch number was spelled: read it back."""
        asked, text = self.asked(turn), intent.slot("spelt") or ""
        if text:
            READ_BACK.put(turn, BatchAsked(asked.item, text, listing=asked.listing))
        else:
            self.say(turn)


class Expiry(_Wanted):
    """Until when is it good?"""

    mode = Mode.EXPIRY
    heading = "heading_expiry"

    def answers(self) -> Mapping[str, Handler]:
        """A month, or none; or later, or without."""
        return {"expires": self.expires, "no": self.unknown, **super().answers()}

    def expires(self, turn: Turn, intent: Intent) -> None:
        """A month and year were said: read them back."""
        asked = self.asked(turn)
        month, year = intent.slot("month") or "", intent.slot("year") or ""
        digits = int(year) if year.isdigit() else _year(year)
        number = int(month) if month.isdigit() else MONTHS.index(month) + 1 if month in MONTHS else 0
        if digits and 1 <= number <= 12:
            READ_BACK.put(turn, BatchAsked(asked.item, asked.number, f"{digits:04d}-{number:02d}", asked.listing))
        else:
            self.say(turn)

    def unknown(self, turn: Turn, intent: Intent) -> None:
        """The label gives no date."""
        asked, item = batch(turn)
        _record(turn, asked, item)


class ReadBack(Question[BatchAsked]):
    """The number, or the month, is read back."""

    mode = Mode.CONSENT
    asks = BatchAsked
    heading = "heading_batch_read"

    def prompt(self, state: State, asked: BatchAsked) -> tuple[str, ...]:
        """What was understood."""
        if asked.expires:
            return (state.wording.text("read_expiry", until=until(asked.expires)),)
        return (state.wording.text("read_batch", spelt=read_back(asked.number)),)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": self.yes, "no": self.no}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """Understood rightly: go on to the shelf life, or record."""
        asked, item = batch(turn)
        if supplies.shelf_life(item) and not asked.expires:
            EXPIRY.put(turn, asked)
        else:
            _record(turn, asked, item)

    def no(self, turn: Turn, intent: Intent) -> None:
        """Not understood rightly: ask again for what was read back."""
        asked = self.asked(turn)
        if asked.expires:
            EXPIRY.put(turn, replace(asked, expires=""))
        else:
            SPELL.put(turn, replace(asked, number=""))


SPELL, EXPIRY, READ_BACK = Spell(), Expiry(), ReadBack()


def _year(words: str) -> int:
    """ "twenty twenty six" -> 2026."""
    value = value_of(words.split()[1:])
    return 2000 + int(value) if value is not None and 0 < value < 100 else 0


def until(month: str) -> str:
    """ "2027-03" -> "March 2027"."""
    year, _, number = month.partition("-")
    return f"{MONTHS[int(number) - 1].capitalize()} {year}"


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
