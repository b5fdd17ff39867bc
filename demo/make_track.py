"""Makes the demo's sound: a technician's voice (not the product's) over the noise of a workshop.

The technician is played by this program against the real product: its ears hear the sound as it is made, and the
technician hears whether it was understood and, as a person does, says it again if not. What comes out is a plain WAV;
worked on by `bayvoice work --mic FILE.wav` it gives the same job once more, and that path knows nothing of the cues.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import wave
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import soxr

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bayvoice.dialogue.engine.effects import Effect
from bayvoice.dialogue.engine.events import Event, Heard
from bayvoice.dialogue.engine.state import State, ValueAsked
from bayvoice.errors import BayError
from bayvoice.runtime.options import Options
from bayvoice.runtime.sitting import Sitting
from bayvoice.runtime.wiring import open_sitting
from bayvoice.voice.piper import PiperVoice
from demo.technician import CUES, Cue
from tests.noises import RATE, Sound, active_power, noise

BLOCK = RATE // 50
SNR_DB = 15.0
PATIENCE_S = 2.5
"""How long the technician waits for a sign of having been understood."""
TRIES = 6
TAIL_S = 6.0
LEVEL = 0.5
PACES = (1.05, 1.15, 0.95)


class Technician:
    """The sound of the bay, block by block, and the one who speaks in it.

    Args:
        out: the WAV that gets what is heard in the bay, None for none.
        snr_db: active speech over noise, dB.
        cues: what is said, one after the other.
    """

    def __init__(self, out: wave.Wave_write | None, snr_db: float, seed: int = 7, cues: Iterable[Cue] = CUES) -> None:
        self._out, self._seed, self._cues = out, seed, cues
        self._voices = [PiperVoice(pace=pace) for pace in PACES]
        spoken = np.concatenate([self._say(cue.words, 0) for cue in CUES[:12]])
        self._gain = np.sqrt(active_power(spoken) / 10 ** (snr_db / 10))
        self._noise = np.zeros(0, np.float32)
        self._minutes = 0
        self.sitting: Sitting | None = None
        self.acted: list[str] = []
        self.said = 0
        self.repeated = 0

    def watch(self, event: Event | None, effects: tuple[Effect, ...], state: State) -> None:
        """Notices what was understood."""
        if isinstance(event, Heard) and state.heard is not None and state.heard.made:
            self.acted.append(state.heard.made)

    def __iter__(self) -> Iterator[Sound]:
        for cue in self._cues:
            yield from self._cue(cue)
        yield from self._quiet(1.0)
        yield from self._wait(TAIL_S)

    # what is heard in the bay

    def _block(self, voice: Sound) -> Sound:
        if len(self._noise) < BLOCK:
            rng = np.random.default_rng(self._seed + self._minutes)
            self._noise = np.concatenate([self._noise, noise("mixed", 60 * RATE, rng)])
            self._minutes += 1
        sound = self._gain * self._noise[:BLOCK]
        self._noise = self._noise[BLOCK:]
        sound[: len(voice)] += voice
        data = (np.clip(LEVEL * sound, -1, 1) * 32767).astype("<i2")
        if self._out is not None:
            self._out.writeframes(data.tobytes())
        # The ears get what the file holds, to the bit, so that the file gives the same job again.
        return np.asarray(data / np.float32(32768), np.float32)

    def _speak(self, sound: Sound) -> Iterator[Sound]:
        for start in range(0, len(sound), BLOCK):
            yield self._block(sound[start : start + BLOCK])

    def _wait(self, seconds: float) -> Iterator[Sound]:
        yield from self._speak(np.zeros(int(seconds * RATE), np.float32))

    def _quiet(self, seconds: float) -> Iterator[Sound]:
        """Until the product has been silent for so long."""
        assert self.sitting is not None
        hub, silent = self.sitting.hub, 0.0
        while silent < seconds:
            yield self._block(np.zeros(0, np.float32))
            silent = 0.0 if hub.player.sounding or hub.state.talk.queued else silent + BLOCK / RATE

    # the one who speaks

    def _say(self, words: str, attempt: int) -> Sound:
        sound = self._voices[attempt % len(PACES)].render(words)
        return np.asarray(soxr.resample(sound.samples, sound.rate, RATE), dtype=np.float32)

    def _cue(self, cue: Cue) -> Iterator[Sound]:
        assert self.sitting is not None
        hub = self.sitting.hub
        wordings = [cue.words, cue.words, *cue.others]
        for attempt in range(TRIES):
            words = wordings[attempt % len(wordings)]
            if cue.barge and not attempt:
                while not hub.player.sounding:
                    yield self._block(np.zeros(0, np.float32))
                yield from self._wait(cue.barge)
            else:
                yield from self._quiet(cue.gap)
                yield from self._wait(0.0 if attempt else cue.rest)
                yield from self._quiet(cue.gap)
            meant = self.sitting.grammars.state(hub.state.mode).match(words.split())
            if meant is None:
                raise BayError(f'"{words}" can not be said in state {hub.state.mode}', "demo", "mend the cues")
            known = len(self.acted)
            self.said += 1
            self.repeated += attempt > 0
            yield from self._speak(self._say(words, attempt))
            patience = PATIENCE_S
            while patience > 0 and len(self.acted) == known:
                yield self._block(np.zeros(0, np.float32))
                patience -= BLOCK / RATE
            asked = hub.state.pending
            if meant.value is None or not isinstance(asked, ValueAsked):
                if meant.name in self.acted[known:]:
                    return
            elif asked.said_value == meant.value:
                return
            else:
                yield from self._cue(Cue("no"))  # another value was understood
        raise BayError(f'"{cue.words}" was not understood in {TRIES} tries', "demo", "lower the noise with --snr")


def make(path: Path, options: Options, snr_db: float) -> tuple[float, Technician]:
    """Make the track; its length in seconds, and the technician who spoke it. BayError if the job does not end."""
    with tempfile.TemporaryDirectory() as folder, wave.open(str(path), "wb") as out:
        out.setparams((1, 2, RATE, 0, "NONE", "not compressed"))
        technician = Technician(out, snr_db)
        plan = Options(
            options.procedure,
            mic="made",
            speaker="off",
            store=Path(folder) / "plan.sqlite",
            by=options.by,
            people=options.people,
            ears="phones",
        )
        sitting = open_sitting(plan, technician.watch, technician)
        technician.sitting = sitting
        try:
            sitting.run()
            if not sitting.hub.state.job.finished:
                raise BayError("the cues do not bring the job to its end", "demo", "mend the cues")
            return out.getnframes() / RATE, technician
        finally:
            sitting.close()


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(description="Make the demo's sound.")
    parser.add_argument("wav", type=Path)
    parser.add_argument("--procedure", default="k40-transfer-cover")
    parser.add_argument("--by", default="Imre")
    parser.add_argument("--people", default="Imre,Dalia,Kofi,Ruth")
    parser.add_argument("--snr", type=float, default=SNR_DB, help="voice over noise, dB")
    args = parser.parse_args()
    options = Options(args.procedure, by=args.by, people=tuple(args.people.split(",")))
    try:
        seconds, technician = make(args.wav, options, args.snr)
    except BayError as error:
        print(f"make_track: {error}", file=sys.stderr)
        return 1
    print(
        f"{args.wav}: {seconds / 60:.1f} minutes, {technician.said} things said ({technician.repeated} of them again, "
        f"not understood at first), voice {args.snr:g} dB above the noise"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
