"""The foreman's look: every job of the record, live, each with its step, its waits and what is not in order."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import ClassVar, Final

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from bayvoice.job.card import JobCard
from bayvoice.language.wording import duration
from bayvoice.screen.bars import bar
from bayvoice.screen.parts import Line
from bayvoice.screen.shades import DARK_VARIABLES, THEMES, after
from bayvoice.screen.signs import Signs, signs_for, written

LOOK_EVERY: Final = 1.0
"""Seconds between two looks at the record."""
KEYS_LINE: Final = "up, down choose   enter report   p write the page   l shade   f9 leave"
REPORT_LINE: Final = "up, down, page up, page down   escape back to the jobs   f9 leave"


def card_text(card: JobCard, width: int, signs: Signs) -> Content:
    """A card as lines: who and where, the step, the waits, the flags."""
    ago = f"last heard of {duration(card.idle)} ago" if card.idle >= 60 else "at work now"
    head = f"{card.name}  {card.place}  {card.by}, {ago}"
    lines = [head, f"  {card.title}"]
    if card.heading:
        lines.append(f"  {signs.good if card.good else signs.bad} {card.heading}")
    if card.step:
        lines.append(f"  {card.step}")
    for wait in card.waits:
        seen = bar(wait, card.now, max(10, width // 4), signs)
        lines.append(f"  {seen.picture} {seen.name}: {seen.word}")
    lines += [f"  {signs.bad} {flag}" for flag in card.flags]
    text = "\n".join(written(line, signs) for line in lines)
    return Content(text).stylize("bold", 0, len(written(head, signs)))


class Overview(App[None]):
    """The jobs of a record.

    Args:
        look: the cards, open jobs first; called once a second in the screen's thread.
        report: the report of the job called so, as plain text.
        write_page: writes the report's page of that job; the file's name.
        signs: symbols to use, by default those the terminal can show.
        theme: a key of `shades.THEMES`.
    """

    CSS_PATH = "overview.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "bayvoice jobs"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9,ctrl+q,ctrl+c", "leave", show=False, priority=True),
        Binding("escape", "jobs", show=False),
        Binding("p", "page", show=False),
        Binding("l", "shade", show=False),
    ]

    def __init__(
        self,
        look: Callable[[], Sequence[JobCard]],
        report: Callable[[str], str],
        write_page: Callable[[str], str],
        signs: Signs | None = None,
        theme: str = "dark",
    ) -> None:
        super().__init__()
        self.look = look
        self.report = report
        self.write_page = write_page
        self.signs = signs or signs_for(sys.__stdout__.encoding if sys.__stdout__ else None, os.environ)
        self.cards: Sequence[JobCard] = ()
        self._first_theme = THEMES[theme].name
        self._shown: list[tuple[str, Content]] | None = None
        self.animation_level = "none"

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Variables of the style sheet before a theme is chosen."""
        return dict(DARK_VARIABLES)

    def compose(self) -> ComposeResult:
        """The count of jobs, the jobs or one report, the keys."""
        yield Line(id="head")
        yield OptionList(id="jobs")
        with VerticalScroll(id="report"):
            yield Line(id="paper")
        yield Line(id="notice")
        yield Line(id="foot")

    def on_mount(self) -> None:
        """Look at once, then every second."""
        for theme in THEMES.values():
            self.register_theme(theme)
        self.theme = self._first_theme
        self.action_jobs()
        self.refresh_cards()
        self.set_interval(LOOK_EVERY, self.refresh_cards)

    def on_resize(self) -> None:
        """Bars are as wide as there is room for."""
        self.refresh_cards()

    def refresh_cards(self) -> None:
        """Draw what has changed since the last look."""
        self.cards = self.look()
        new = [(card.name, card_text(card, self.size.width, self.signs)) for card in self.cards]
        if new == self._shown:
            return
        before = self._shown or []
        jobs = self.query_one("#jobs", OptionList)
        if [name for name, _ in new] == [name for name, _ in before]:
            for at, (row, old) in enumerate(zip(new, before, strict=True)):
                if row != old:
                    jobs.replace_option_prompt_at_index(at, row[1])
        else:
            chosen = self._chosen()
            jobs.clear_options()
            jobs.add_options(Option(text) for _, text in new)
            names = [name for name, _ in new]
            jobs.highlighted = names.index(chosen) if chosen in names else 0 if names else None
        self._shown = new
        busy = sum(1 for card in self.cards if card.place.startswith("STEP"))
        wrong = sum(1 for card in self.cards if not card.good or card.flags)
        count = f"{len(new)} jobs, {busy} open, {wrong} with something not in order"
        self.query_one("#head", Line).show(count if new else "No jobs in this record.", len(count))

    def _chosen(self) -> str:
        at = self.query_one("#jobs", OptionList).highlighted
        return self._shown[at][0] if self._shown and at is not None and at < len(self._shown) else ""

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Open the report of the chosen job."""
        name = self._chosen()
        self.query_one("#paper", Line).show(written(self.report(name), self.signs))
        self._turn_to("report", REPORT_LINE)
        self.query_one("#report", VerticalScroll).scroll_home(animate=False)

    def _turn_to(self, wanted: str, keys: str) -> None:
        for name in ("jobs", "report"):
            self.query_one(f"#{name}").display = name == wanted
        self.query_one(f"#{wanted}").focus()
        self.query_one("#foot", Line).show(keys)
        self.query_one("#notice", Line).show("")

    def action_jobs(self) -> None:
        """Back to the jobs."""
        self._turn_to("jobs", KEYS_LINE)

    def action_page(self) -> None:
        """Write the page of the chosen job."""
        name = self._chosen()
        if name:
            self.query_one("#notice", Line).show(f"Written: {self.write_page(name)}")

    def action_shade(self) -> None:
        """The next theme."""
        self.theme = after(self.theme)

    def action_leave(self) -> None:
        """End; nothing is changed by looking."""
        self.exit()
