"""What works in this bay: every part tried, and what to do where it does not work."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bayvoice.ears.baynoise import from_microphone, measure
from bayvoice.ears.capture import microphones
from bayvoice.ears.choose import choose
from bayvoice.ears.tape import Tape
from bayvoice.errors import BayError
from bayvoice.record.sqlite.store import Store, default_path
from bayvoice.runtime.grammars import grammars_for
from bayvoice.voice.live import loudspeakers
from bayvoice.voice.render import SpokenVoice

ENOUGH_ROOM = 100 * 1024 * 1024
"""Free bytes below which a bay should make room: a job takes well under a megabyte, its report as much."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One part of the bay. `works` False is no failure of the program: the bay lacks it."""

    part: str
    works: bool
    what: str


def look_at_all(store: Path | None, mic: str = "live") -> list[Finding]:
    """Try every part.

    Args:
        store: the bay's record.
        mic: "live" measures the noise of the bay where there is a microphone, a WAV file in that file, "off" nowhere.
    """
    parts: tuple[tuple[str, Callable[[], str]], ...] = (
        ("microphone", _microphone),
        ("bay", lambda: _bay(mic)),
        ("loudspeaker", _loudspeaker),
        ("ears", _ears),
        ("voice", _voice),
        ("record", lambda: _record(store)),
        ("disk", lambda: _disk(store)),
    )
    findings: list[Finding] = []
    for part, look in parts:
        if part == "bay" and (mic == "off" or (mic == "live" and not findings[0].works)):
            continue
        try:
            findings.append(Finding(part, True, look()))
        except BayError as error:
            findings.append(Finding(part, False, str(error)))
    return findings


def _names(names: tuple[str, ...], what: str, mend: str) -> str:
    if not names:
        raise BayError(f"there is no {what}", "", mend)
    return ", ".join(names)


def _microphone() -> str:
    return _names(
        tuple(device.name for device in microphones()), "microphone", "plug one in; jobs can still be worked by keys"
    )


def _bay(mic: str) -> str:
    return measure(from_microphone() if mic == "live" else Tape(mic)).sentence()


def _loudspeaker() -> str:
    return _names(loudspeakers(), "loudspeaker", "plug one in; what is said is shown on the screen all the same")


def _ears() -> str:
    recogniser, notices = choose("auto", grammars_for(None).state("any").words)
    recogniser.close()
    return " ".join((f"{recogniser.name}.", *notices))


def _voice() -> str:
    voice = SpokenVoice()
    try:
        sound = voice.render("Bay voice is ready.")
    finally:
        voice.close()
    return f"{voice.name} renders {sound.seconds:.1f} s of speech"


def _record(path: Path | None) -> str:
    with Store(path) as store:
        jobs = store.job_names()
        fault = store.verify_all()
    if fault is not None:
        raise BayError(str(fault), str(store.path), "run 'bayvoice audit' and keep the file as it is")
    return f"{store.path}, {len(jobs)} jobs, every fact holds"


def _disk(path: Path | None) -> str:
    folder = (path or default_path()).absolute().parent
    while not folder.exists():
        folder = folder.parent
    free = shutil.disk_usage(folder).free
    if free < ENOUGH_ROOM:
        raise BayError(f"only {free // 2**20} MB are free", str(folder), "make room")
    return f"{free // 2**20} MB free in {folder}"
