"""Units: the words are those of the grammar, the factors those of CODATA and of the standards."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache
from typing import Any

import pint
import pytest
import scipy.constants as codata
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.language import units
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.units import dimension_name, possible
from tests.language.shipped import FILLS, grammars, rule_graph, texts, utterances

# Outside check: scipy.constants (CODATA and the exact conversion factors of NIST SP 811), in SI base units.
SI = {
    "N.m": 1.0,
    "lbf.ft": codata.lbf * codata.foot,
    "lbf.in": codata.lbf * codata.inch,
    "kgf.m": codata.kgf,
    "mm": codata.milli,
    "um": codata.micron,
    "cm": codata.centi,
    "m": 1.0,
    "thou": codata.mil,
    "in": codata.inch,
    "ft": codata.foot,
    "bar": codata.bar,
    "mbar": codata.bar / 1000,
    "kPa": codata.kilo,
    "MPa": codata.mega,
    "psi": codata.psi,
    "V": 1.0,
    "mV": codata.milli,
    "A": 1.0,
    "mA": codata.milli,
    "ohm": 1.0,
    "kohm": codata.kilo,
    "Mohm": codata.mega,
    "l": codata.liter,
    "ml": codata.liter / 1000,
    "kg": 1.0,
    "g": codata.gram,
    "lb": codata.lb,
    "s": 1.0,
    "min": codata.minute,
    "h": codata.hour,
    "N": 1.0,
    "kN": codata.kilo,
    "lbf": codata.lbf,
    "kgf": codata.kgf,
    "km/h": codata.kmh,
    "m/s": 1.0,
    "mph": codata.mph,
    "deg": 1.0,
    "turn": 360.0,
    "rpm": 1.0,
    "%": 1.0,
}
TEMPERATURES = {"degC": "Celsius", "degF": "Fahrenheit"}
# The same units as the package pint 0.25 writes them. Its "Nm" is a textile count and its "mil" an angle.
PINT = {
    "N.m": "N*m",
    "lbf.ft": "lbf*ft",
    "lbf.in": "lbf*in",
    "kgf.m": "kgf*m",
    "mm": "mm",
    "um": "um",
    "cm": "cm",
    "m": "m",
    "thou": "thou",
    "in": "inch",
    "ft": "ft",
    "bar": "bar",
    "mbar": "mbar",
    "kPa": "kPa",
    "MPa": "MPa",
    "psi": "psi",
    "V": "V",
    "mV": "mV",
    "A": "A",
    "mA": "mA",
    "ohm": "ohm",
    "kohm": "kohm",
    "Mohm": "Mohm",
    "l": "l",
    "ml": "ml",
    "kg": "kg",
    "g": "g",
    "lb": "lb",
    "s": "s",
    "min": "min",
    "h": "h",
    "N": "N",
    "kN": "kN",
    "lbf": "lbf",
    "kgf": "kgf",
    "km/h": "km/h",
    "m/s": "m/s",
    "mph": "mph",
    "deg": "deg",
    "turn": "turn",
    "rpm": "rpm",
    "%": "percent",
    "degC": "degC",
    "degF": "degF",
}
VALUES = ("37.25", "0.004", "-12", "100000", "0")


def test_every_unit_is_compared() -> None:
    """No unit escapes the outside checks."""
    assert set(SI) | set(TEMPERATURES) == set(units.UNITS) == set(PINT)


@pytest.mark.parametrize("source", units.UNITS)
def test_conversion_agrees_with_scipy(source: str) -> None:
    """Every pair of one dimension, against scipy's factors; other pairs are refused, with both dimensions named."""
    ours = units.UNITS[source]
    for target, other in units.UNITS.items():
        if other.dimension != ours.dimension:
            measured = (dimension_name(unit.powers) for unit in (ours, other))
            with pytest.raises(BayError, match="measures {} and .* {};".format(*measured)):
                units.convert(Decimal(1), source, target)
            continue
        for value in VALUES:
            found = float(units.convert(Decimal(value), source, target))
            if source in TEMPERATURES:
                told = codata.convert_temperature(float(value), TEMPERATURES[source], TEMPERATURES[target])
                assert found == pytest.approx(float(told), rel=1e-12, abs=1e-11)
            else:
                assert found == pytest.approx(float(value) * SI[source] / SI[target], rel=1e-14)


@cache
def registry() -> Any:
    return pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize("source", units.UNITS)
def test_conversion_agrees_with_pint_in_decimals(source: str) -> None:
    """Outside check: the package pint 0.25 computing in decimals, to 20 figures and more than a float has."""
    reg = registry()
    for target, other in units.UNITS.items():
        if other.dimension == units.UNITS[source].dimension and "deg" not in (source, target):
            for value in VALUES:
                told = reg.Quantity(Decimal(value), PINT[source]).to(PINT[target]).magnitude
                found = units.convert(Decimal(value), source, target)
                assert abs(found - told) <= abs(told) * Decimal("1e-20") + Decimal("1e-20"), (value, target)


def test_pints_traps_are_not_ours() -> None:
    """Outside check: what pint 0.25 makes of workshop symbols, and what they are here."""
    reg = registry()
    assert reg("32.5 Nm").dimensionality != reg("N*m").dimensionality
    assert reg("25 mil").check("[]")
    assert units.by_sign("Nm") == "N.m"
    assert units.by_sign("mil") is None
    assert {units.by_sign(sign) for sign in ("ft-lb", "lb-ft", "lbf·ft", "ft.lb")} == {"lbf.ft"}


@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        # NIST SP 811, appendix B.8, from memory: 1.355818 E+00 (seven figures); the product below is exact.
        ("1", "lbf.ft", "N.m", "1.3558179483314004"),
        ("1", "in", "mm", "25.4"),  # international inch, exact
        ("1", "thou", "um", "25.4"),
        ("2.5", "thou", "mm", "0.0635"),
        ("0.05", "mm", "um", "50"),
        ("1.5", "bar", "kPa", "150"),
        ("90", "s", "min", "1.5"),
        ("1.50", "N.m", "N.m", "1.50"),  # untouched, with its zero
        ("59", "lbf.ft", "N.m", "79.9932589515526236"),
        # NIST SP 811, appendix B.8, from memory: 1.129848 E-01 and 9.80665.
        ("1", "lbf.in", "N.m", "0.1129848290276167"),
        ("1", "kgf.m", "N.m", "9.80665"),
        ("12", "lbf.in", "lbf.ft", "1"),
        # Fixed points, common knowledge: water freezes and boils; the scales meet at forty below.
        ("32", "degF", "degC", "0"),
        ("100", "degC", "degF", "212"),
        ("-40", "degC", "degF", "-40"),
        ("36", "km/h", "m/s", "10"),
        ("60", "mph", "km/h", "96.56064"),
        ("1", "turn", "deg", "360"),
        ("0.25", "Mohm", "kohm", "250"),
    ],
)
def test_conversion_is_exact(value: str, source: str, target: str, expected: str) -> None:
    """Values that can be written out are, digit for digit."""
    found = units.convert(Decimal(value), source, target)
    assert found == Decimal(expected)
    assert source != target or str(found) == expected


PAIRS = [
    (one.code, other.code)
    for one in units.UNITS.values()
    for other in units.UNITS.values()
    if one.dimension == other.dimension
]


@settings(max_examples=400)
@given(st.sampled_from(PAIRS), st.decimals(-999_999, 999_999, places=4))
def test_there_and_back_is_the_same_value(pair: tuple[str, str], value: Decimal) -> None:
    """Every pair; exact where the quotient ends, else to twenty figures of the greatest value."""
    assume(possible(value, pair[0]))
    there = units.convert(value, *pair)
    back = units.convert(there, pair[1], pair[0])
    assert abs(back - value) < Decimal("1e-17"), pair


def test_the_grammar_says_exactly_the_words_of_the_table() -> None:
    """units.gram and the table hold the same words."""
    in_grammar = {" ".join(said) for said in utterances(rule_graph("units.unit"), 8)}
    in_table = [phrase for code in units.UNITS for phrase in units.phrases(code)]
    assert in_grammar == set(in_table)
    assert len(in_table) == len(set(in_table)), "one phrase for two units"


@pytest.mark.parametrize("code", units.UNITS)
def test_a_spoken_unit_has_its_code(code: str) -> None:
    """The tag of the grammar is the code of the table, for every way of saying the unit."""
    measure = grammars().state("measure")
    for phrase in (*units.phrases(code), units.spoken(code), units.spoken(code, plural=False)):
        intent = measure.match(["two", *phrase.split()])
        assert intent is not None
        assert (intent.name, intent.value, intent.unit) == ("record", Decimal(2), code)


@pytest.mark.parametrize("code", units.UNITS)
def test_a_unit_is_said_after_one_and_after_many(code: str) -> None:
    """Singular and plural through the whole way: words of the voice, grammar, intent."""
    measure = grammars().state("measure")
    for value in ("1", "2.50", "-0.05"):
        said = units.say(Decimal(value), code)
        assert said.endswith(units.spoken(code, plural=value != "1"))
        found = measure.match(said.split())
        assert found is not None, said
        assert (str(found.value), found.unit) == (value, code)


@pytest.mark.parametrize(
    ("sign", "code"),
    [
        ("Nm", "N.m"),
        ("nm", "N.m"),
        ("N·m", "N.m"),
        ("MM", "mm"),
        ("µm", "um"),
        ("μm", "um"),
        ("°C", "degC"),
        ("degc", "degC"),
        ("mV", "mV"),
        ("mv", "mV"),
        ("MV", None),
        ("mpa", None),
        ("MPA", "MPa"),
        ("Mohm", "Mohm"),
        ("mohm", None),
        ("mΩ", None),
        ("MΩ", "Mohm"),
        ("ma", "mA"),
        ("MA", None),
        ("cc", "ml"),
        ("kph", "km/h"),
        ("PSI", "psi"),
        ("furlong", None),
        ("", None),
    ],
)
def test_a_units_sign_is_known_in_any_case_but_where_a_capital_counts(sign: str, code: str | None) -> None:
    """A capital M is a thousand million times a small one."""
    assert units.by_sign(sign) == code


def test_dimensions_are_said_by_name() -> None:
    """Each is a word or two that can follow "a unit of"."""
    assert units.dimension_of("psi") == "pressure"
    assert units.dimension_of("rpm") == "speed of rotation"
    assert all(re.fullmatch("[a-z ]+", unit.dimension) for unit in units.UNITS.values())
    assert len({unit.dimension for unit in units.UNITS.values()}) == 15


@pytest.mark.parametrize(
    ("said", "wanted", "meant"),
    [
        (None, "mm", "mm"),
        ("deg", "degC", "degC"),
        ("deg", "degF", "degF"),
        ("deg", "deg", "deg"),
        ("deg", "mm", "deg"),
        ("lb", "N", "lbf"),
        ("lb", "kg", "lb"),
        ("degF", "degC", "degF"),
        ("thou", "mm", "thou"),
        ("lb", "psi", "lb"),
    ],
)
def test_a_word_with_two_meanings_means_what_is_asked_for(said: str | None, wanted: str, meant: str) -> None:
    """Common practice, no source: "eighty degrees" of an oven, "ten pounds" on a spring balance."""
    assert units.meant(said, wanted) == meant


def test_a_job_listens_for_what_it_measures_and_one_unit_of_everything_else() -> None:
    """So a wrong dimension is still refused by name, and the rest does not cost the ears."""
    active = units.active({"N.m", "deg"})
    assert {"N.m", "lbf.ft", "lbf.in", "kgf.m", "deg", "turn", "mm", "bar", "degC", "V", "km/h", "psi"} <= active
    assert active.isdisjoint({"kPa", "um", "degF", "mph", "kN"})
    assert {units.dimension_of(code) for code in active} == {unit.dimension for unit in units.UNITS.values()}
    heard = Grammars(texts(), FILLS, units=active).state("measure")
    assert heard.match(["two", "inch", "pounds"]) is not None
    assert heard.match(["two", "millimetres"]) == Intent("record", Decimal(2), "mm")
    assert heard.match(["two", "kilopascals"]) is None
    assert heard.match(["two", "kilopascals"], spoken=False) == Intent("record", Decimal(2), "kPa")
    assert len(heard.graph.arcs) < 0.8 * len(grammars().state("measure").graph.arcs)


def test_an_unknown_unit_is_one_sentence() -> None:
    """The message names the unit and what there is instead."""
    with pytest.raises(BayError, match=r'there is no unit "furlong"; use one of N\.m'):
        units.spoken("furlong")
