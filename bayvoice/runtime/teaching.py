"""`bayvoice soundcheck --teach NAME`: two minutes of saying what is said at work, and what the ears learn from it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

from bayvoice.ears.base import Samples
from bayvoice.ears.capture import Microphone, MicTrouble, Sound
from bayvoice.ears.choose import lexicon_of
from bayvoice.ears.front import FrontEnd, FrontSettings, UtteranceEnded
from bayvoice.ears.person import Adaptation, fingerprint
from bayvoice.ears.person_learn import Learner, Score, Take
from bayvoice.ears.tape import Tape
from bayvoice.errors import BayError
from bayvoice.runtime.grammars import LANGUAGE, grammars_for
from bayvoice.voice.live import LivePlayer
from bayvoice.voice.player import Note
from bayvoice.voice.render import SpokenVoice

_ONCE: Final = (
    *("next", "repeat", "yes", "no", "go", "stop", "help", "which step", "how long"),
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
)
PROMPTS: Final = _ONCE * 3
"""What is to be said, in order, about two minutes. The number of phrases is no multiple of three, so that each is
kept back once and learned from twice."""
KEPT_BACK: Final = 3
"""Every so manieth take is not learned from: it tells whether what was learned helps."""

_HANGOVER_S: Final = 0.6  # longer than in work: "how … long" is one take
_LONGEST_TAKE_S: Final = 4.0
_LEAST_RIGHT: Final = 0.2  # of the takes; below this, something other than the prompts was said
_WAIT_S: Final = 8.0
_TAIL_S: Final = 0.2  # the room rings on when the prompt has been said
_TRIES: Final = 2
_FEWEST: Final = 40  # live takes; a prompt that nobody answers is left out


def told(score: Score) -> str:
    """A score in words."""
    return (
        f"{score.right} of {score.takes} understood, {score.mistakes} mistaken, "
        f"{score.acted} of {score.foreign} heard where they mean nothing, odds off by {score.loss:.2f}"
    )


def learn(name: str, takes: list[Take]) -> tuple[Adaptation, Score, Score]:
    """What the takes teach, and how those kept back are understood without and with it.

    Raises:
        BayError: hardly any take sounds like its prompt.
    """
    learner = Learner(grammars_for(None), lexicon_of(LANGUAGE))
    kept_back = takes[KEPT_BACK - 1 :: KEPT_BACK]
    taught = [take for number, take in enumerate(takes) if number % KEPT_BACK != KEPT_BACK - 1]
    before = learner.score(kept_back)
    if before.right < _LEAST_RIGHT * before.takes:
        raise BayError(
            f"only {before.right} of {before.takes} takes sound like what was asked for",
            name,
            "say exactly the prompts, in their order, each once, near the microphone",
        )
    change, bias = learner.learn(taught)
    after = learner.score(kept_back, change, bias)
    result = f"kept back, before: {told(before)}; after: {told(after)}"
    return Adaptation(name, change.mixing, change.said, bias, fingerprint(), result), before, after


def takes_of(path: Path) -> list[Take]:
    """The takes in a recording, one for each of `PROMPTS`, cut at the pauses.

    Raises:
        BayError: it cannot be read, or does not hold as many takes as there are prompts.
    """
    front, sounds = _front(), []
    for block in Tape(path):
        sounds += [event.samples for event in front.feed(block) if isinstance(event, UtteranceEnded)]
    sounds += [event.samples for event in front.flush() if isinstance(event, UtteranceEnded)]
    if len(sounds) != len(PROMPTS):
        raise BayError(
            f"the recording holds {len(sounds)} takes and there are {len(PROMPTS)} prompts",
            str(path),
            "say each prompt once, with a pause of two seconds after it; --prompts prints them",
        )
    return [_take(prompt, sound) for prompt, sound in zip(PROMPTS, sounds, strict=True)]


def _take(prompt: str, sound: Samples) -> Take:
    return Take(tuple(prompt.split()), sound)


def _front() -> FrontEnd:
    return FrontEnd(FrontSettings(hangover_s=_HANGOVER_S, longest_s=_LONGEST_TAKE_S))


class _Prompter:
    """Says a prompt aloud where there is a loudspeaker, and waits until it has been said."""

    def __init__(self, show: Callable[[str], None]) -> None:
        self._said = threading.Event()
        self._voice: SpokenVoice | None = None
        self._player: LivePlayer | None = None
        try:
            self._player = LivePlayer(self._tell)
            self._voice = SpokenVoice()
        except BayError as fault:
            show(f"{fault} The prompts are only shown.")

    def _tell(self, note: Note) -> None:
        if note.kind in ("said", "cut"):
            self._said.set()

    def say(self, number: int, text: str) -> None:
        """Return when the prompt has been heard."""
        if self._voice is None or self._player is None:
            return
        try:
            sound = self._voice.render(text)
        except BayError:
            return  # it is on the terminal all the same
        self._said.clear()
        self._player.say(number, sound)
        self._said.wait(sound.seconds + 2.0)

    def close(self) -> None:
        """Give loudspeaker and voice back."""
        for part in (self._player, self._voice):
            if part is not None:
                part.close()


def live_takes(show: Callable[[str], None]) -> list[Take]:
    """The takes of somebody at the microphone, prompted one by one; one that never comes is left out.

    Raises:
        BayError: the microphone does not work, or too few takes came.
    """
    microphone = Microphone()
    prompter = _Prompter(show)
    takes = []
    try:
        for number, prompt in enumerate(PROMPTS):
            for _ in range(_TRIES):
                show(f"{number + 1}/{len(PROMPTS)}  say: {prompt}")
                prompter.say(number, prompt)
                sound = _answer(microphone)
                if sound is not None:
                    takes.append(_take(prompt, sound))
                    break
    finally:
        prompter.close()
        microphone.close()
    if len(takes) < _FEWEST:
        raise BayError(
            f"only {len(takes)} of {len(PROMPTS)} prompts were answered",
            "microphone",
            "speak up within eight seconds of each prompt; see 'bayvoice soundcheck' for the microphone",
        )
    return takes


def _answer(microphone: Microphone) -> Samples | None:
    """The next thing said from now on, None where nothing comes in `_WAIT_S`."""
    front, since = _front(), time.monotonic() + _TAIL_S
    while time.monotonic() < since + _WAIT_S:
        got = microphone.read(0.1)
        if isinstance(got, MicTrouble):
            raise BayError(got.what, "microphone", got.mend)
        if isinstance(got, Sound) and got.at_s >= since:
            for event in front.feed(got.samples):
                if isinstance(event, UtteranceEnded):
                    return event.samples
    return None
