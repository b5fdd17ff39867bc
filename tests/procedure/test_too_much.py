"""Files that hold too much, or nonsense by the megabyte: told in a sentence, within seconds."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from bayvoice.ears.dictionary import MOST_WORKED_OUT, sounds
from bayvoice.procedure import most
from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.vet import vet

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'
END = '[[step]]\nid = "end"\nkind = "do"\nsay = "End."\n'
SECONDS = 10.0
"""Processor time in which a file is vetted, whatever stands in it; a busy machine does not count."""


def letters(number: int) -> str:
    return "".join("bcdfghjklm"[int(figure)] + "aeiou"[int(figure) % 5] for figure in str(number))


def many(body: Callable[[int], str], amount: int) -> str:
    return "".join(body(number) for number in range(amount))


def step(keys: str, name: str = "a") -> str:
    return f'[[step]]\nid = "{name}"\nsay = "Do it."\n{keys}\n'


def listed(words: Iterable[str]) -> str:
    return "[" + ", ".join(f'"{word}"' for word in words) + "]"


MEASURE = 'kind = "measure"\nname = "gap"\nunit = "mm"\n'
WAIT = 'kind = "wait"\nwait = "cure"\nname = "sealant"\n'
FASTEN = 'kind = "fasten"\ncount = 6\norder = '
# what is too much, a file of it, and what the sentence says of it
TOO_MUCH: dict[str, tuple[str, str]] = {
    "a long word": (step(f'kind = "check"\nask = "{"a" * 900}?"'), "can be said at most"),
    "a longer word": (step(f'kind = "check"\nask = "{"a" * 10_000}?"'), "10001 characters"),
    "a long name": (step(f'{MEASURE}low = 1\nname = "{"a " * 5000}b"'.replace('name = "gap"\n', "")), "characters"),
    "findings": (many(lambda i: f'[[finding]]\nsay = "crack {letters(i)}"\nstop = true\n', 5000), "5000 entries"),
    "things": (
        step(f'kind = "tally"\nopening = "case"\nthings = {listed(letters(i) for i in range(20_000))}')
        + step('kind = "tally"\nopening = "case"\nclose = true', "b"),
        "20000 entries",
    ),
    "measurements": (
        many(lambda i: step(f"{MEASURE}low = 1".replace("gap", f"gap {letters(i)}"), f"s{i}"), 1000),
        "1000 measurements",
    ),
    "parts": (many(lambda i: f'[[part]]\nid = "p{i}"\nname = "part {letters(i)}"\n', 5000), "5000 entries"),
    "gauges": (many(lambda i: f'[[gauge]]\nid = "p{i}"\nname = "gauge {letters(i)}"\n', 5000), "5000 entries"),
    "cautions of a step": (
        step('kind = "do"') + '[[step.caution]]\nsignal = "NOTICE"\ntext = "Hot."\n' * 1000,
        "1000 entries",
    ),
    "lines of a table": (
        step(WAIT) + many(lambda i: f'[[step.table]]\ntemperature = "{i / 100:.2f} degC"\nat_least = "9 s"\n', 10_000),
        "10000 entries",
    ),
    "steps": (many(lambda i: step('kind = "do"', f"s{i}"), 30_000), "30001 entries"),
    "steps with their way back": (
        many(lambda i: step(f'kind = "do"\noff = ["t{i}"]', f"s{i}") + '[[step.back]]\nkind = "do"\nsay = "B."\n', 2000)
        + '[[step]]\nkind = "way_back"\n',
        "with its way back the job has 4001 steps",
    ),
    "an order": (step(f"{FASTEN}[{', '.join(['1'] * 600_000)}]"), "600000 entries"),
    "stages": (step(f'{FASTEN}"star"\nstages = {listed(["5 N"] * 100_000)}'), "100000 entries"),
    "stages with full stops": (step(f'{FASTEN}"star"\nstages = {listed(["5 N.m"] * 100_000)}'), "200 full stops"),
    "keys": (many(lambda i: f"k{i} = 1\n", 150_000), "is unknown"),
    "dotted keys": (many(lambda i: f"k{i}{'.a' * 199} = 1\n", 4500), "full of full stops"),
    "a dotted key": (f"k{'.a' * 100} = 1\n", "nested too deep"),
    "lists in lists": (f"x = {'[' * 200}{']' * 200}\n", "nested too deep"),
    "more lists in lists": (f"x = {'[' * 5000}{']' * 5000}\n", "nested too deep"),
    "tables in tables": (f"x = {'{a = ' * 200}1{'}' * 200}\n", "nested too deep"),
    "references": (f"references = {listed('x' for _ in range(300_000))}\n", "300000 entries"),
    "figures": (step(f"{MEASURE}low = 0.{'1' * 100_000}"), "cannot be said aloud"),
    "figures of a whole number": (step(f"{MEASURE}low = {'1' * 100_000}"), "more than 4300 figures"),
    "figures of another base": (step(f"{MEASURE}low = 0x{'1' * 100_000}"), "cannot be said aloud"),
    "figures in quotes": (step(f'{MEASURE}low = "{"1" * 100_000}"'), "100000 characters"),
    "an exponent": (step(f"{MEASURE}low = 1e999999"), "cannot be said aloud"),
    "an exponent below": (step(f"{MEASURE}low = 1e-999999"), "cannot be said aloud"),
    "an exponent of a million figures": (step(f"{MEASURE}low = 1e{'9' * 1_000_000}"), "is not a number"),
    "an expression": (step(f'{MEASURE}low = "= {"(" * 50_000}1 mm{")" * 50_000}"'), "100006 characters"),
    "a title": (f'text = "{"ab " * 600_000}"\n', "1800000 characters"),
    "one figure after the other": (f'text = "{"1" * 1_900_000}"\n', "1900000 characters"),
    "blanks": (f'text = "a{" " * 1_900_000}b"\n', "1900002 characters"),
    "line ends": (f'text = """a{chr(10) * 1_900_000}b"""\n', "1900002 characters"),
    "backslashes": (f'text = "{chr(92) * 1_900_000}"\n', "950000 characters"),
    "a string without an end": (f'text = "{"a" * 1_900_000}\n', "not valid TOML"),
    "an id": (step('kind = "do"', "a-" * 900_000), "1800000 characters"),
    "a key": (f'"{"a-" * 900_000}" = 1\n', "is unknown"),
}


@pytest.mark.parametrize("what", TOO_MUCH)
def test_too_much_is_told_within_seconds(what: str) -> None:
    """One sentence with what there is and what may be, how to mend it, and no minutes of work before it."""
    body, said = TOO_MUCH[what]
    text = HEAD + body + END if body.startswith("[[") else HEAD + body + "\n" + END
    began = time.process_time()
    with pytest.raises(BadProcedure) as caught:
        load_text(text, "x.toml")
    assert time.process_time() - began < SECONDS
    assert any(said in str(each) for each in caught.value.mistakes), str(caught.value.mistakes[0])
    assert all(len(str(each)) < 500 for each in caught.value.mistakes)


LARGEST = (
    HEAD
    + many(lambda i: f'[[part]]\nid = "p{i}"\nname = "part {letters(i)}"\n', 1000)
    + many(lambda i: f'[[gauge]]\nid = "g{i}"\nname = "gauge {letters(i)}"\nunit = "mm"\n', 1000)
    + many(lambda i: f'[[finding]]\nsay = "{letters(i)} crack"\nstop = true\n', most.NAMES)
    + step(f'kind = "tally"\nopening = "case"\nthings = {listed(letters(i) + " rag" for i in range(most.NAMES))}', "t")
    + step('kind = "tally"\nopening = "case"\nclose = true', "u")
    + many(
        lambda i: step(MEASURE.replace("gap", f"{letters(i)} gap") + f'low = 1\ngauge = "g{i}"', f"m{i}"), most.NAMES
    )
    + many(lambda i: step(WAIT.replace("sealant", f"{letters(i)} oil") + 'at_least = "9 s"', f"w{i}"), most.NAMES)
    + many(
        lambda i: step('kind = "do"', f"d{i}").replace("Do it.", " ".join(letters(i * 9 + j) for j in range(9))), 2500
    )
    + END
)


def test_the_most_that_may_be_is_vetted_within_seconds() -> None:
    """Everything at its limit at once, most words in no dictionary; the pronunciations of some of them are told."""
    began = time.process_time()
    vetting = vet(load_text(LARGEST, "x.toml"), "x.toml", sounds())
    assert vetting.lines()
    assert vetting.as_dict()
    assert time.process_time() - began < 3 * SECONDS
    told = [said for said in vetting.unknown_words.values() if said != "not worked out"]
    assert 0 < len(told) <= MOST_WORKED_OUT < len(vetting.unknown_words)


def test_the_chapter_on_the_format_names_the_limits() -> None:
    """One line of the chapter on the format, with the figures of the code."""
    readme = (Path(__file__).parents[2] / "procedures" / "README.md").read_text(encoding="utf-8")
    line = " ".join(readme[readme.index("It may hold") : readme.index("| top of the file")].split())
    figures = [int(found.replace(",", "")) for found in re.findall(r"[0-9,]*[0-9]", line)]
    assert figures == [
        most.STEPS,
        most.NAMES,
        most.ENTRIES["part"],
        most.ENTRIES["caution"],
        most.OTHER_ENTRIES,
        most.WORD,
        most.NAME,
        most.TEXT,
        most.SHOWN,
    ]
    assert {most.ENTRIES[key] for key in ("part", "tool", "consumable", "gauge")} == {most.ENTRIES["part"]}
    assert most.ENTRIES["table"] == most.OTHER_ENTRIES
    assert {most.ENTRIES[key] for key in ("things", "finding")} == {most.NAMES}
