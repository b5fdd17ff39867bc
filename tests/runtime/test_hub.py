"""What the loop tells the ears, and what it does not do any more once a sitting is over."""

from __future__ import annotations

from pathlib import Path

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import State
from bayvoice.host.clock import TapeClock
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.intents import Intent
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.hub import Hub, NoEars, notes_into
from bayvoice.runtime.inbox import Inbox
from bayvoice.voice.player import NullPlayer
from bayvoice.voice.render import SpokenVoice
from tests.stage import new_state, wording

BLOCK_S = 0.02


class Told(NoEars):
    """Keeps what the loop told about the product's own voice."""

    def __init__(self) -> None:
        self.own: list[tuple[str | None, bool]] = [(None, False)]

    def own_voice(self, saying: str | None, speaking: bool) -> None:
        self.own.append((saying, speaking))


def test_the_ears_hear_of_the_product_s_voice_what_the_core_knows(tmp_path: Path) -> None:
    """With the real voice: every sentence in its order, no silence told of between two, and "stop" ends it."""
    clock, inbox, ears, said = TapeClock(1.8e9), Inbox(), Told(), list[str]()

    def watch(_: ev.Event | None, effects: tuple[fx.Effect, ...], __: State) -> None:
        said.extend(effect.text for effect in effects if isinstance(effect, fx.Say))

    voice = SpokenVoice(log=tmp_path / "voice.log")
    with Store(tmp_path / "bay.sqlite") as store:
        state = new_state("job", read_procedure("lift-chain"), wording())
        player = NullPlayer(notes_into(inbox, clock), 0.0, rhythm=True)
        hub = Hub(state, clock, store, voice, player, ears, inbox, watch)

        def run(seconds: float) -> None:
            end = clock.mono() + seconds
            while clock.mono() < end:
                clock.move(clock.mono() + BLOCK_S)
                hub.advance(clock.mono())
                assert ears.own[-1][1] is (hub.state.talk.ended is None), ears.own[-3:]

        hub.take(ev.Began(clock.now(), "Imre", clock.boot))
        first = len(said)
        run(60)
        assert first > 2, "nothing is told of several sentences"
        assert [text for text, _ in ears.own if text is not None] == said[:first]
        assert [speaking for _, speaking in ears.own] == [False] + [True] * (len(ears.own) - 2) + [False]
        hub.take(ev.Typed(clock.now(), ("repeat",), Intent("repeat")))
        run(0.5)
        assert ears.own[-1:] == [(said[first], True)]
        hub.take(ev.Typed(clock.now(), ("stop",), Intent("stop")))
        run(0.1)
        assert ears.own[-1:] == [(None, False)]
        hub.close()
    voice.close()


def test_nothing_is_handled_after_the_end(tmp_path: Path) -> None:
    """What comes in behind the end of a sitting makes no fact: the record closes with it."""
    clock, inbox = TapeClock(1.8e9), Inbox()
    with Store(tmp_path / "bay.sqlite") as store:
        state = new_state("job", read_procedure("lift-chain"), wording())
        player = NullPlayer(notes_into(inbox, clock), 0.0, rhythm=False)
        hub = Hub(state, clock, store, None, player, NoEars(), inbox, lambda *_: None)
        inbox.put(ev.Began(clock.now(), "Imre", clock.boot))
        inbox.put(ev.Left(clock.now(), "left by key"))
        inbox.put(ev.Typed(clock.now(), ("note", "late"), Intent("note", slots=(("text", "late"),))))
        hub.run_live()
        hub.close()
        facts = store.facts("job")
    assert [fact.kind for fact in facts][-1] == "sitting_left"
