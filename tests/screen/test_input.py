"""Keys, clicks and typed words: what they send, and that nothing that can be said lacks one."""

from __future__ import annotations

import pytest
from textual.events import Key
from textual.pilot import Pilot

from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.session import TABLE
from bayvoice.runtime.intake import words_of, written_intent
from bayvoice.screen.app import BayScreen
from bayvoice.screen.keys import DIGITS, KEYS, QUIT, SHADE, TYPE, key_for, keys_of
from bayvoice.screen.parts import KeyButton, WordsLine
from bayvoice.screen.signs import UNICODE
from tests.screen.looks import text
from tests.screen.walk import Walk, in_mode, walk_to

MORE = {
    "record": "38.5 N.m",
    "sign": "Ruth",
    "count_in": "two rag",
    "count_out": "rag",
    "correct": "38.5",
    "note": "",
    "skip": "not needed",
    "name": "Ruth",
    "searched": "Kofi",
    "spell": "four oh two",
    "expires": "march twenty twenty seven",
    "found": "foreign part",
    "hand_over": "Dalia",
    "pick": "first",
    "reckon": "torque 59 lbf.ft",
    "started": "two minutes ago",
    "restart": "the wait",
    "extend": "two minutes",
    "cancel": "the wait",
    "choose": "two",
}
"""What a person types after the words a key opens the line with."""


class Desk:
    """A screen with a job behind it, as the hub would join them; `sent` is what the screen handed back."""

    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.sent: list[str] = []
        self.left = 0
        self.app = BayScreen(
            self._words,
            self._leave,
            clock=lambda: walk.mono,
            signs=UNICODE,
            sayable=lambda mode: walk.grammars.state(mode).sayable(),
        )
        self.app.show(walk.state)

    def _words(self, words: str) -> None:
        self.sent.append(words)
        self.app.show(self.walk.type(words))

    def _leave(self) -> None:
        self.left += 1


def walk_mode(desk: Desk) -> str:
    """The dialogue state the job is in now."""
    return desk.walk.state.mode


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Press keys and wait until what they led to is drawn."""
    await pilot.press(*keys)
    await pilot.pause()
    await pilot.pause()


def test_every_intent_has_one_key_and_no_key_two_meanings() -> None:
    """Nothing that can be said lacks a key; in no dialogue state does a key mean two things."""
    assert {name for _, name in TABLE} == {key.intent for key in KEYS}
    taken = [pressed for key in KEYS for pressed in (key.key, *key.also)]
    for mode in Mode:
        live = [pressed for key in keys_of(mode) for pressed in (key.key, *key.also)]
        assert len(live) == len(set(live)), mode
    assert not set(taken) & (DIGITS | {QUIT, SHADE, TYPE})
    for state, name in TABLE:
        assert [key.intent for key in keys_of(state)].count(name) == 1, (state, name)


@pytest.mark.parametrize("mode", list(Mode))
def test_keys_send_what_the_grammar_of_the_state_understands(mode: Mode) -> None:
    """The words of each key, completed where more has to be typed, mean its intent in the shipped grammar."""
    walk = in_mode(mode)
    grammar = walk.grammars.state(mode.value)
    for key in keys_of(mode):
        more = "one two three four" if mode is Mode.CODE else MORE.get(key.intent, "")
        words = key.words + (more if key.more else "")
        meant = written_intent(words, mode.value) or grammar.match(words_of(words), spoken=False)
        assert meant is not None, f"{words!r} means nothing in {mode}"
        assert meant.name == key.intent


async def test_a_key_and_a_click_do_what_the_word_does() -> None:
    """The job goes on by a key, by a second key for foot switches, and by a click."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "n")
        assert desk.walk.step == "drain"
        assert "STEP 5 OF 31" in text(desk.app)
        await press(pilot, "pageup")
        assert desk.walk.step == "pan"
        button = next(b for b in desk.app.query(KeyButton) if b.key == "n")
        await pilot.click(button)
        await pilot.pause()
        assert desk.walk.step == "drain"
        assert desk.sent == ["next", "back", "next"]


async def test_a_key_of_another_state_does_nothing() -> None:
    """No yes where nothing was asked, and keys nobody gave a meaning are ignored."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        assert key_for(Mode.STEP, "y") is None
        await press(pilot, "y", "u", "z", "f5", "5")
        assert desk.sent == []
        assert desk.walk.step == "pan"


@pytest.mark.parametrize(
    "keys",
    [("enter", *"38.5 N.m", "enter"), ("v", *"38.5", "enter"), ("3", *"8.5 N.m", "enter")],
)
async def test_a_value_can_be_typed(keys: tuple[str, ...]) -> None:
    """By the typed line, by the key for a value, or by its first digit; it is read back like a spoken one."""
    desk = Desk(in_mode(Mode.MEASURE))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *("full_stop" if k == "." else "space" if k == " " else k for k in keys))
        assert desk.walk.state.mode is Mode.CONFIRM
        assert "Not logged yet" in text(desk.app)
        assert "✓ within limits" in text(desk.app)
        await press(pilot, "y")
        assert str(desk.walk.state.job.readings[-1].value) == "38.5"


async def test_escape_leaves_the_typed_line_and_sends_nothing() -> None:
    """Letters in the line are letters, not keys; Escape closes it and keys are keys again."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", "n", "q", "n")
        line = desk.app.query_one(WordsLine)
        assert line.display
        assert line.value == "nqn"
        await press(pilot, "escape")
        assert not line.display
        assert desk.sent == []
        await press(pilot, "n")
        assert desk.sent == ["next"]


async def test_things_are_counted_by_keys() -> None:
    """The key opens the line with the words already in it; the rest is offered from the procedure."""
    desk = Desk(walk_to("count-open"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "i", "r")
        assert desk.app.query_one(WordsLine).value == "count in r"
        await press(pilot, "right", "enter")
        assert desk.sent == ["count in rag"]
        assert "1 rag" in text(desk.app)


async def test_a_step_is_left_out_by_keys() -> None:
    """Skip, yes, reason: by keys, and the reason alone is what has to be typed."""
    desk = Desk(walk_to("new-seal"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "k")
        assert walk_mode(desk) is Mode.OVERRIDE
        await press(pilot, "y")
        assert walk_mode(desk) is Mode.REASON
        await press(pilot, "k", *"part", "space", *"missing")
        await press(pilot, "enter")
        assert desk.walk.step == "new-washer"


@pytest.mark.parametrize(
    ("keys", "sent"),
    [(("z",), ["stop"]), (("s",), ["stop"]), (("n",), ["next"]), (("enter", "h"), ["stop"]), (("f9",), ["stop"])],
)
async def test_any_key_answers_an_alert(keys: tuple[str, ...], sent: list[str]) -> None:
    """A key that means something answers by its word, every other one by "stop", and only once."""
    walk = walk_to("cool-down")
    walk.type("go")
    walk.later(125.0)
    assert walk.state.alerts
    desk = Desk(walk)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "TIME REACHED: oil cooling down" in text(desk.app)
        await press(pilot, *keys)
        assert desk.sent == sent
        assert not walk.state.alerts
        assert "TIME REACHED:" not in text(desk.app)


async def test_an_alert_is_answered_from_the_typed_line() -> None:
    """Who is typing when it rings goes on typing, and it is silent."""
    walk = walk_to("cool-down")
    walk.type("go")
    desk = Desk(walk)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "enter", "h")
        walk.later(125.0)
        desk.app.show(walk.state)
        await pilot.pause()
        await press(pilot, "e")
        assert desk.sent == ["stop"]
        assert desk.app.query_one(WordsLine).value == "he"


async def test_leaving_is_asked_twice() -> None:
    """One F9 by mistake costs nothing; two leave, once; ctrl+q works inside the typed line as well."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "f9")
        assert "Press f9 once more" in text(desk.app)
        await press(pilot, "r")
        assert "Press f9 once more" not in text(desk.app)
        await press(pilot, "f9")
        assert desk.left == 0
        await press(pilot, "f9")
        assert desk.left == 1
        assert "The job is kept." in text(desk.app)
        assert desk.app.is_running
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert desk.left == 1
    assert not desk.app.is_running


async def test_the_theme_is_changed_by_a_key() -> None:
    """Dark in the pit, light in the yard, clear for eyes that tell fewer colours apart."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "l")
        assert desk.app.theme == "bay-light"
        await press(pilot, "l")
        assert desk.app.theme == "bay-clear"
        await press(pilot, "l")
        assert desk.app.theme == "bay-dark"
        assert desk.sent == []


async def test_a_burst_of_keys_keeps_its_order() -> None:
    """Keys that come faster than the screen draws (a foot switch's macro, a paste as keys) are not taken amiss."""
    desk = Desk(walk_to("pan"))
    async with desk.app.run_test(size=(80, 24)) as pilot:
        for key in ("enter", "n", "e", "w", "backspace", "x", "t", "enter", "b", "enter", "escape", "n"):
            desk.app.post_message(Key(key, key if len(key) == 1 else None))
        await press(pilot)
        assert desk.sent == ["next", "back", "next"]


@pytest.mark.parametrize("asked", ["key", "voice"])
async def test_help_shows_what_can_be_said_until_anything_else_happens(asked: str) -> None:
    """By key and by voice alike; it stands in the place of the step."""
    walk = walk_to("pan")
    desk = Desk(walk)
    async with desk.app.run_test(size=(100, 34)) as pilot:
        if asked == "key":
            await press(pilot, "h")
        else:
            walk.hear("help", 3.0)
            desk.app.show(walk.state)
            await pilot.pause()
            await pilot.pause()
        found = text(desk.app)
        assert "n next next / next step" in found
        assert "count in [THING [COUNT] / COUNT THING / THINGS]" in found
        assert f"THING {walk.procedure.things()[0]}" in found
        assert not desk.app.query_one("#body").display
        await press(pilot, "w")
        assert desk.app.query_one("#body").display


@pytest.mark.parametrize("mode", list(Mode))
def test_every_form_that_help_shows_is_understood(mode: Mode) -> None:
    """Help is made from the grammar; a form without blanks is an utterance of that intent."""
    grammar = walk_to("pan").grammars.state(mode.value)
    counted = 0
    for one in grammar.sayable():
        for form in one.forms:
            if form.islower() and not set("[/") & set(form):
                intent = grammar.match(form.split())
                assert intent is not None
                assert intent.name == one.intent
                counted += 1
    assert counted >= 4
