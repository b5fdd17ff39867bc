"""How figures, units and part names are said."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import inflect
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.language.numbers import readings
from bayvoice.language.saying import speakable, spell
from bayvoice.language.units import UNITS, spoken

ENGINE: Any = inflect.engine()

# Wording: common practice of spoken British and American workshop English, no source.
TABLE = [
    ("32.5 N·m", "thirty two point five newton metres"),
    ("32.5 N.m", "thirty two point five newton metres"),
    ("32.5 Nm", "thirty two point five newton metres"),
    ("32.50 N·m", "thirty two point five zero newton metres"),
    ("1 N.m", "one newton metre"),
    ("1.0 mm", "one point zero millimetres"),
    ("0.05 mm", "zero point zero five millimetres"),
    (".05 mm", "zero point zero five millimetres"),
    ("90 deg", "ninety degrees"),
    ("90°", "ninety degrees"),
    ("1°", "one degree"),
    ("+60 deg", "plus sixty degrees"),
    ("-5 °C", "minus five degrees celsius"),
    ("−5 °C", "minus five degrees celsius"),
    ("20 °C", "twenty degrees celsius"),
    ("12 min", "twelve minutes"),
    ("12 min.", "twelve minutes."),
    ("min. 12 mm", "minimum twelve millimetres"),
    ("max 12 mm", "maximum twelve millimetres"),
    ("1 h 30 min", "one hour thirty minutes"),
    ("10–15 min", "ten to fifteen minutes"),
    ("10-15 min", "ten to fifteen minutes"),
    ("10 to 15 min", "ten to fifteen minutes"),
    ("10 min–15 min", "ten to fifteen minutes"),
    ("0.10–0.15 mm", "zero point one zero to zero point one five millimetres"),
    ("3-4 turns", "three to four turns"),
    ("±0.5 mm", "plus or minus zero point five millimetres"),
    ("32.5 ± 0.5 N·m", "thirty two point five plus or minus zero point five newton metres"),
    ("+0.02/-0.01 mm", "plus zero point zero two, minus zero point zero one millimetres"),
    ("3/8 in", "three eighths inch"),
    ("3/8 in drive", "three eighths inch drive"),
    ("1 1/2 in", "one and a half inches"),
    ("1½ in", "one and a half inches"),
    ("5 in.", "five inches."),
    ("Fit 4 in the cover.", "Fit four in the cover."),
    ("1,200 rpm", "one thousand two hundred r p m"),
    ("30 psi", "thirty p s i"),
    ("5 thou", "five thow"),
    ("25%", "twenty five percent"),
    ("24 V battery", "twenty four volt battery"),
    ("12V", "twelve volts"),
    ("13 mm socket", "thirteen millimetre socket"),
    ("a 5-minute wait", "a five minute wait"),
    ("50 mm²", "fifty square millimetres"),
    ("the reading in N·m", "the reading in newton metres"),
    ("the reading in %", "the reading in percent"),
    ("M8", "em eight"),
    ("M8x1.25", "em eight by one point two five"),
    ("M8 × 20 mm", "em eight by twenty millimetres"),
    ("4 × M8 bolts", "four em eight bolts"),
    ("20 mm x 30 mm", "twenty millimetres by thirty millimetres"),
    ("PTFE", "pee tee ef ee"),
    ("Varrow K40", "Varrow kay forty"),
    ("Hollin 25", "Hollin twenty five"),
    ("VT-2041", "vee tee two zero four one"),
    ("10W-40", "ten double-u forty"),
    ("O-ring", "oh-ring"),
    ("bolt A.", "bolt eh."),
    ("A bolt", "A bolt"),
    ("DO NOT lift", "do not lift"),
    ("WARNING: hot", "warning: hot"),
    ("No. 7", "number seven"),
    ("#7", "number seven"),
    ("2nd stage", "second stage"),
    ("the 21st", "the twenty first"),
    ("14:35", "fourteen thirty five"),
    ("14:05", "fourteen oh five"),
    ("14:00", "fourteen o'clock"),
    ("007", "zero zero seven"),
    ("12345678", "one two three four five six seven eight"),
    ("yes/no", "yes or no"),
    ("Bolts 1, 4, 2, 3.", "Bolts one, four, two, three."),
    ("Turn 90°. Next, 4 bolts!", "Turn ninety degrees. Next, four bolts!"),
    ("Clean it (see note 3) first", "Clean it, see note three, first"),
    ("Wait — then go", "Wait, then go"),
    ("already in words", "already in words"),
    ("", ""),
]


@pytest.mark.parametrize(("written", "said"), TABLE, ids=[written for written, _ in TABLE])
def test_table(written: str, said: str) -> None:
    """What is written is said like this."""
    assert speakable(written) == said


@pytest.mark.parametrize("code", sorted(UNITS))
def test_every_unit_of_the_product_is_said(code: str) -> None:
    """Code and printed symbol, with and without a blank, one and several."""
    if code == "turn":
        assert speakable("At step 2 turn the crank by 2 turns.") == "At step two turn the crank by two turns."
        return
    for written in {code, UNITS[code].symbol}:
        for blank in (" ", "") if not written[0].isalpha() or written == "mm" else (" ",):
            many, one = spoken(code).replace("thou", "thow"), spoken(code, False).replace("thou", "thow")
            assert speakable(f"Set 7{blank}{written}.") == f"Set seven {many}."
            assert speakable(f"Set 1{blank}{written}.") == f"Set one {one}."


@given(st.decimals(min_value=-99999, max_value=99999, places=3) | st.integers(-99999, 99999).map(Decimal))
def test_numbers_agree_with_inflect(value: Decimal) -> None:
    """inflect (PyPI, MIT) writes the same words, but for its hyphens, commas and "and"."""
    theirs = ENGINE.number_to_words(f"{value:f}", andword="", comma="")
    ours = speakable(f"{value:f} bar").removesuffix(" bar")
    assert ours.replace(" and ", " ") == " ".join(theirs.replace("-", " ").split())


@given(st.decimals(min_value=0, max_value=99999, places=2))
def test_what_is_said_has_the_written_value(value: Decimal) -> None:
    """The words of a value are read by the ear's own number reader as that value, every digit kept."""
    said = speakable(f"{value:f} mm").removesuffix(" millimetres").removesuffix(" millimetre")
    assert [str(v) for v in readings(said.split())] == [f"{value:f}"]


PIECES = [
    "M8x1.25",
    "32.5",
    "N·m",
    "-",
    "–",
    "1/2",
    "mm",
    "K40",
    "VT-2041",
    "+",
    "±",
    "min",
    "in",
    '"',
    ",",
    ".",
    "/",
    "x",
    "A",
    "deg",
    "°",
    "C",
    "PTFE",
    "12:30",
    "(",
    ")",
    "3",
    "No.",
    "1,200",
    "²",
    "½",
    "'",
    "s",
    "%",
    "#",
    "thou",
    "\n",
    "32.5 N·m",
    "10–15 min",
    "bolt",
    "VT",
    "a",
    "٣",
]


@given(st.lists(st.sampled_from(PIECES), max_size=12).map("".join) | st.text(max_size=40))
@settings(max_examples=500, deadline=None)
def test_no_figure_is_left_to_the_voice(text: str) -> None:
    """Whatever is written, also nonsense: no figures and no symbols a voice would have to guess at."""
    said = speakable(text)
    assert not re.search(r"\d", said)
    assert not re.search(r"[^\w\s.,;:!?'-]", said)


@given(st.lists(st.sampled_from(PIECES), max_size=12).map(" ".join))
@settings(max_examples=500, deadline=None)
def test_words_stay_words(text: str) -> None:
    """What has been put in words is not changed again."""
    assert speakable(speakable(text)) == speakable(text)


def test_letters_sound_like_their_names() -> None:
    """espeak-ng, left to spell a capital letter itself, says the same sounds as for our spelling of its name, stress
    apart. Asked through the phonemizer of piper-tts, which carries espeak-ng."""
    phonemize = pytest.importorskip("piper.phonemize_espeak")
    engine = phonemize.EspeakPhonemizer(phonemize.ESPEAK_DATA_DIR)

    def sounds(text: str) -> str:
        return re.sub("[ˈˌ ]", "", "".join("".join(part) for part in engine.phonemize("en", text)))

    for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ":
        assert sounds(f"bolt {spell(letter)}.") == sounds(f"bolt {letter}."), letter


def test_thou_is_not_the_old_pronoun() -> None:
    """A thousandth of an inch sounds as "thousand" begins; espeak-ng left alone says the old pronoun."""
    phonemize = pytest.importorskip("piper.phonemize_espeak")
    engine = phonemize.EspeakPhonemizer(phonemize.ESPEAK_DATA_DIR)
    said = "".join(engine.phonemize("en", speakable("5 thou"))[0])
    assert said.endswith("θˈaʊ")
