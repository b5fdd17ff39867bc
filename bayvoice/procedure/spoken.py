"""Whether the words of a procedure can be said and kept in the ear: length, abbreviations, cautions in the right place.

What is an abbreviation and what it stands for is common practice of workshop books, no source. A voice reads about 150
words a minute (from memory: the usual pace of recorded reading), so 25 words are ten seconds, and that is as much as a
listener keeps who has to work by it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from bayvoice.language.saying import speakable, spell
from bayvoice.language.units import UNITS
from bayvoice.procedure.kind import form_of
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Procedure, Step
from bayvoice.procedure.remark import Remark

MOST_SPOKEN: Final = 300
"""Characters of a spoken text that can still be kept in the head."""
MOST_WORDS: Final = 25
"""Words of a spoken text that can still be kept in the ear."""
WORDS_A_SECOND: Final = 2.5

MEANT: Final = {
    "TDC": "top dead centre",
    "BDC": "bottom dead centre",
    "PTO": "power take-off",
    "ATF": "transmission fluid",
    "ECU": "engine control unit",
    "OD": "outer diameter",
    "ID": "inner diameter",
    "RTV": "silicone sealant",
    "PPE": "protective gear",
    "OEM": "the maker",
    "CW": "clockwise",
    "CCW": "anticlockwise",
    "ACW": "anticlockwise",
    "fig": "figure",
    "ref": "reference",
    "para": "paragraph",
    "sect": "section",
    "spec": "specification",
    "std": "standard",
    "reqd": "required",
    "thk": "thick",
    "tol": "tolerance",
    "brg": "bearing",
    "hyd": "hydraulic",
    "mfr": "maker",
    "opp": "opposite",
    "adj": "adjust",
    "insp": "inspect",
    "instl": "install",
    "repl": "replace",
    "cyl": "cylinder",
    "pos": "position",
    "tq": "torque",
    "rh": "right hand",
    "lh": "left hand",
    "o/s": "off side",
    "n/s": "near side",
    "w/": "with",
    "c/w": "complete with",
    "u/s": "unserviceable",
    "b/w": "between",
    "w/shop": "workshop",
    "p/n": "part number",
}
"""Abbreviations of workshop books a voice does not read out by itself, and what they stand for."""

_KNOWN: Final = {short.lower(): long for short, long in MEANT.items()}
_SHORT: Final = re.compile(r"(?<![\w/.-])([A-Za-z]+/[A-Za-z]*|[A-Za-z]+(?=\.(?!\w))|[A-Za-z]+)(?![\w/-])")
# A sentence may end in these, so only the full form with its stop in the middle of a sentence counts.
_ALSO_WORDS: Final = frozenset({"fig", "ref", "para", "spec", "std", "opp", "pos"})
_GOES_ON: Final = re.compile(r"\.\s*[a-z0-9]")
_CARE: Final = re.compile(
    r"\b(?:caution|warning|danger|beware|attention|take care|be careful|watch out|mind (?:the|your)|do not|don't|never)"
    r"\b",
    re.IGNORECASE,
)
_SIGNAL: Final = re.compile(r"\b(?:CAUTION|WARNING|DANGER|NOTICE)\b")


def texts(procedure: Procedure, step: Step) -> Iterator[tuple[str, str]]:
    """(key, text) of everything a step has said aloud in sentences."""
    yield "say", step.say
    for caution in step.cautions:
        yield "caution", caution.text
    yield from form_of(procedure, step).sentences(step)


def about(procedure: Procedure, step: Step) -> Iterator[Remark]:
    """What is unwise in the words of `step`."""
    for key, text in texts(procedure, step):
        yield from about_text(step.id, key, text)
    for found in _CARE.finditer(step.say):
        if found.start():
            what = f"{quoted(found[0])} is heard after the act it belongs to"
            yield Remark(step.id, "say", what, "put it into caution, which is said first")
            break
    signal = _SIGNAL.search(step.show) if step.show != step.say else None
    if signal:
        what = f"the signal word {signal[0]} stands in the text of the step"
        yield Remark(step.id, "show", what, "put it into caution, which is said before the act")


def about_text(step: str, key: str, text: str) -> Iterator[Remark]:
    """What is unwise in one spoken text."""
    words = len(text.split())
    if len(text) > MOST_SPOKEN:
        what = f"{len(text)} characters are more than can be kept in the head"
        yield Remark(step, key, what, f"say less than {MOST_SPOKEN}, put the rest into show")
    elif words > MOST_WORDS:
        what = f"{words} words, {words / WORDS_A_SECOND:.0f} seconds, are more than the ear keeps"
        yield Remark(step, key, what, "make two steps of it, or put the rest into show")
    yield from _abbreviations(step, key, text)


def _abbreviations(step: str, key: str, text: str) -> Iterator[Remark]:
    for found in _SHORT.finditer(text):
        word = found[1]
        stop = _GOES_ON.match(text, found.end()) is not None
        meant = _KNOWN.get(word.lower())
        plain = word.lower() in _ALSO_WORDS and not stop
        if meant and not plain and (word in MEANT or "/" in word or stop or not word.isupper()):
            what = f"{quoted(word)} is an abbreviation and is said as it stands"
            yield Remark(step, key, what, f"write {quoted(meant)}")
        elif word.isupper() and 2 <= len(word) <= 4 and spell(word) in speakable(word):
            what = f"{quoted(word)} is spelled out: {quoted(spell(word))}"
            yield Remark(step, key, what, "write what it stands for, if that is what is said")


def unsayable(step: str, key: str, name: str) -> Iterator[Remark]:
    """A name that the technician says must be words."""
    odd = next((c for c in name if not (c.isalpha() or c in " -'’")), "")
    if odd:
        what = f"{quoted(name)} holds {quoted(odd)} and has to be said aloud"
        yield Remark(step, key, what, "write it as it is said")


def expanded(procedure: Procedure) -> dict[str, str]:
    """Written -> said, for each abbreviation and each figure with a unit in the spoken texts."""
    found: dict[str, str] = {}
    for step in procedure.steps:
        for _, text in texts(procedure, step):
            if any(c.isdigit() for c in text) or _OTHER.search(text):
                for piece in _PIECE.findall(text):
                    said = speakable(piece).rstrip(".")
                    if said.lower() != piece.lower().rstrip(".") and said:
                        found.setdefault(piece, said)
    return found


_SHORTS: Final = "approx|max|qty|assy|incl|dia|temp"
_OTHER: Final = re.compile(rf"\b(?:{_SHORTS}|e\.g|i\.e|etc)\b")
_UNIT: Final = "|".join(
    re.escape(s) for u in UNITS.values() for s in sorted({u.code, u.symbol, u.code.replace(".", "")})
)
_PIECE: Final = re.compile(rf"\d[\d.,]*\s?(?:{_UNIT})(?![\w.·])|\b(?:e\.g\.|i\.e\.|etc\.)|\b(?:{_SHORTS})\b\.?")
