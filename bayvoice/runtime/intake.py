"""What comes in by ear or by hand, as events: words, meanings, and codes that nobody else gets to see."""

from __future__ import annotations

import re
import sys
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final, Protocol, TextIO

from bayvoice.dialogue.engine.asked import CodeAsked
from bayvoice.dialogue.engine.events import Event, Heard, Left, Mended, Trouble, Typed
from bayvoice.ears.listener import Utterance
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.errors import BayError, sentence
from bayvoice.language import units
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import DIGITS, to_words
from bayvoice.runtime.inbox import Clock, Inbox, Maker

# A number, perhaps with a unit; not the figures of a part number ("K40-7-030", "2041-7").
_NUMBER: Final = re.compile(r"(?<![\w./-])([+-]?)(\d+(?:\.\d+)?|\.\d+)(?![-/.]?\d|[-/]\w)\s*([^\s\d]\S*)?")
HIDDEN: Final = "***"
"""What stands for each figure of a code, wherever words are shown or kept."""
_FIGURES: Final = frozenset((*DIGITS, "oh", "double", "triple"))


class Door(Protocol):
    """What compares codes: the bay's record while somebody works, or people who are only given."""

    def verdict(self, who: str, code: str) -> str:
        """ "right", "wrong", or "wait 12": codes of `who`, a name or role, are not compared for 12 s yet."""
        ...


def shield(
    door: Door, pending: object, words: tuple[str, ...], intent: Intent | None
) -> tuple[tuple[str, ...], Intent | None]:
    """Words and intent without a code: its figures hidden, its slot what `door` says of it.

    Also of an utterance that was refused nothing is shown that may be a code. `pending`: the question that is open.
    """
    asked = pending if isinstance(pending, CodeAsked) else None
    naming = intent is not None and intent.name in ("sign", "name")
    signing = asked is not None or naming or any(word in words for word in ("sign", "code", "allowed"))
    if not signing:
        return words, intent
    hidden = tuple(HIDDEN if _figure(word) else word for word in words)
    code = intent.slot("code") if intent is not None else None
    if intent is None or code is None:
        return hidden, intent
    who = asked.who if asked is not None else intent.slot("who") or ""
    verdict = door.verdict(who, code)
    slots = tuple((key, verdict if key == "code" else value) for key, value in intent.slots)
    return hidden, replace(intent, slots=slots)


def _figure(word: str) -> bool:
    return word.lower() in _FIGURES or any(c.isdigit() for c in word)


def spelled(text: str, pending: object) -> str:
    """A typed line with the figures of a code one by one, as they are said; a code may be typed without the word."""
    if isinstance(pending, CodeAsked) and re.fullmatch(r"\s*\d+\s*", text):
        text = f"code {text.strip()}"
    if not re.match(r"\s*(sign|code)\b", text, re.IGNORECASE):
        return text
    return re.sub(r"\d", lambda found: f" {DIGITS[int(found[0])]} ", text)


def words_of(text: str) -> tuple[str, ...]:
    """Typed text as spoken words: lower case, figures and unit symbols written out ("32.5 N.m")."""
    return tuple(_NUMBER.sub(_said, text.strip()).lower().replace(",", " ").replace(": ", " ").split())


def written_intent(text: str, state: str) -> Intent | None:
    """What only typing can say, because it holds words or figures no grammar has.

    "note", and "note …", which keeps its text; "found foreign part …" keeps what it is; where a reason is wanted
    (dialogue state "reason") "another reason …", which keeps it; where a shelf life is wanted (dialogue state "expiry")
    a month as it is printed: "2027-03", "03/2027", "March 2027".
    """
    line = text.strip()
    if found := re.fullmatch(r"note(?:[\s:]+(.*))?", line, re.IGNORECASE | re.DOTALL):
        return Intent("note", slots=(("text", found[1].strip()),)) if found[1] else Intent("note")
    if found := re.match(r"found[\s:]+foreign part[\s:,]+(.+)", line, re.IGNORECASE | re.DOTALL):
        return Intent("found", slots=(("text", found[1].strip()), ("what", "foreign part")))
    if state == "reason" and (found := re.match(r"another reason[\s:,]+(.+)", line, re.IGNORECASE | re.DOTALL)):
        return Intent("skip", slots=(("reason", "another reason"), ("text", found[1].strip())))
    if state == "expiry":
        if found := re.fullmatch(r"(20\d\d)-(\d{1,2})", line):
            return Intent("expires", slots=(("month", found[2]), ("year", found[1])))
        if found := re.fullmatch(r"(\d{1,2}|[a-z]+)[\s/.]+(20\d\d)", line, re.IGNORECASE):
            return Intent("expires", slots=(("month", found[1].lower()), ("year", found[2])))
    return None


def _said(found: re.Match[str]) -> str:
    sign, digits, symbol = found.groups()
    said = to_words(Decimal(("-" if sign == "-" else "") + digits))
    if not symbol:
        return said
    code = units.by_sign(symbol)
    return f"{said} {units.spoken(code, True)}" if code else f"{said} {symbol}"


class Intake:
    """Makes events of what was heard and typed, in the grammar and the question of the moment at which they are made.

    Each method gives a `Maker`: it is called with the core's state by the loop that owns that state, so whoever has
    something to hand in needs to know nothing of it.

    Args:
        clock: stamps the events.
        grammars: what typed words may mean.
        door: compares codes.
    """

    def __init__(self, clock: Clock, grammars: Grammars, door: Door) -> None:
        self._clock, self._grammars, self._door = clock, grammars, door

    def heard(self, found: Utterance) -> Maker:
        """An utterance; the listener counts in the clock's mono time."""
        hearing = found.hearing

        def make(state: Any) -> tuple[Event, ...]:
            words, intent, troubles = self._shielded(state, hearing.words, found.intent)
            event = Heard(
                at=self._clock.now(),
                words=words,
                intent=intent,
                engine=hearing.engine,
                margin=hearing.margin,
                began=found.began_s,
                ended=found.ended_s,
                why=found.why,
                sure=hearing.sure,
                state=found.state,
            )
            return event, *troubles

        return make

    def sound(self, news: SoundTrouble | SoundMended) -> Maker:
        """News of the sound itself."""
        if isinstance(news, SoundTrouble):
            return self.trouble(news.part, news.what, news.mend)
        return self.mended(news.part)

    def trouble(self, part: str, what: str, mend: str) -> Maker:
        """Something at the edge does not work; `what` and `mend` as in `BayError`."""
        return lambda _: (Trouble(self._clock.now(), part, sentence(what), sentence(mend)),)

    def mended(self, part: str) -> Maker:
        """It works again."""
        return lambda _: (Mended(self._clock.now(), part),)

    def left(self, why: str) -> Maker:
        """Somebody ends the sitting."""
        return lambda _: (Left(self._clock.now(), why),)

    def typed(self, text: str, key: bool = False) -> Maker:
        """A typed line, or what a `key` stands for, or words only typing can say."""

        def make(state: Any) -> tuple[Event, ...]:
            mode = str(state.mode)
            written = written_intent(text, mode)
            if written is not None:
                return (Typed(self._clock.now(), tuple(text.split()), written, key),)
            line = spelled(text, _pending(state))
            words = words_of(line)
            grammar = self._grammars.state(mode)
            # As it stands, figures may be those of a part number.
            meant = grammar.match(words, spoken=False) or grammar.match(line.split(), spoken=False)
            shown, intent, troubles = self._shielded(state, words, meant)
            return Typed(self._clock.now(), shown, intent, key), *troubles

        return make

    def _shielded(
        self, state: Any, words: tuple[str, ...], intent: Intent | None
    ) -> tuple[tuple[str, ...], Intent | None, tuple[Event, ...]]:
        """Words and intent without a code. One that can't be compared, because the record fails, is not right."""
        try:
            return *shield(self._door, _pending(state), words, intent), ()
        except BayError as error:
            return (HIDDEN,), None, self.trouble("store", error.what, error.mend)(state)


def _pending(state: object) -> object:
    """The question that is open; while a job is chosen there is none."""
    return getattr(state, "pending", None)


class Hands:
    """What is done by hand, on its way to the loop. Any thread.

    Args:
        inbox: takes it.
        intake: makes events of it.
    """

    def __init__(self, inbox: Inbox, intake: Intake) -> None:
        self._inbox, self._intake = inbox, intake

    def type(self, text: str) -> None:
        """Typed words."""
        self._inbox.put(self._intake.typed(text))

    def key(self, text: str) -> None:
        """What a key or a click stands for."""
        self._inbox.put(self._intake.typed(text, key=True))

    def leave(self, why: str) -> None:
        """End the sitting."""
        self._inbox.put(self._intake.left(why))

    def line_from(self, take: Callable[[], str | None]) -> None:
        """A line that `take` gives once the loop has come to it; None for the end of all lines."""

        def make(state: Any) -> tuple[Event, ...]:
            line = take()
            made = self._intake.left("the typed words have ended") if line is None else self._intake.typed(line)
            return made(state)

        self._inbox.put(make)


class Keyboard:
    """Lines of standard input, for one sitting after the other: two readers would take each other's lines.

    A line that a sitting did not come to before it was over is the next sitting's.

    Args:
        source: where the lines come from, by default standard input.
    """

    def __init__(self, source: TextIO | None = None) -> None:
        self._source = sys.stdin if source is None else source
        self._lock = threading.Lock()
        self._waiting: deque[str | None] = deque()
        self._served: Hands | None = None

    def serve(self, hands: Hands) -> None:
        """From now on lines go to `hands`; the first call begins to read."""
        with self._lock:
            first, self._served = self._served is None, hands
            for _ in self._waiting:
                hands.line_from(self._next)
        if first:
            threading.Thread(target=self._read, name="typed", daemon=True).start()

    def _read(self) -> None:
        try:
            for line in self._source:
                if line.strip():
                    self._came(line.strip())
        except (ValueError, OSError):
            pass  # the stream was closed under the reader
        self._came(None)

    def _came(self, line: str | None) -> None:
        with self._lock:
            self._waiting.append(line)
            assert self._served is not None, "nobody reads before somebody is served"
            self._served.line_from(self._next)

    def _next(self) -> str | None:
        with self._lock:
            return self._waiting.popleft()
