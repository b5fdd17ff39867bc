"""The live microphone's thread: sound in, utterances and news of the microphone out to the loop."""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable
from pathlib import Path

from bayvoice.ears.capture import MicBack, Microphone, MicTrouble, Sound
from bayvoice.ears.listener import ListenerEvent, Utterance, VoiceBegan
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.runtime.inbox import Clock, Inbox
from bayvoice.runtime.intake import Intake
from bayvoice.runtime.listening import Listening

LEVEL_EVERY_S = 0.2
STOPPING_S = 5.0
"""How long the end of the ears' thread is waited for."""

Level = Callable[[float | None, str], None]
"""Told the microphone's level (dB of full scale) and what the ears do: "listening", "hearing", "speaking", "deaf"."""


class LiveEars:
    """The hub's `Ears` at a microphone: what the hub tells is a message to a thread of their own, which owns
    microphone, recogniser and notes and looks at nothing of the hub's.

    Args:
        listening: used by that thread only from `start` on, and freed by it.
        inbox: where what is heard goes.
        intake: makes events of it.
        clock: stamps the sound; also called from the thread of the sound card.
        level: told the level, in the ears' thread; None where nobody looks.
        log: file for what native libraries print.
    """

    def __init__(
        self,
        listening: Listening,
        inbox: Inbox,
        intake: Intake,
        clock: Clock,
        level: Level | None = None,
        log: Path | None = None,
    ) -> None:
        self._listening, self._inbox, self._intake, self._clock = listening, inbox, intake, clock
        self._level, self._log = level, log
        self._orders: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self._hearing = False
        self._deaf = False
        self._lost = 0
        self._told = 0.0

    # what the hub tells, in its thread

    def listen(self, state: str) -> None:
        """See `Ears`."""
        self._orders.put(lambda: self._listening.listen(state))

    def own_voice(self, saying: str | None, speaking: bool) -> None:
        """See `Ears`."""
        self._orders.put(lambda: self._listening.own_voice(saying, speaking))

    def take_note(self, stem: str) -> None:
        """See `Ears`."""
        self._orders.put(lambda: self._listening.take_note(stem))

    def end_note(self) -> None:
        """See `Ears`."""
        self._orders.put(self._listening.end_note)

    # from the sitting's thread

    def open(self) -> Microphone:
        """The microphone, for `start`. BayError where it cannot be opened."""
        return Microphone(clock=self._clock.mono, log=self._log)

    def start(self, microphone: Microphone) -> None:
        """Begin to listen; the microphone is closed by `close`."""
        self._thread = threading.Thread(target=self._run, args=(microphone,), name="ears", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop listening. Waits `STOPPING_S` at most; the ears free what is theirs themselves."""
        self._stopping.set()
        if self._thread is None:
            self._listening.close()
        else:
            self._thread.join(STOPPING_S)

    # in the ears' thread

    def _run(self, microphone: Microphone) -> None:
        try:
            while not self._stopping.is_set():
                self._turn(microphone)
        except Exception as error:
            # Whatever happens to the ears, the job goes on by keys, and says why.
            self._trouble("recogniser", f"Hearing has stopped ({error})", "Work with keys and start bayvoice again")
        finally:
            microphone.close()
            self._listening.close()

    def _turn(self, microphone: Microphone) -> None:
        got = microphone.read(0.1)
        # After the sound came, so that it is heard with what holds for it by now.
        with contextlib.suppress(queue.Empty):
            while True:
                self._orders.get_nowait()()
        if isinstance(got, Sound):
            for event in self._listening.hear(got.samples, got.at_s):
                self._happened(event)
            self._listening.keep(got.samples)
        elif isinstance(got, MicTrouble):
            self._deaf = True
            self._trouble("microphone", got.what, got.mend)
        elif isinstance(got, MicBack):
            self._deaf = False
            self._inbox.put(self._intake.mended("microphone"))
        if microphone.overruns > self._lost:
            first, self._lost = not self._lost, microphone.overruns
            if first:
                self._trouble(
                    "microphone sound", "Sound from the microphone was lost", "Close other programs on this computer"
                )
        self._tell_level()

    def _happened(self, event: ListenerEvent) -> None:
        if isinstance(event, VoiceBegan):
            self._hearing = True
        elif isinstance(event, Utterance):
            self._hearing = False
            self._inbox.put(self._intake.heard(event))
        elif isinstance(event, SoundTrouble | SoundMended):
            self._inbox.put(self._intake.sound(event))

    def _trouble(self, part: str, what: str, mend: str) -> None:
        self._inbox.put(self._intake.trouble(part, what, mend))

    def _tell_level(self) -> None:
        now = time.monotonic()
        if self._level is None or now - self._told < LEVEL_EVERY_S:
            return
        self._told = now
        if self._deaf:
            self._level(None, "deaf")
        else:
            doing = "speaking" if self._listening.speaking else "hearing" if self._hearing else "listening"
            self._level(self._listening.level_db, doing)
