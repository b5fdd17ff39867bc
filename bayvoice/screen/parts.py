"""The pieces of the screen. Each is given what it should show and redraws only if that is different from before."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import RenderResult
from textual.containers import Vertical
from textual.content import Content
from textual.events import Click, Resize
from textual.geometry import Size
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from bayvoice.job.job import Running
from bayvoice.screen.bars import Bar, bar
from bayvoice.screen.bolts import NOW, Mark, Placed, placed
from bayvoice.screen.keys import Key
from bayvoice.screen.letters import large
from bayvoice.screen.signs import UNICODE, Signs, written

VERDICT_CLASSES = ("not-yet", "may-go-on", "running", "soon-over", "too-late")


class Line(Static):
    """Text that is hidden while it is empty."""

    def __init__(self, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - Textual's name
        super().__init__("", id=id, classes=classes, markup=False)
        self.shown = ""
        self.display = False

    def show(self, text: str, bold: int = 0) -> None:
        """Show `text`, its first `bold` characters bold."""
        if text == self.shown:
            return
        self.shown = text
        self.display = bool(text)
        self.update(Content(text).stylize("bold", 0, bold) if bold else Content(text))


class Stack(Vertical):
    """As many lines as are needed, each with a class of its own."""

    def show(self, rows: Sequence[tuple[str, str, int]]) -> None:
        """Show (class, text, how many characters are bold) one below the other."""
        lines = list(self.query_children(Line))
        for _ in range(len(rows) - len(lines)):
            line = Line()
            lines.append(line)
            self.mount(line)
        for line, row in zip(lines, [*rows, *[("", "", 0)] * len(lines)], strict=False):
            name, text, bold = row
            line.set_classes(name)
            line.show(text, bold)
        self.display = bool(rows)


class Large(Widget):
    """A sentence in the largest letters that fit, else bold."""

    def __init__(self, signs: Signs, id: str) -> None:  # noqa: A002 - Textual's name
        super().__init__(id=id)
        self.signs = signs
        self.shown = ""

    def show(self, text: str) -> None:
        """Show `text`."""
        if text != self.shown:
            self.shown = text
            self.refresh(layout=True)

    def settle(self, rows: int) -> None:
        """Take all of `rows` rows for large letters, or only what plain text needs where they do not fit."""
        fits = self.signs.large and bool(large(self.shown, self.content_size.width, rows - self.gutter.height))
        self.set_class(fits, "large")

    @property
    def drawing(self) -> tuple[str, ...]:
        """The rows of block characters, none where plain text is shown."""
        if not self.has_class("large"):
            return ()
        return large(self.shown, self.content_size.width, self.content_size.height)

    def render(self) -> RenderResult:
        """Block letters or bold text."""
        rows = self.drawing
        return Content("\n".join(rows)) if rows else Content(self.shown).stylize("bold")


class Centre(Vertical):
    """The step and what surrounds it; gives its `Large` the rows that the rest leaves."""

    def on_resize(self, event: Resize) -> None:
        """Everything in here has its new size already."""
        self.settle()

    def settle(self) -> None:
        """See what is left for the large letters."""
        for step in self.query_children(Large):
            taken = sum(child.outer_size.height for child in self.children if child.display and child is not step)
            step.settle(self.size.height - taken)


class BoltPicture(Widget):
    """The fasteners of the step where they sit; the one to be turned now stands out."""

    HIGHEST = 11

    def __init__(self, signs: Signs, id: str) -> None:  # noqa: A002 - Textual's name
        super().__init__(id=id)
        self.signs = signs
        self.marks: tuple[Mark, ...] = ()
        self.pattern = ("list", 0)
        self.display = False

    def show(self, marks: tuple[Mark, ...], pattern: tuple[str, int]) -> None:
        """Show `marks`, in the order in which they are taken, in their `pattern` (see `bolts.placed`)."""
        if (marks, pattern) != (self.marks, self.pattern):
            self.marks, self.pattern = marks, pattern
            self.display = bool(marks)
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as the picture takes."""
        return max((one.row for one in self._placed(width)), default=-1) + 1

    def _placed(self, width: int) -> list[Placed]:
        return placed(self.marks, *self.pattern, width, self.HIGHEST, self.signs)

    def render(self) -> RenderResult:
        """Each fastener at its place."""
        found = self._placed(self.content_size.width)
        one_by_one = sum(mark.state == NOW for mark in self.marks) == 1
        text = Content("")
        row = column = 0
        for one in sorted(found, key=lambda one: (one.row, one.column)):
            if one.row > row:
                text += Content("\n" * (one.row - row))
                row, column = one.row, 0
            shown = one.text.rstrip()
            piece = Content(shown).stylize("bold reverse") if one_by_one and one.mark.state == NOW else Content(shown)
            text += Content(" " * (one.column - column)) + piece
            column = one.column + len(shown)
        return text


class WaitRow(Widget):
    """One running wait."""

    def __init__(self, signs: Signs) -> None:
        super().__init__()
        self.signs = signs
        self.bar: Bar | None = None
        self._at: tuple[Running, float] | None = None

    def show(self, wait: Running | None, now: float) -> None:
        """Show `wait` as it stands at mono time `now`; None hides the row."""
        self._at = (wait, now) if wait else None
        new = self._bar()
        if new == self.bar:
            return
        verdict = new.verdict.replace(" ", "-") if new else ""
        for name in VERDICT_CLASSES:
            self.set_class(name == verdict, name)
        lines = _count(self.bar)
        self.bar = new
        self.display = new is not None
        self.refresh(layout=lines != _count(new))

    def _bar(self) -> Bar | None:
        return bar(*self._at, self.content_size.width or 20, self.signs) if self._at else None

    @property
    def text(self) -> str:
        """What the row says, the bar left out."""
        return "\n".join((self.bar.name, self.bar.word, self.bar.numbers)) if self.bar else ""

    def render(self) -> RenderResult:
        """Name, what it means now, the bar, the limits."""
        # made anew, since the width may have changed since `show`
        shown = self._bar()
        if shown is None:
            return ""
        lines = (shown.name, shown.word, shown.picture, shown.numbers)
        text = "\n".join(written(line, self.signs) for line in lines)
        bold_to = len(lines[0]) + 1 + len(lines[1])
        return Content(text).stylize("bold", len(lines[0]) + 1, bold_to)


def _count(shown: Bar | None) -> int:
    """What the height of a row depends on."""
    return 0 if shown is None else len(shown.word) + 1000 * len(shown.numbers) + 1


class Waits(Vertical):
    """All running waits."""

    def __init__(self, signs: Signs, id: str) -> None:  # noqa: A002 - Textual's name
        super().__init__(id=id)
        self.signs = signs
        self.display = False

    def show(self, waits: Sequence[Running], now: float) -> None:
        """Show `waits` as they stand at mono time `now`."""
        rows = list(self.query_children(WaitRow))
        for _ in range(len(waits) - len(rows)):
            row = WaitRow(self.signs)
            rows.append(row)
            self.mount(row)
        for at, row in enumerate(rows):
            row.show(waits[at] if at < len(waits) else None, now)
        self.display = bool(waits)


class KeyButton(Static):
    """A key and what it stands for; a click on it is the same as the key."""

    class Pressed(Message):
        """The button was clicked. `key`: name of the key it stands for."""

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    def __init__(self, key: str, shown: str, label: str, signs: Signs) -> None:
        super().__init__(markup=False)
        self.key = key
        self._shown = shown
        self._signs = signs
        self.label = ""
        self.name_it(label)

    @classmethod
    def of(cls, key: Key, signs: Signs) -> KeyButton:
        """The button of an intent's key."""
        return cls(key.key, key.key, key.label, signs)

    def name_it(self, label: str) -> None:
        """Change what the button says."""
        if label != self.label:
            self.label = label
            text = f" {self._shown}  {written(label, self._signs)}"
            self.update(Content(text).stylize("bold reverse", 0, len(self._shown) + 2))

    def on_click(self, event: Click) -> None:
        """Hand the key on."""
        event.stop()
        self.post_message(self.Pressed(self.key))


class WordsLine(Input):
    """The line for typed words."""

    def __init__(self) -> None:
        super().__init__(id="typed", select_on_focus=False)
        self.cursor_blink = False
        self.display = False

    def edit(self, key: str) -> None:
        """Do what an editing key does; others are ignored. To the right of the end a suggestion is taken."""
        match key:
            case "backspace" | "ctrl+h":
                self.action_delete_left()
            case "delete":
                self.action_delete_right()
            case "ctrl+u":
                self.action_delete_left_all()
            case "left":
                self.action_cursor_left()
            case "right" | "tab":
                self.action_cursor_right()
            case "home":
                self.action_home()
            case "end":
                self.action_end()


def level_picture(db: float, cells: int, signs: Signs = UNICODE) -> str:
    """A level from -60 dB (empty) to 0 dB of full scale as `cells` cells."""
    filled = max(0, min(cells, round((db + 60) / 60 * cells)))
    return signs.full * filled + signs.empty * (cells - filled)
