"""The rendering process: reads requests from stdin, answers with samples on stdout.

Run as ``python -m bayvoice.voice.worker FOLDER``; nothing else of the product is imported here, so that it
starts fast. It is a process of its own because the C library behind the voice may block or end its process, and
because the voice prints to stdout.

One request a line, JSON: ``{"text": str, "rate": int, "voice": str, "volume": float}`` (words per minute, voice id,
0..1). One answer a request: a line of JSON, ``{"ok": true, "rate": Hz, "bytes": n}`` followed by n bytes of 16-bit
little-endian mono samples, or ``{"ok": false, "error": str, "over": bool}``, after which the process has ended if
`over`. The first answer, ``{"ok": true, "rate": 0, "bytes": 0}``, comes unasked once the voice is ready. End of input
ends the process, so it never outlives its parent; work that hangs is given up after `PATIENCE_S` for the same reason.
"""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import sys
import threading
import time
import wave
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO

PATIENCE_S = 20.0
"""Longest time one request may take, seconds, before the process ends itself."""


def _own_stdout() -> BinaryIO:
    """Keep the pipe to the parent for answers; whatever prints goes to stderr, which is a log."""
    pipe = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return pipe


def _engine() -> Any:
    """The pyttsx3 engine on the espeak-ng library and data that came with `espeakng_loader`."""
    import espeakng_loader

    data = espeakng_loader.get_data_path()
    if not (Path(data) / "phontab").is_file():  # the C library ends the process when its data are not there
        raise FileNotFoundError(f"no voice data in {data}")
    os.environ["ESPEAK_DATA_PATH"] = data
    # pyttsx3 asks the linker for "libespeak-ng.so.1": with ours already loaded under that name, it gets ours.
    ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
    import pyttsx3

    return pyttsx3.init("espeak")


def _in_force(dll: Any, parameter: int, value: int) -> bool:
    return bool(dll.espeak_GetParameter(parameter, 1) == value)  # 1: the value in force, not the default


class _Renderer:
    """One engine and what it has told us about the utterance under way.

    pyttsx3 cancels the library's queue at the start of each run if the library is still busy, be it only with taking
    a new speed: then the setting is lost, or the utterance has no sound. So each thing is let come to rest first.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / "utterance.wav"
        self._engine = _engine()
        from pyttsx3.drivers import _espeak

        self._library = _espeak
        self._engine.proxy.setBusy(False)  # else settings wait for the first run, where they are cancelled
        self._voices = {voice.id for voice in self._engine.getProperty("voices")}
        self._settings: tuple[int, str, float] | None = None
        self._done = threading.Event()
        self._engine.connect("finished-utterance", self._on_finished)

    def _on_finished(self, name: str | None, completed: bool) -> None:
        self._done.set()

    def _rest(self) -> None:
        """Wait until the library does nothing."""
        self._wait(lambda: not self._library.IsPlaying())

    def _wait(self, met: Callable[[], bool]) -> None:
        until = time.monotonic() + PATIENCE_S
        while not met():
            if time.monotonic() > until:
                raise TimeoutError("the voice does not come to rest")
            time.sleep(0.0005)

    def _set(self, rate: int, voice: str, volume: float) -> None:
        if voice not in self._voices:
            raise ValueError(f"there is no voice called {voice!r}")
        self._engine.setProperty("voice", voice)
        self._rest()
        lib = self._library
        for name, value, number, wanted in (
            ("rate", rate, lib.RATE, rate),
            ("volume", volume, lib.VOLUME, round(volume * 100)),
        ):
            self._engine.setProperty(name, value)
            # What waits in the library's queue does not count as busy, so its effect is looked for.
            self._wait(partial(_in_force, lib.dll, number, wanted))
            self._rest()
        self._settings = (rate, voice, volume)

    def render(self, text: str, rate: int, voice: str, volume: float) -> tuple[int, bytes]:
        """Samples of `text` as (rate in Hz, 16-bit mono bytes). ValueError for an unknown voice."""
        if self._settings != (rate, voice, volume):
            self._set(rate, voice, volume)
        return self._once(text)

    def _once(self, text: str) -> tuple[int, bytes]:
        self._done.clear()
        self._engine.save_to_file(text, str(self._path))
        self._engine.runAndWait()
        # runAndWait may come back before the callback has written the file.
        if not self._done.wait(PATIENCE_S):
            raise TimeoutError("the utterance was not finished")
        self._rest()
        with wave.open(str(self._path), "rb") as file:
            hz, samples = file.getframerate(), file.readframes(file.getnframes())
        self._path.unlink(missing_ok=True)
        if not samples:
            raise RuntimeError("the utterance came without sound")
        return hz, samples


def _give_up_later(busy: threading.Event, beat: list[float]) -> None:
    """End the process when one request takes longer than `PATIENCE_S`."""
    while True:
        time.sleep(1.0)
        if busy.is_set() and time.monotonic() - beat[0] > PATIENCE_S + 1:
            os._exit(3)


def _words(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _answer(pipe: BinaryIO, head: dict[str, Any], body: bytes = b"") -> None:
    pipe.write(json.dumps(head).encode() + b"\n" + body)
    pipe.flush()


def main() -> int:
    """Serve requests until stdin ends."""
    pipe = _own_stdout()
    folder = Path(sys.argv[1])
    busy, beat = threading.Event(), [time.monotonic()]
    threading.Thread(target=_give_up_later, args=(busy, beat), daemon=True).start()
    try:
        renderer = _Renderer(folder)
    except Exception as error:  # whatever a third-party library raises is told to the parent in one line
        _answer(pipe, {"ok": False, "error": _words(error), "over": True})
        return 1
    _answer(pipe, {"ok": True, "rate": 0, "bytes": 0})
    for line in sys.stdin.buffer:
        request = json.loads(line)
        beat[0] = time.monotonic()
        busy.set()
        try:
            hz, samples = renderer.render(request["text"], request["rate"], request["voice"], request["volume"])
        except ValueError as error:
            _answer(pipe, {"ok": False, "error": _words(error), "over": False})
        except Exception as error:  # the engine's loop is left half run and cannot be trusted again
            _answer(pipe, {"ok": False, "error": _words(error), "over": True})
            return 1
        else:
            _answer(pipe, {"ok": True, "rate": hz, "bytes": len(samples)}, samples)
        busy.clear()
    with contextlib.suppress(OSError):
        folder.rmdir()
    return 0


if __name__ == "__main__":
    code = main()
    # An ordinary exit would run the C library's clean-up, which fails an assertion (a comment in pyttsx3's driver).
    os._exit(code)
