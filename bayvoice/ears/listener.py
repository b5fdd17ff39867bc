"""A recogniser behind its gate: sound in, utterances with their meaning out."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from bayvoice.ears.base import RATE, HeardWord, Hearing, Recogniser, Samples, Surrounded
from bayvoice.ears.endings import Ending, Endings
from bayvoice.ears.front import (
    FRAME,
    FRAME_S,
    FrontEnd,
    FrontEvent,
    UtteranceBegan,
    UtteranceEnded,
    UtterancePaused,
    UtteranceSound,
    decibels,
)
from bayvoice.ears.overhear import AKIN, WORD, Spotted, Spotter
from bayvoice.ears.ownwords import OwnWords
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble, SoundWatch
from bayvoice.ears.tape import Tape
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.intents import Intent
from bayvoice.language.risk import Verdict, weigh

NOTHING_HEARD: Final = "nothing heard"
NOT_OF_STEP: Final = "not a phrase of this step"
SAY_FIRST: Final = 'say "{word}" first'
TWO_MEANINGS: Final = "could mean two things"
NO_SPEECH: Final = "no speech found"
HEARD_BEFORE: Final = "acted on already"
OWN_VOICE: Final = "said by the product itself"
CALLED: Final = 'go on after "{word}"'

_JUMP_S = 0.5  # a stream that is this far from where its samples put it has lost sound
_WHOLE_S = 2.5  # a recording up to this length in which the gate finds nothing is decoded as one utterance
_SILENT_DB = -75.0  # below this, dB of full scale, not even a whole short recording is decoded
_LEAD = np.zeros(RATE // 2, np.float32)

WAITS: Final = {Ending.FEW: 0.3, Ending.MORE: 0.45, Ending.NUMBER: 0.75}
"""Silence that ends an utterance, seconds, by what may still come; a sure one that is over ends at once."""
GUESSED_S: Final = 6.0
"""Longer utterances are no commands, and are decoded once, at their end."""
CALL_LEAST: Final = -1.5
"""Natural-log odds from which the address word alone is a call: less than `language.risk` asks of any intent, because a
call does nothing. Of five voices of the tuning half four say "bay" alone at -0.9 or more in quiet, one at -2.2, and two
of five in noise 15 dB below at 2.8 or more, the others below -1.5; "day" comes to -2.3, "hey" to -4.3."""
READ_FROM: Final = "070d2fa201f13b238fa535abae97a3a7e9d79a631033bd9306e1ba2e99e97be3"
"""SHA-256 of the networks (``data/phones.npz``) it was read off."""
CALLED_S: Final = 3.0
"""Seconds after an address word said alone in which the next utterance counts as addressed."""
GUESSES: Final = 4
"""Pauses of one utterance in which a guess is made: each costs a decoding of all its sound so far."""


@dataclass(frozen=True, slots=True)
class VoiceBegan:
    """Somebody began to speak at `at_s`."""

    at_s: float


@dataclass(frozen=True, slots=True)
class WordsSoFar:
    """What the recogniser makes of the open utterance up to `at_s`; may still change."""

    words: tuple[str, ...]
    at_s: float


@dataclass(frozen=True, slots=True)
class Utterance:
    """An utterance has ended and was decoded.

    Attributes:
        hearing: what the recogniser made of it.
        intent: its meaning; None when it is refused.
        why: reason of a refusal, one short phrase: the recogniser's own, or one of this module; "" when accepted.
        began_s, ended_s: first and last voiced moment, seconds, on the time base of `Listener.feed`.
        first_s: the moment from which the times in `hearing.timed` count.
        level_db, noise_db: level of the voice and of the bay, dB relative to full scale.
        clipped: share of voiced samples at full scale, 0..1.
        state: name of the grammar in force for it, which is the dialogue state; "" where none was.
    """

    hearing: Hearing
    intent: Intent | None
    why: str
    began_s: float
    ended_s: float
    first_s: float
    level_db: float
    noise_db: float
    clipped: float
    state: str = ""


ListenerEvent = VoiceBegan | WordsSoFar | Utterance | SoundTrouble | SoundMended


class Listener:
    """Owns a recogniser and its front end. One thread calls all of it.

    Args:
        recogniser: the engine; closed by `close`.
        front: the gate.
        grammar: what may be said at first.
        spotter: looks for "stop" while the product speaks, where the recogniser has one.
        recording: the sound is a recording, see `SoundWatch`.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        front: FrontEnd,
        grammar: StateGrammar,
        spotter: Spotter | None = None,
        recording: bool = False,
    ) -> None:
        self.recogniser = recogniser
        self.front = front
        self.watch = SoundWatch(FRAME_S, recording)
        self._spotter = spotter
        self._grammar = grammar
        self._next: StateGrammar | None = None
        self._open = False
        self._offset_s = 0.0  # caller's time minus the front end's
        self._words: tuple[str, ...] = ()
        self._guess: Hearing | None = None  # what the open utterance is, unless the voice goes on
        self._guesses = 0
        self._watched = 0  # frames the watch has been told of
        self._length = 0  # samples of the open utterance
        self._own: str | None = None  # what the product is saying
        self._own_words = OwnWords(WORD, AKIN)
        self._began_s = 0.0  # of the open utterance, on the caller's time
        self._called_s = float("-inf")  # end of an address word that was said alone
        self._spotted_s = float("-inf")  # end of the last stop that was spotted
        self._endings: dict[StateGrammar, Endings] = {}
        recogniser.use(grammar)

    @property
    def grammar(self) -> StateGrammar:
        """The grammar in force; one given to `use` in the middle of an utterance comes after it."""
        return self._grammar

    def use(self, grammar: StateGrammar) -> None:
        """Listen with `grammar` from the next utterance on."""
        self._next = grammar
        if not self.front.speaking:
            self._change()

    def own_voice(self, saying: str | None) -> None:
        """Tell what the product is saying now; None while it is silent."""
        if saying == self._own:
            return
        if self._spotter is not None and self._own is None:
            self._spotter.reset()
        self._own = saying
        now_s = self.front.now_s + self._offset_s
        if saying is None:
            self._own_words.end(now_s)
        else:
            self._own_words.begin(saying, now_s)

    def feed(self, block: Samples, at_s: float | None = None) -> list[ListenerEvent]:
        """Take more sound and give what has happened in it.

        Args:
            block: 16 kHz mono float32, any length.
            at_s: when its first sample was recorded; by default right after the block before. Where it leaves a gap
                (lost sound, a suspended computer) the open utterance ends before the gap.
        """
        events: list[ListenerEvent] = []
        if not self.front.speaking:
            self._change()  # left over from a stretch of sound that proved too short to be an utterance
        if at_s is not None:
            offset = at_s - self.front.now_s
            if abs(offset - self._offset_s) > _JUMP_S:
                events += self.end()
                offset = at_s - self.front.now_s
            self._offset_s = offset
        # Frame by frame, so that an utterance ends in the same place whatever the length of the blocks.
        for start in range(0, len(block), FRAME):
            piece = block[start : start + FRAME]
            events += self._pass_on(self.front.feed(piece)) + self._overheard(piece)
            if self.front.frames > self._watched:
                self._watched, front = self.front.frames, self.front
                now_s = front.now_s + self._offset_s
                events += self.watch.frame(front.level_db, front.clipped, front.speaking, now_s)
        return events

    def end(self) -> list[ListenerEvent]:
        """The sound ends here: give the open utterance, if any."""
        return self._pass_on(self.front.flush())

    def reset(self) -> None:
        """Drop the open utterance and forget all sound so far."""
        if self._open:
            self.recogniser.drop()
            self._open = False
        self.front.reset()
        self._change()

    def close(self) -> None:
        """Free the recogniser."""
        self.recogniser.close()

    def whole(self, sound: Samples, at_s: float = 0.0) -> Utterance:
        """Decode `sound` as one utterance, whatever the gate thinks of it. Not while an utterance is open."""
        self.recogniser.begin()
        self.recogniser.feed(np.concatenate([_LEAD, sound, _LEAD]))
        hearing = self.recogniser.finish()
        self._began_s = at_s
        intent, why = self._meaning(hearing)
        state = self._grammar.name
        level_db = decibels(float(np.mean(np.square(sound)))) if len(sound) else -120.0
        clipped = float(np.mean(np.abs(sound) >= 0.999)) if len(sound) else 0.0
        ended_s, first_s = at_s + len(sound) / RATE, at_s - len(_LEAD) / RATE
        return Utterance(hearing, intent, why, at_s, ended_s, first_s, level_db, self.front.noise_db, clipped, state)

    def _pass_on(self, happened: list[FrontEvent]) -> list[ListenerEvent]:
        events: list[ListenerEvent] = []
        for event in happened:
            if isinstance(event, UtteranceBegan):
                self._open, self._words = True, ()
                self._guess, self._guesses, self._length = None, 0, 0
                self._began_s = event.at_s + self._offset_s
                self.recogniser.begin()
                if isinstance(self.recogniser, Surrounded):
                    self.recogniser.before(event.before)
                events.append(VoiceBegan(event.at_s + self._offset_s))
            elif isinstance(event, UtteranceSound):
                self._length += len(event.samples)
                words = self.recogniser.feed(event.samples)
                if words and words != self._words:
                    self._words = words
                    events.append(WordsSoFar(words, self.front.now_s + self._offset_s))
            elif isinstance(event, UtterancePaused):
                events += self._paused(event)
            else:
                events.append(self._ended(event))
        return events

    def _overheard(self, piece: Samples) -> list[ListenerEvent]:
        """A stop through the product's own voice; when it says that word itself, there is no telling whose it is."""
        if self._spotter is None or self._own is None:
            return []
        found = self._spotter.feed(piece)
        intent = None if found is None else self._grammar.match((WORD,))
        if found is None or intent is None:
            return []
        now_s = self.front.now_s + self._offset_s
        if self._own_words.between(now_s - found.began_ago_s, now_s - found.ended_ago_s):
            return []
        return [self._spotted(found, intent)]

    def _spotted(self, found: Spotted, intent: Intent) -> Utterance:
        now_s, front = self.front.now_s + self._offset_s, self.front
        began_s, ended_s = now_s - found.began_ago_s, now_s - found.ended_ago_s
        self._spotted_s = ended_s
        timed = (HeardWord(WORD, 0.0, ended_s - began_s),)
        hearing = Hearing(self.recogniser.name, (WORD,), timed=timed, sure=found.over)
        sound = front.level_db, front.noise_db, front.clipped
        return Utterance(hearing, intent, "", began_s, ended_s, began_s, *sound, self._grammar.name)

    def _paused(self, event: UtterancePaused) -> list[ListenerEvent]:
        """Guess what was said, and from it how long to wait for more."""
        events: list[ListenerEvent] = []
        guess = None
        if self._guesses < GUESSES and self._length <= GUESSED_S * RATE:
            self._guesses += 1
            guess = self.recogniser.guess()
        self._guess = guess
        words = guess.words if guess is not None else self._words
        if words and words != self._words:
            self._words = words
            events.append(WordsSoFar(words, event.at_s + self._offset_s))
        if self._grammar not in self._endings:
            self._endings[self._grammar] = Endings(self._grammar)
        ending = self._endings[self._grammar].after(words)
        if ending is not Ending.OVER:
            self.front.wait(WAITS[ending])
        elif guess is not None and self._sure(guess):
            events += self._pass_on(self.front.end_now())
        else:
            self.front.wait(WAITS[Ending.FEW])
        return events

    def _sure(self, guess: Hearing) -> bool:
        intent, _ = self._meaning(guess)
        return intent is not None and weigh(self._grammar.name, intent.name, guess.sure) is Verdict.ACT

    def _ended(self, event: UtteranceEnded) -> Utterance:
        guess = self._guess if event.paused else None
        if guess is None:
            hearing = self.recogniser.finish()
        else:
            # Only silence has come since.
            self.recogniser.drop()
            hearing = guess
        self._guess = None
        self._open = False
        intent, why = self._meaning(hearing)
        if intent is not None:
            self._called_s = float("-inf")  # one call is for one utterance
        if self._called(hearing):
            self._called_s, why = event.ended_s + self._offset_s, CALLED.format(word=self._grammar.address.word)
        if intent is not None and intent.name == WORD:
            if self._own_words.between(*_when(hearing, event, self._offset_s)):
                intent, why = None, OWN_VOICE
            elif event.began_s + self._offset_s <= self._spotted_s:
                intent, why = None, HEARD_BEFORE
            elif self._spotter is not None:
                self._spotter.reset()
        if intent is not None:
            self.watch.voice(event.level_db, event.noise_db)
        state = self._grammar.name
        self._change()
        return Utterance(
            hearing,
            intent,
            why,
            event.began_s + self._offset_s,
            event.ended_s + self._offset_s,
            event.first_s + self._offset_s,
            event.level_db,
            event.noise_db,
            event.clipped,
            state,
        )

    def _meaning(self, hearing: Hearing) -> tuple[Intent | None, str]:
        if hearing.why:
            return None, hearing.why
        if not hearing.words:
            return None, NOTHING_HEARD
        called = self._began_s - self._called_s <= CALLED_S
        meanings = self._grammar.meanings(hearing.words, spoken=not called)
        if len(meanings) > 1:
            return None, TWO_MEANINGS
        if not meanings and self._grammar.unaddressed(hearing.words):
            return None, SAY_FIRST.format(word=self._grammar.address.word)
        return (meanings[0], "") if meanings else (None, NOT_OF_STEP)

    def _called(self, hearing: Hearing) -> bool:
        """Whether `hearing` is the address word alone, surely enough for a call."""
        address = self._grammar.address
        if not address.heard or hearing.words != (address.word,):
            return False
        return not hearing.why if hearing.sure is None else hearing.sure >= CALL_LEAST

    def _change(self) -> None:
        if self._next is not None:
            if self._next is not self._grammar:
                self.recogniser.use(self._next)
                self._grammar = self._next
            self._next = None


def _when(hearing: Hearing, event: UtteranceEnded, offset_s: float) -> tuple[float, float]:
    """First and last moment of the word itself where its times are known, else of the whole utterance."""
    if hearing.timed:
        first_s = event.first_s + offset_s
        return first_s + hearing.timed[0].began_s, first_s + hearing.timed[-1].ended_s
    return event.began_s + offset_s, event.ended_s + offset_s


def hear_file(path: str | os.PathLike[str], listener: Listener) -> list[Utterance]:
    """What `listener` understands in the WAV file `path`, one result per utterance and at least one in all.

    Times are seconds of the file. The file stands alone: nothing heard before bears on it. A file of up to 2.5 s in
    which the gate finds no speech is decoded as a whole, since a single word in loud noise hides from the gate; if
    that gives no meaning either, or the file is longer, the one result says that no speech was found.

    Raises:
        BayError: the file cannot be read or is no WAV file of a supported kind.
    """
    tape = Tape(path)
    listener.reset()
    events = listener.feed(_LEAD, -len(_LEAD) / RATE)
    kept: list[Samples] = []
    position = 0
    for block in tape:
        events += listener.feed(block, position / RATE)
        position += len(block)
        if position <= _WHOLE_S * RATE:
            kept.append(block)
    events += listener.feed(_LEAD, position / RATE) + listener.end()
    found = [event for event in events if isinstance(event, Utterance)]
    if found:
        # A frame of the gate may reach into the silence put around the file.
        end_s = position / RATE
        return [replace(one, began_s=max(0.0, one.began_s), ended_s=min(end_s, one.ended_s)) for one in found]
    if 0 < position <= _WHOLE_S * RATE:
        sound = np.concatenate(kept)
        if decibels(float(np.square(sound).max())) > _SILENT_DB:
            heard = listener.whole(sound)
            if heard.intent is not None:
                return [heard]
    nothing = Hearing(listener.recogniser.name, (), why=NO_SPEECH)
    return [Utterance(nothing, None, NO_SPEECH, 0.0, position / RATE, 0.0, -120.0, listener.front.noise_db, 0.0)]
