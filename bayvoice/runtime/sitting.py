"""One sitting: a core, its loop and its edges, worked live or on a recording from beginning to end."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.dialogue.engine.events import Trouble
from bayvoice.errors import BayError, sentence
from bayvoice.host.clock import TapeClock
from bayvoice.language.grammar import Grammars
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.hub import Hub
from bayvoice.runtime.inbox import Maker
from bayvoice.runtime.intake import Hands, Intake
from bayvoice.runtime.listening import Listening
from bayvoice.runtime.live import LiveEars
from bayvoice.runtime.tape import Recording, play
from bayvoice.voice.render import SpokenVoice


@dataclass(frozen=True, slots=True)
class Live:
    """Worked as it happens. `ears`: None where nobody listens."""

    ears: LiveEars | None

    def close(self) -> None:
        """Give the microphone back."""
        if self.ears is not None:
            self.ears.close()


@dataclass(frozen=True, slots=True)
class OnTape:
    """Worked on the clock of a recording."""

    recording: Recording
    listening: Listening
    clock: TapeClock

    def close(self) -> None:
        """Free the recogniser."""
        self.listening.close()


@dataclass(frozen=True, slots=True)
class Sitting:
    """Everything a sitting holds; made by `wiring.wire`. One thread runs and closes it.

    Attributes:
        began: makes the first event, as it begins.
        notices: what its user should know, sentences.
    """

    hub: Hub
    intake: Intake
    hands: Hands
    grammars: Grammars
    store: Store
    voice: SpokenVoice | None
    sound: Live | OnTape
    began: Maker
    notices: tuple[str, ...]

    @property
    def live(self) -> bool:
        """Whether it goes by the computer's clock, not by a recording's."""
        return isinstance(self.sound, Live)

    def run(self, deaf_is_fatal: bool = False) -> None:
        """Work until it is over. BayError where the microphone does not work and nothing else could be heard
        (`deaf_is_fatal`)."""
        sound = self.sound
        if isinstance(sound, OnTape):
            self.hub.take(self.began)
            play(sound.recording, self.hub, sound.listening, self.intake, sound.clock)
            return
        microphone = trouble = None
        if sound.ears is not None:
            try:
                microphone = sound.ears.open()
            except BayError as error:
                if deaf_is_fatal:
                    raise
                trouble = error
        self.hub.take(self.began)
        if trouble is not None:
            what, mend = sentence(trouble.what), "The job can be worked with keys"
            self.hub.take(Trouble(self.hub.clock.now(), "microphone", what, mend))
        if sound.ears is not None and microphone is not None:
            sound.ears.start(microphone)
        self.hub.run_live()

    def close(self) -> None:
        """Give everything back."""
        self.sound.close()
        self.hub.close()
        if self.voice is not None:
            self.voice.close()
        self.store.close()
