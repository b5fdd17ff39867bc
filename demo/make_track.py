"""Makes the demo's sound: a technician's voice (not the product's) over workshop noise, timed to the product's speech.

The product's own dialogue is played once in silence to find out when it speaks and for how long; each cue of
`technician.CUES` is laid into the pauses. The result is a plain WAV: what is done with it afterwards, recognition,
waits, record, is the real path and knows nothing of the cues.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bayvoice.assemble import Options, grammars_for, open_job, wording
from bayvoice.core.events import Began, Heard
from bayvoice.core.state import State
from bayvoice.edges.clock import TapeClock
from bayvoice.edges.store import Store
from bayvoice.edges.voice.piper import PiperVoice
from bayvoice.edges.voice.player import NullPlayer
from bayvoice.edges.voice.render import SpokenVoice
from bayvoice.errors import BayError
from bayvoice.hub import Hub
from demo.technician import CUES, Cue
from tests.bench.noises import RATE, Sound, active_power, noise

STEP_S = 0.02
ENDPOINT_S = 0.6
"""From the end of a word to its being understood: the ears wait that long for more."""
SNR_DB = 15.0
TAIL_S = 6.0


@dataclass(frozen=True, slots=True)
class Laid:
    """A cue with its place in the recording, seconds."""

    cue: Cue
    began_s: float
    sound: Sound


def voice_of(technician: PiperVoice, words: str) -> Sound:
    """The words, spoken, at the track's rate."""
    sound = technician.render(words)
    return np.asarray(soxr.resample(sound.samples, sound.rate, RATE), dtype=np.float32)


def lay(options: Options) -> tuple[list[Laid], float]:
    """When each cue is spoken, and how long the whole takes."""
    clock = TapeClock()
    technician, product = PiperVoice(pace=1.05), SpokenVoice()
    laid: list[Laid] = []
    with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "plan.sqlite") as store:
        opened = open_job(store, options)
        grammars = grammars_for(opened.procedure, options.people)
        state = State(job=opened.job, wording=wording(), people=options.people)
        hub = Hub(state, clock, store, product, lambda tell: NullPlayer(tell), lambda _: None, lambda *_: None)
        hub.take(Began(clock.now(), options.by, clock.boot))

        def tick() -> None:
            clock.move(clock.mono() + STEP_S)
            hub.advance(clock.mono())

        def silence(seconds: float) -> None:
            quiet = 0.0
            while quiet < seconds:
                tick()
                quiet = 0.0 if hub.player.sounding or hub.state.talk.queued else quiet + STEP_S

        for cue in CUES:
            if cue.barge:
                while not hub.player.sounding:
                    tick()
                end = clock.mono() + cue.barge
                while clock.mono() < end:
                    tick()
            else:
                silence(cue.gap)
                end = clock.mono() + cue.rest
                while clock.mono() < end:
                    tick()
                silence(cue.gap)
            sound = voice_of(technician, cue.words)
            began = clock.mono()
            laid.append(Laid(cue, began, sound))
            end = began + len(sound) / RATE
            while clock.mono() < end + ENDPOINT_S:
                tick()
            words = tuple(cue.words.split())
            intent = grammars.state(hub.state.mode.value).match(words)
            if intent is None:
                raise BayError(
                    f'"{cue.words}" can not be said in state {hub.state.mode.value}', "demo", "mend the cues"
                )
            hub.take(Heard(clock.now(), words, intent, "plan", None, began, end))
        silence(1.0)
        total = clock.mono() + TAIL_S
        if not hub.state.job.finished:
            raise BayError("the cues do not bring the job to its end", "demo", "mend the cues")
        product.close()
        technician.close()
    return laid, total


def write(path: Path, laid: list[Laid], total_s: float, snr_db: float, seed: int = 7) -> None:
    """Mix voice and noise, one minute at a time, into a 16-bit WAV."""
    voice = np.zeros(int(total_s * RATE), dtype=np.float32)
    for one in laid:
        at = int(one.began_s * RATE)
        voice[at : at + len(one.sound)] += one.sound
    gain = np.sqrt(active_power(np.concatenate([one.sound for one in laid])) / 10 ** (snr_db / 10))
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        minute = 60 * RATE
        for part, start in enumerate(range(0, len(voice), minute)):
            piece = voice[start : start + minute]
            mixed = piece + gain * noise("mixed", len(piece), np.random.default_rng(seed + part))
            mixed *= 0.5
            out.writeframes((np.clip(mixed, -1, 1) * 32767).astype("<i2").tobytes())


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("wav", type=Path)
    parser.add_argument("--procedure", default="t4-transfer-cover")
    parser.add_argument("--by", default="Imre")
    parser.add_argument("--people", default="Imre,Dalia,Kofi,Ruth")
    parser.add_argument("--snr", type=float, default=SNR_DB, help="voice over noise, dB")
    args = parser.parse_args()
    options = Options(args.procedure, by=args.by, people=tuple(args.people.split(",")))
    try:
        laid, total = lay(options)
    except BayError as error:
        print(f"make_track: {error}", file=sys.stderr)
        return 1
    write(args.wav, laid, total, args.snr)
    print(f"{args.wav}: {total / 60:.1f} minutes, {len(laid)} things said, voice {args.snr:g} dB above the noise")
    return 0


if __name__ == "__main__":
    sys.exit(main())
