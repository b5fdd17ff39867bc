"""The screen on which a job is chosen: numbered lines; a number, a click or a spoken number picks one."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import ClassVar, Final

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Click, Key
from textual.message import Message
from textual.widgets import Static

from bayvoice.dialogue.flow.choosing import Choice, Choosing, ChoosingMode
from bayvoice.screen.mailbox import Mailbox
from bayvoice.screen.parts import Line, level_picture
from bayvoice.screen.shades import DARK_VARIABLES, THEMES, after
from bayvoice.screen.signs import Signs, signs_for, written
from bayvoice.screen.view import heard_text

WORDS: Final = {"y": "yes", "x": "no", "r": "repeat", "h": "help", "s": "stop", "escape": "stop"}
"""Key -> the words it stands for, as on the screen of a job."""
FOOT: Final = "a number picks   y yes   x no   r repeat   h help   s stop   l shade   f9 leave"


def choice_text(number: int, choice: Choice, signs: Signs) -> Content:
    """A line of the list: the number, the title, and where an open job stands."""
    head = f"{number:>3}  {choice.title}"
    below = f"     {signs.now} open: {choice.job}, {choice.place}, {choice.by}" if choice.job else "     new job"
    return Content(written(f"{head}\n{below}", signs)).stylize("bold", 0, len(written(head, signs)))


class ChoiceLine(Static):
    """One choice; a click picks it."""

    class Picked(Message):
        """The line was clicked."""

        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    def __init__(self, number: int, choice: Choice, signs: Signs) -> None:
        super().__init__(choice_text(number, choice, signs), markup=False)
        self.number = number

    def on_click(self, event: Click) -> None:
        """Hand the number on."""
        event.stop()
        self.post_message(self.Picked(self.number))


class ChooserScreen(App[None]):
    """A view of choosing a job.

    Args:
        on_words: given the words that a key, a click or typed figures stand for. Called in the screen's thread.
        on_quit: called when the user asks to leave.
        start: called once the screen can be seen; starts whatever will call `show`.
        signs: symbols to use, by default those the terminal can show.
        theme: a key of `shades.THEMES`.
    """

    CSS_PATH = "chooser.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "bayvoice"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9,ctrl+q,ctrl+c", "leave", show=False, priority=True),
        Binding("l", "shade", show=False),
    ]

    class Arrived(Message):
        """Something lies in a mailbox."""

    class Done(Message):
        """There is nothing more to show."""

    def __init__(
        self,
        on_words: Callable[[str], None],
        on_quit: Callable[[], None],
        start: Callable[[ChooserScreen], None] | None = None,
        signs: Signs | None = None,
        theme: str = "dark",
    ) -> None:
        super().__init__()
        self.on_words = on_words
        self.on_quit = on_quit
        self.signs = signs or signs_for(sys.__stdout__.encoding if sys.__stdout__ else None, os.environ)
        self.state: Choosing | None = None
        self._start = start
        self._first_theme = THEMES[theme].name
        self._figures = ""
        self._mounted_once = False
        self._states: Mailbox[Choosing] = Mailbox(self._tell)
        self._levels: Mailbox[tuple[float | None, str]] = Mailbox(self._tell)
        self.animation_level = "none"

    # from any thread

    def show(self, state: Choosing) -> None:
        """Draw `state` soon. Any thread."""
        self._states.put(state)

    def show_level(self, db: float | None, ears_state: str) -> None:
        """Show the microphone's level and what the ears do. Any thread."""
        self._levels.put((db, ears_state))

    def close(self) -> None:
        """End the screen. Any thread."""
        if self._mounted_once:
            self.post_message(self.Done())

    def _tell(self) -> None:
        if self._mounted_once:
            self.post_message(self.Arrived())

    # drawing

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Variables of the style sheet before a theme is chosen."""
        return dict(DARK_VARIABLES)

    def compose(self) -> ComposeResult:
        """The choices, what is expected, what was heard and said, the keys."""
        yield Line(id="head")
        yield Line(id="troubles")
        yield VerticalScroll(id="choices")
        yield Line(id="expected")
        yield Line(id="heard")
        yield Line(id="said")
        yield Line(id="ears")
        yield Line(id="foot")

    def on_mount(self) -> None:
        """Take what has already been put, then start."""
        for theme in THEMES.values():
            self.register_theme(theme)
        self.theme = self._first_theme
        self.query_one("#head", Line).show("Choose a job", 12)
        self.query_one("#foot", Line).show(FOOT)
        self._mounted_once = True
        self._take()
        if self._start is not None:
            self._start(self)

    def on_chooser_screen_arrived(self) -> None:
        """Draw the newest of what has come."""
        self._take()

    def on_chooser_screen_done(self) -> None:
        """End."""
        self.exit()

    def _take(self) -> None:
        level = self._levels.take()
        if level is not None:
            db, doing = level
            meter = "" if db is None else f" {level_picture(db, 10, self.signs)}"
            self._line("ears", f"ears {doing}{meter}", 4)
        state = self._states.take()
        if state is not None:
            self._draw(state)

    def _line(self, name: str, text: str, bold: int = 0) -> None:
        self.query_one(f"#{name}", Line).show(written(text, self.signs), bold)

    def _draw(self, state: Choosing) -> None:
        old, self.state = self.state, state
        choices = self.query_one("#choices", VerticalScroll)
        if old is None or old.choices != state.choices:
            choices.remove_children()
            choices.mount_all(ChoiceLine(n, choice, self.signs) for n, choice in enumerate(state.choices, 1))
            self.call_after_refresh(self._mark)
        self._mark()
        text = state.wording.text
        asks = state.mode is ChoosingMode.CHOOSE
        self._line("expected", f"{self.signs.now} {text('expect_choose' if asks else 'expect_chosen')}", 60)
        self._line("heard", f"heard  {heard_text(state.heard, self.signs)}", 5)
        self._line("said", f"said   {state.last_said}" if state.last_said else "", 4)
        self._line("troubles", "\n".join(f"{self.signs.bad} {what}. {mend}." for _, what, mend in state.troubles))

    def _mark(self) -> None:
        state = self.state
        for line in self.query(ChoiceLine):
            picked = state is not None and state.picked is not None and state.choices[line.number - 1] is state.picked
            line.set_class(picked, "picked")
            if picked:
                line.scroll_visible(animate=False)

    # input

    def on_choice_line_picked(self, event: ChoiceLine.Picked) -> None:
        """A click on a line picks it; on the picked one it confirms."""
        state = self.state
        if state is None:
            return
        if state.picked is not None and state.choices[event.number - 1] is state.picked:
            self.on_words("yes")
            return
        if state.picked is not None:
            self.on_words("no")
        self.on_words(str(event.number))

    def on_key(self, event: Key) -> None:
        """Figures pick; other keys stand for words."""
        if event.key.isdecimal():
            self._figures += event.key
            if self.state is not None and len(self._figures) >= len(str(len(self.state.choices))):
                self._send_figures()
        elif event.key == "enter":
            self._send_figures()
        elif event.key in WORDS:
            self._figures = ""
            self.on_words(WORDS[event.key])

    def _send_figures(self) -> None:
        if self._figures:
            self.on_words(self._figures)
            self._figures = ""

    def action_shade(self) -> None:
        """The next theme."""
        self.theme = after(self.theme)

    def action_leave(self) -> None:
        """Leave without a job."""
        self.on_quit()
