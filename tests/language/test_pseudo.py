"""In a language made by a script, what people read and hear has no English but codes, names and what they wrote."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bayvoice.cli.main import main
from bayvoice.dialogue.engine.events import Began
from bayvoice.ears.baynoise import BayNoise
from bayvoice.ears.choose import choose
from bayvoice.ears.wavefile import read_form
from bayvoice.errors import BayError
from bayvoice.host.datafiles import find_procedure, read_grammars, read_procedure
from bayvoice.language import texts
from bayvoice.language.address import Address, AddressMode
from bayvoice.language.grammar import Grammars
from bayvoice.language.jsgf import read
from bayvoice.record.sqlite.roster import hashed
from bayvoice.record.sqlite.store import Store
from bayvoice.trade.days import written
from bayvoice.units import UNITS
from tests import pseudo
from tests.stage import Stage

CODES = {word for code in UNITS for word in re.findall(r"[A-Za-z]+", code)}
PRODUCT = {"bayvoice", "JSGF", "UTF", "Debian", "PortAudio", "libportaudio", "ISO", "WAV", "Cpk", "CSV", "Imre"}
"""Names of things that are the same in every language."""


@pytest.fixture(autouse=True)
def language(tmp_path: Path) -> Iterator[None]:
    """The made-up language for one test."""
    pseudo.write(tmp_path)
    texts.speak(pseudo.LANGUAGE, tmp_path)
    yield
    texts.speak("en")


def english(text: str, given: str = "") -> list[str]:
    """Words of `text` in plain letters that are no code, no option, no name in capitals and not of what was `given`."""
    known = CODES | PRODUCT | set(re.findall(r"[^\W\d_]+", given))
    without = re.sub(r"--?[a-z][\w-]*|\S*/\S*|\b[A-Z_]{2,}\b", " ", text)
    return [
        word for word in re.findall(r"[^\W\d_]+", without) if word.isascii() and len(word) > 1 and word not in known
    ]


def test_the_search_finds_english() -> None:
    """A word left in the code is seen; a code, an option and a given name are not."""
    assert english("ţĥé torque of 5 N.m for Imre, --limit", "torque") == ["of", "for"]


def test_a_message_is_dressed_and_its_fields_are_not() -> None:
    """Also inside a choice."""
    choice = "a-b = { $count ->\n    [one] { $count } word\n   *[other] { $count } words\n}\n"
    assert pseudo.dressed(choice) == "a-b = { $count ->\n    [one] { $count } ŵóŕđ\n   *[other] { $count } ŵóŕđš\n}\n"
    assert pseudo.dressed('a-c = no { $unit }{"{"}x{" "}\n') == 'a-c = ńó { $unit }{"{"}ẋ{" "}\n'


@pytest.mark.parametrize(
    "line",
    [
        "crank --after-tdc 30 --diameter 200",
        "crank --teeth-off 2 --teeth 40",
        "crank --teeth-off 2 --teeth 4",
        "valves --durations 240,250 --separation 108 --advance 2",
        "valves --inlet 6,42 --exhaust 42,12",
        "valves",
        "chain --chain 12B --pitches 24 --measured 480mm --fixed-centres",
        "chain --pitch 15 --pitches 2 --measured 30",
        "shim --float 0.02 --low 0.05 --high 0.15 --fitted 0.35 --stock 0.05,0.10,0.20,0.50",
        "shim --float 0.02 --low 0.15 --high 0.05 --stock 0.05,0.1",
        'flatness "0 0.2 0.1" "0.1 - 0.3" "0 0 0" --limit 0.01',
        'mix 50:1 --total "7.6 l"',
        'mix 50:x --total "7.6 l"',
        'dilute "8 l" --now 30 --wanted 50 --fill-with 100',
        'fill --capacity "2.0 l" --left "0.3 l"',
        'cure --row "25, 40, 60 min" --row "35, 40, 30 min" --row "25, 60, 50 min" --row "35, 60, 20 min" --at 30'
        " --humidity 50",
        'cure --row "25, 60 min" --row "35, 30 min" --at 50',
        "cure --time 60min --reference 25 --valid 15,35 --doubling 2 --at 30",
        'depth --known "2.5 mm" --after "1 d" --deepest "6 mm" --depth 4',
        'adapter "80 N.m" --wrench 400 --adapter 50 --angle 90 --largest 100',
        'adapter "80 mm" --wrench 400 --adapter 50',
        'preload "82 N.m" --bolt M12 --class 8.8 --nut-factor 0.2',
        "order --bolts 12 --pattern circle --torque 80",
        "angle 90 90",
        "temperature -300 degC degF",
        "torque 59 mm",
        "convert 3 V",
        "judge 25.0 --low 24.97 --high 25.03 --uncertainty 0.01",
        "judge 25.0",
        'limit "shim + 1 mm" --value "b=3 mm"',
        'limit "max(a)" --value "a=3 mm"',
        "stats 5 6 7 --low 4",
        "stats 5",
        "gauge /nonexistent.csv",
    ],
)
def test_reckoning(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Answers and refusals of `bayvoice reckon`."""
    main(["reckon", *shlex.split(line)])
    out, err = capsys.readouterr()
    assert out + err
    assert english(out + err, line) == []


REFUSED: dict[str, Callable[[Path], object]] = {
    "no procedure": lambda _: find_procedure("nothing"),
    "no record": lambda path: Store(path / "kept.sqlite", read_only=True),
    "no wave file": lambda path: read_form(path / "kept.sqlite"),
    "no recogniser": lambda _: choose("other", frozenset()),
    "no code": lambda _: hashed("12"),
    "no sound": lambda _: BayNoise(-200.0, 0.0, 0.0).sentence(),
    "no address": lambda _: Address(AddressMode.ALWAYS, "Two Words"),
    "no grammar": lambda _: read("grammar x", "x.gram"),
    "no tag": lambda _: read("#JSGF V1.0; grammar x; <a> = {tag", "x.gram"),
    "no state": lambda _: Grammars(read_grammars()).state("other"),
}
SIGNALS = " Danger Warning Caution Notice"
"""Read out as the format writes them."""

GIVEN = "nothing kept.sqlite other Two Words x.gram vosk phones pocketsphinx No such file or directory"
"""What the refused were given, the recognisers' names, and the operating system's words for errno ENOENT."""


@pytest.mark.parametrize("what", REFUSED)
def test_refusals(what: str, tmp_path: Path) -> None:
    """What files, records, ears and grammars are refused for."""
    names = " ".join(
        [*Grammars(read_grammars())._names, "any", "auto", *(p.stem for p in Path("procedures").glob("*"))]
    )
    with pytest.raises(BayError) as error:
        REFUSED[what](tmp_path)
    assert english(f"{error.value.what}; {error.value.mend}", f"{GIVEN} {names}") == []


def test_a_day() -> None:
    """Months have names."""
    assert english(written("2027-03-01")) == []


def test_a_job_speaks_no_english_of_its_own() -> None:
    """What is said over a job's first steps is the procedure's words, names and dressed sentences."""
    procedure = read_procedure("lift-chain")
    given = Path(find_procedure("lift-chain")).read_text(encoding="utf-8")
    stage = Stage(procedure, ("Imre",))
    stage.take(Began(stage.at, "Imre"))
    for words in ("which step", "repeat", "help", "next", "back", "pause", "resume", "how long"):
        stage.hear(words, take=False)
    assert len(stage.said) > 8
    assert [(text, found) for text in stage.said if (found := english(text, given + SIGNALS))] == []
