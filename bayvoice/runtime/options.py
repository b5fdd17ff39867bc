"""What `bayvoice work` is asked for, and who is meant by it."""

from __future__ import annotations

import contextlib
import getpass
import os
import re
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from bayvoice.dialogue.steps.windows import SENSIBLE, UNITS
from bayvoice.errors import BayError
from bayvoice.language.address import NO_ADDRESS, Address
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.store import Store


@dataclass(frozen=True, slots=True)
class Look:
    """How the screen looks. `theme`: "dark", "light" or "clear"; `blink`: alerts may blink."""

    theme: str = "dark"
    blink: bool = False


@dataclass(frozen=True, slots=True)
class Options:
    """What `bayvoice work` was asked for. `mic`: "live", "off" or a WAV; `speaker`: "live", "off" or a WAV.

    `address`: the word that must be said before an intent, and when. `ambient`: (name, value, unit) of the bay's air.
    `trust`: log plain values without a yes.
    """

    procedure: str
    mic: str = "live"
    speaker: str = "live"
    store: Path | None = None
    job: str = ""
    by: str = ""
    people: tuple[str, ...] = ()
    ears: str = "auto"
    address: Address = NO_ADDRESS
    ambient: tuple[tuple[str, str, str], ...] = ()
    trust: bool = False

    @property
    def hears(self) -> bool:
        """Whether anybody listens at all."""
        return self.ears != "typed" and self.mic != "off"

    @property
    def on_tape(self) -> bool:
        """Whether a recording takes the microphone's place."""
        return self.ears != "typed" and self.mic not in ("live", "off")


def surroundings(temperature: str, humidity: str) -> tuple[tuple[str, str, str], ...]:
    """What `--ambient` and `--humidity` say, as `events.Began.ambient` has it; the unit may be left out.

    BayError where it is no such amount.
    """
    found = []
    for name, option, text in (("temperature", "--ambient", temperature), ("humidity", "--humidity", humidity)):
        unit = UNITS[name]
        taken = re.fullmatch(r"([+-]?\d{1,3}(?:\.\d{1,3})?)\s*(degC|°C|C|%)?", text.strip())
        if not text.strip():
            continue
        if taken is None or (taken[2] or "") not in (("", "%") if unit == "%" else ("", "degC", "°C", "C")):
            raise BayError(f'"{text}" is no {name}', option, f'write it like "{"50 %" if unit == "%" else "23 degC"}"')
        low, high = SENSIBLE[name]
        if not low <= Decimal(taken[1]) <= high:
            raise BayError(f"a {name} of {taken[1]} {unit} is not possible", option, f"give one from {low} to {high}")
        found.append((name, taken[1], unit))
    return tuple(found)


def who(by: str) -> str:
    """The technician: as given, else the name of the computer's user."""
    if by:
        return by
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "technician"


def people_of_bay(given: str) -> tuple[str, ...]:
    """Names from ``--people`` or BAYVOICE_PEOPLE, separated by commas: names that may be said.

    They make nobody known: where the record keeps the people of the bay, only those sign.
    """
    text = given or os.environ.get("BAYVOICE_PEOPLE", "")
    return tuple(name.strip() for name in text.split(",") if name.strip())


def people_known(given: str) -> tuple[str, ...]:
    """Those names, then the people that this bay's own record keeps, where there is one that can be read."""
    names = people_of_bay(given)
    with contextlib.suppress(BayError), Store(read_only=True) as store:
        return roster.with_names(roster.read(store), names)
    return names
