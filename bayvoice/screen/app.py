"""The screen: draws states it is given from another thread, hands back words. Knows neither edges nor store."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, ItemGrid, Vertical, VerticalScroll
from textual.events import Event, Resize
from textual.events import Key as KeyPressed
from textual.message import Message
from textual.suggester import SuggestFromList
from textual.timer import Timer

from bayvoice.dialogue.engine.state import Alert, HeardLine, Mode, State
from bayvoice.dialogue.session import TABLE
from bayvoice.language.sayable import Sayable
from bayvoice.screen import keys
from bayvoice.screen.mailbox import Mailbox
from bayvoice.screen.parts import BoltPicture, Centre, KeyButton, Large, Line, Stack, Waits, WordsLine, level_picture
from bayvoice.screen.shades import DARK_VARIABLES, THEMES, after
from bayvoice.screen.signs import Signs, signs_for, written
from bayvoice.screen.view import View, phrase_rows, view

LEVEL_EVERY = 0.2
"""Seconds between two drawings of the level: more often would cost without telling more."""
LEVEL_CELLS = 10
BLINK_EVERY = 0.5
"""Seconds between two changes of a blinking alert: one flash a second, where WCAG 2 (2.3.1) allows three."""
LEAVE_KEYS = ("ctrl+q", "ctrl+c")


class BayScreen(App[None]):
    """A view of one job.

    Args:
        on_words: given the words that were typed, without `on_key` also those that a key or click stands for. Called in
            the screen's thread.
        on_key: given the words that a key or click stands for, where they are to be told from typed ones.
        on_quit: called when the user asks to leave; the screen itself stays until `close`.
        start: called once the screen can be seen; starts whatever will call `show`.
        clock: present mono time, as in `State.now`; without one the time of the last event is used.
        signs: symbols to use, by default those the terminal can show.
        sayable: what can be said in a dialogue state; shown where help is asked for.
        theme: the one to begin with, a key of `shades.THEMES`.
        blink: let alerts blink, for a place too loud to hear them in.
    """

    CSS_PATH = "bay.tcss"
    ENABLE_COMMAND_PALETTE = False
    AUTO_FOCUS = None
    TITLE = "bayvoice"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(key, "leave", "leave", show=False, priority=True) for key in LEAVE_KEYS
    ]

    class Arrived(Message):
        """Something lies in a mailbox."""

    class Done(Message):
        """There is nothing more to show."""

    def __init__(
        self,
        on_words: Callable[[str], None],
        on_quit: Callable[[], None],
        start: Callable[[BayScreen], None] | None = None,
        clock: Callable[[], float] | None = None,
        signs: Signs | None = None,
        sayable: Callable[[str], Sequence[Sayable]] | None = None,
        theme: str = "dark",
        blink: bool = False,
        on_key: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__()
        self.on_words = on_words
        self.on_key = on_key or on_words
        self.on_quit = on_quit
        self.signs = signs or signs_for(sys.__stdout__.encoding if sys.__stdout__ else None, os.environ)
        self.drawn = 0
        self.state: State | None = None
        self._start = start
        self._clock = clock
        self._first_theme = THEMES[theme].name
        self._blinks = blink
        self._sayable = sayable
        self._helped: HeardLine | None = None
        self._mounted_once = False
        self._asked_to_leave = False
        self._left = False
        self._answered: tuple[Alert, ...] = ()
        self._level_rests = False
        self._ears: tuple[float | None, str] | None = None
        self._states: Mailbox[State] = Mailbox(self._tell)
        self._levels: Mailbox[tuple[float | None, str]] = Mailbox(self._tell)
        self._tick: Timer | None = None
        self._blinker: Timer | None = None
        self.animation_level = "none"

    # from any thread

    def show(self, state: State) -> None:
        """Draw `state` soon; states overtaken before they could be drawn are left out. Any thread."""
        self._states.put(state)

    def show_level(self, db: float | None, ears_state: str) -> None:
        """Show the microphone's level (dB of full scale, None if there is none) and what the ears do. Any thread."""
        self._levels.put((db, ears_state))

    def close(self) -> None:
        """End the screen. Any thread."""
        if self._mounted_once:
            with contextlib.suppress(RuntimeError):
                self.post_message(self.Done())

    def _tell(self) -> None:
        if self._mounted_once:
            # the loop may have ended between the two lines; then nobody looks any more
            with contextlib.suppress(RuntimeError):
                self.post_message(self.Arrived())

    # building

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Variables of the style sheet before a theme is chosen."""
        return dict(DARK_VARIABLES)

    def compose(self) -> ComposeResult:
        """From top to bottom: where I am, what is wrong, the step with its surroundings, what was heard, keys."""
        with Horizontal(id="head"):
            yield Line(id="title")
            yield Line(id="place")
        yield Stack(id="troubles")
        yield Stack(id="alerts")
        with VerticalScroll(id="sayable", can_focus=False):
            yield Stack(id="phrases")
        with Vertical(id="body"):
            with Vertical(id="main"):
                with Centre(id="centre"):
                    yield Stack(id="cautions")
                    yield Line(id="lead")
                    yield Large(self.signs, id="step")
                    yield Stack(id="detail")
                yield Line(id="expected")
            with VerticalScroll(id="side", can_focus=False):
                yield BoltPicture(self.signs, id="bolts")
                yield Waits(self.signs, id="waits")
                yield Stack(id="inside")
                yield Stack(id="readings")
        with Horizontal(id="hearing"):
            yield Line(id="heard")
            yield Line(id="ears")
        yield Line(id="said")
        yield Line(id="after")
        yield Line(id="notice")
        yield WordsLine()
        with ItemGrid(id="keys", min_column_width=13, stretch_height=False):
            for key in keys.buttons():
                yield KeyButton.of(key, self.signs)
            yield KeyButton(keys.TYPE, keys.TYPE, "type", self.signs)
            yield KeyButton(keys.SHADE, keys.SHADE, "shade", self.signs)
            yield KeyButton(keys.QUIT, keys.QUIT, "leave", self.signs)

    def on_mount(self) -> None:
        """Take what has already been put, then start the job."""
        for theme in THEMES.values():
            self.register_theme(theme)
        self.theme = self._first_theme
        self._tick = self.set_interval(1.0, self._move, pause=True)
        self._blinker = self.set_interval(BLINK_EVERY, self._blink, pause=True)
        self._mounted_once = True
        self._take()
        if self._start is not None:
            self._start(self)

    def on_resize(self, event: Resize) -> None:
        """Portrait puts the waits below the step; a tall terminal has room for buttons an elbow can hit."""
        width, height = event.size
        self.screen.set_class(width < 2 * height or width < 70, "upright")
        self.screen.set_class(height >= 36, "roomy")
        self.screen.set_class(not self.signs.large, "plain")
        self._show_help(False)
        self.query_one(ItemGrid).min_column_width = 15 if height >= 36 else 13
        self.call_after_refresh(self._move)

    # drawing

    def on_bay_screen_arrived(self, event: Arrived) -> None:
        """Draw the newest of what has come."""
        self._take()

    def on_bay_screen_done(self, event: Done) -> None:
        """End."""
        self.exit()

    def _take(self) -> None:
        state = self._states.take()
        if state is not None:
            self._draw(state)
        if not self._level_rests:
            self._draw_level()

    def _draw(self, state: State) -> None:
        old, self.state = self.state, state
        self.drawn += 1
        shown = view(state, self.signs)
        self._draw_frame(shown)
        self._draw_centre(shown)
        self._draw_side(shown)
        self._draw_help(state)
        if old is None or old.mode is not state.mode:
            self._draw_keys(state.mode)
        if old is None or (old.talk.ended is None) != (state.talk.ended is None):
            self._draw_ears()
        self.call_after_refresh(self._settle)
        assert self._tick is not None
        (self._tick.resume if state.job.waits else self._tick.pause)()

    def _line(self, name: str, text: str, bold: int = 0) -> None:
        self.query_one(f"#{name}", Line).show(written(text, self.signs), bold)

    def _stack(self, name: str, rows: list[tuple[str, str, int]]) -> None:
        self.query_one(f"#{name}", Stack).show([(c, written(text, self.signs), bold) for c, text, bold in rows])

    def _draw_frame(self, shown: View) -> None:
        self._line("title", f"{shown.title}, {shown.sitting}" if shown.sitting else shown.title)
        self._line("place", shown.place, len(shown.place))
        bad, hurt = self.signs.bad, self.signs.hurt
        self._stack("troubles", [("trouble", f"{bad} {text}", 0) for text in shown.troubles])
        self._stack("alerts", [(tone, f"{hurt} {word}: {text}", len(word) + 2) for tone, word, text in shown.alerts])
        assert self._blinker is not None
        (self._blinker.resume if self._blinks and shown.alerts else self._blinker.pause)()
        if not shown.alerts:
            self.query_one("#alerts").remove_class("off")
        self._line("heard", f"heard  {shown.heard}", 5)
        self._line("said", f"said   {shown.said}" if shown.said else "", 4)
        self._line("after", f"then   {shown.after}" if shown.after else "", 4)

    def _draw_centre(self, shown: View) -> None:
        rows = []
        for signal, text in shown.cautions:
            # the alert symbol is for injury; NOTICE, which is about damage, goes without
            head = signal if signal == "NOTICE" else f"{self.signs.hurt} {signal}"
            rows.append((signal.lower(), f"{head}  {text}", len(head)))
        self._stack("cautions", rows)
        self._line("lead", shown.lead)
        self.query_one("#step", Large).show(written(shown.large, self.signs))
        self._stack("detail", [("", text, 0) for text in shown.detail])
        self._line("expected", f"{self.signs.now} {shown.expected}", len(shown.expected) + 2)

    def _draw_side(self, shown: View) -> None:
        self._move()
        self.query_one(BoltPicture).show(shown.bolts, shown.pattern)
        self._stack("inside", [("", text, 0 if text.startswith(" ") else len(text)) for text in shown.inside])
        rows = [("", text, 0) for text in shown.readings]
        self._stack("readings", [("", "logged", 6), *rows] if rows else [])
        assert self.state is not None
        self.query_one("#side").display = bool(shown.inside or rows or shown.bolts or self.state.job.waits)

    def _draw_help(self, state: State) -> None:
        """Once help was asked for, what can be said stands in the place of the step, until anything else happens."""
        heard = state.heard
        if heard is self._helped or heard is None:
            return
        self._helped = heard
        shown = heard.made == "help" and self._sayable is not None
        if shown and self._sayable is not None:
            rows = phrase_rows(state, self._sayable(state.mode))
            self._stack("phrases", [("", f"{head}{text}", len(head)) for head, text in rows])
        self._show_help(shown)

    def _show_help(self, shown: bool) -> None:
        self.query_one("#sayable").display = shown
        self.query_one("#body").display = not shown

    def _draw_keys(self, mode: str) -> None:
        live = {key.key: key for key in keys.keys_of(mode)}
        answers = {key.key for key in live.values() if key.intent in keys.answers(mode)}
        fixed = (keys.TYPE, keys.SHADE, keys.QUIT)
        for button in self.query(KeyButton):
            button.set_class(button.key in answers, "answer")
            button.display = button.key in live or button.key in fixed
            if button.key in live:
                button.name_it(live[button.key].label)

    def _move(self) -> None:
        """The waits at the present moment."""
        if self.state is not None:
            now = self._clock() if self._clock else self.state.now
            self.query_one(Waits).show(self.state.job.waits, now)

    def _blink(self) -> None:
        self.query_one("#alerts").toggle_class("off")

    def _settle(self) -> None:
        """Now that everything around the step has its size, see what is left for its letters."""
        self.query_one(Centre).settle()

    def _draw_level(self) -> None:
        level = self._levels.take()
        if level is None:
            return
        self._ears = level
        self._draw_ears()
        self._level_rests = True
        self.set_timer(LEVEL_EVERY, self._level_again)

    def _level_again(self) -> None:
        self._level_rests = False
        self._draw_level()

    def _draw_ears(self) -> None:
        db, doing = self._ears or (None, "")
        if not doing and self.state is not None and self.state.talk.ended is None:
            doing = "speaking"
        meter = "" if db is None else f" {level_picture(db, LEVEL_CELLS, self.signs)}"
        self._line("ears", f"ears {doing}{meter}" if doing or meter else "", 4)

    # input

    async def on_event(self, event: Event) -> None:
        """Keys are taken here, before anything has the focus: a burst of them is then dealt with in its own order.

        Left to the focus, the keys behind the one that opens the typed line would still be taken as commands.
        """
        if not isinstance(event, KeyPressed) or event.is_forwarded or event.key in LEAVE_KEYS:
            await super().on_event(event)
        elif self.query_one(WordsLine).display:
            self._edit(event)
        else:
            self.press(event.key)

    def _edit(self, event: KeyPressed) -> None:
        """A key while the typed line is open; it answers an alert as any other does."""
        self._answer_alert()
        line = self.query_one(WordsLine)
        if event.key == "enter":
            words = line.value.strip()
            self._close_line()
            if words:
                self.on_words(words)
        elif event.key == "escape":
            self._close_line()
        elif event.is_printable and event.character:
            line.insert_text_at_cursor(event.character)
        else:
            line.edit(event.key)

    def on_key_button_pressed(self, event: KeyButton.Pressed) -> None:
        """A click is the same as the key."""
        self._close_line()
        self.press(event.key)

    def press(self, key: str) -> None:
        """Do what the key called `key` stands for now."""
        if key == keys.QUIT:
            self._answer_alert()
            self.action_leave()
            return
        self._asked_to_leave = False
        self._line("notice", "")
        self._show_help(False)
        if self.state is None:
            return
        mode = self.state.mode
        meant = keys.key_for(mode, key)
        if meant is not None and not meant.more:
            self.on_key(meant.words)
            return
        self._answer_alert()
        if meant is not None:
            self._open_line(meant.words)
        elif key == keys.TYPE:
            self._open_line("")
        elif key in keys.DIGITS and keys.takes_value(mode):
            self._open_line(key)
        elif key == keys.SHADE:
            self.theme = after(self.theme)

    def _answer_alert(self) -> None:
        """Any key answers an alert; keys that send no words of their own send "stop"."""
        state = self.state
        if state is None or not state.alerts or state.alerts is self._answered or (state.mode, "stop") not in TABLE:
            return
        # the state without the alert is still to come; one answer is enough until then
        self._answered = state.alerts
        self.on_words("stop")

    def action_leave(self) -> None:
        """Leave on the second time of asking; a third time does not wait for the job's thread."""
        if self._left:
            self.exit()
        elif self._asked_to_leave:
            self._left = True
            self._line("notice", "Leaving. The job is kept.")
            self.on_quit()
        else:
            self._asked_to_leave = True
            self._line("notice", f"Leave? The job is kept. Press {keys.QUIT} once more, or any other key to stay.")

    def _open_line(self, beginning: str) -> None:
        line = self.query_one(WordsLine)
        assert self.state is not None
        line.suggester = SuggestFromList(_suggestions(self.state), case_sensitive=False)
        line.display = True
        line.password = self.state.mode is Mode.CODE
        line.value = beginning
        line.cursor_position = len(beginning)
        self.set_focus(line)
        self._line("notice", "Type the words or the value. Enter sends, Escape leaves it.")

    def _close_line(self) -> None:
        line = self.query_one(WordsLine)
        if line.display:
            line.value = ""
            line.display = False
            self.set_focus(None)
            self._line("notice", "")


def _suggestions(state: State) -> list[str]:
    """Whole utterances that what is being typed may become."""
    things = [f"count {way} {thing}" for way in ("in", "out") for thing in state.job.procedure.things()]
    names = dict.fromkeys(r.name for r in reversed(state.job.readings))
    return [*things, *(f"sign {person}" for person in state.people), *(f"correct {name} " for name in names)]
