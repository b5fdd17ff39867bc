"""The live microphone's thread: sound in, utterances and news of the microphone out to the hub."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

from bayvoice.dialogue.engine.events import Event, Mended, Trouble
from bayvoice.ears.capture import MicBack, Microphone, MicTrouble, Sound
from bayvoice.ears.listener import Listener, Utterance, VoiceBegan
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.errors import sentence
from bayvoice.language.grammar import StateGrammar
from bayvoice.runtime.hub import Hub
from bayvoice.runtime.wiring import heard_event, sound_event

LEVEL_EVERY_S = 0.2

Level = Callable[[float | None, str], None]
"""Told the microphone's level (dB of full scale) and what the ears do: "listening", "hearing", "speaking", "deaf"."""


class LiveEars:
    """Owns microphone and listener; both are used by its thread only.

    Raises:
        BayError: the microphone cannot be opened.
    """

    def __init__(self, hub: Hub, listener: Listener, level: Level | None = None, log: Path | None = None) -> None:
        self._hub, self._listener, self._level = hub, listener, level
        self._microphone = Microphone(clock=hub.clock.mono, log=log)
        self._wanted: StateGrammar | None = None
        self._stopping = threading.Event()
        self._hearing = False
        self._deaf = False
        self._lost = 0
        self._told = 0.0
        self._thread = threading.Thread(target=self._run, name="ears", daemon=True)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def use(self, grammar: StateGrammar) -> None:
        """Listen with `grammar` from the next utterance on. Any thread."""
        self._wanted = grammar

    def stop(self) -> None:
        """Stop listening and free the microphone."""
        self._stopping.set()
        self._thread.join(5.0)
        self._microphone.close()

    def _run(self) -> None:
        try:
            while not self._stopping.is_set():
                self._turn()
        except Exception as error:
            # Whatever happens to the ears, the job goes on by keys, and says why.
            self._put_trouble("recogniser", f"Hearing has stopped ({error})", "Work with keys and start bayvoice again")

    def _turn(self) -> None:
        wanted = self._wanted
        if wanted is not None and wanted is not self._listener.grammar:
            self._listener.use(wanted)
        got = self._microphone.read(0.1)
        if isinstance(got, Sound):
            self._listener.own_voice(self._hub.saying)
            happened = self._listener.feed(got.samples, got.at_s)
            if self._hub.notes is not None:
                self._hub.notes.feed(got.samples, self._listener.front.speaking)
            for event in happened:
                if isinstance(event, VoiceBegan):
                    self._hearing = True
                elif isinstance(event, Utterance):
                    self._hearing = False
                    self._put(lambda found=event: heard_event(self._hub, found))  # type: ignore[misc]
                elif isinstance(event, SoundTrouble | SoundMended):
                    self._put(lambda news=event: sound_event(self._hub, news))  # type: ignore[misc]
        elif isinstance(got, MicTrouble):
            self._deaf = True
            self._put_trouble("microphone", sentence(got.what), sentence(got.mend))
        elif isinstance(got, MicBack):
            self._deaf = False
            self._put(lambda: Mended(self._hub.clock.now(), "microphone"))
        if self._microphone.overruns > self._lost:
            first, self._lost = not self._lost, self._microphone.overruns
            if first:
                self._put_trouble(
                    "microphone sound", "Sound from the microphone was lost", "Close other programs on this computer"
                )
        self._tell_level()

    def _put(self, make: Callable[[], Event | None]) -> None:
        self._hub.put(make)

    def _put_trouble(self, part: str, what: str, mend: str) -> None:
        self._put(lambda: Trouble(self._hub.clock.now(), part, what, mend))

    def _tell_level(self) -> None:
        now = time.monotonic()
        if self._level is None or now - self._told < LEVEL_EVERY_S:
            return
        self._told = now
        talk = self._hub.state.talk
        doing = (
            "deaf" if self._deaf else "speaking" if talk.ended is None else "hearing" if self._hearing else "listening"
        )
        self._level(None if self._deaf else self._listener.front.level_db, doing)
