"""Units: the words are those of the grammar, the factors those of CODATA and of the standards."""

from __future__ import annotations

from decimal import Decimal

import pytest
import scipy.constants as codata

from bayvoice.errors import BayError
from bayvoice.speech import units
from tests.speech.shipped import grammars, rule_graph, utterances

# Outside check: scipy.constants (CODATA and the exact conversion factors of NIST SP 811), in SI base units.
SI = {
    "N.m": 1.0, "lbf.ft": codata.lbf * codata.foot, "mm": codata.milli, "um": codata.micron, "thou": codata.mil,
    "in": codata.inch, "bar": codata.bar, "kPa": codata.kilo, "psi": codata.psi, "V": 1.0, "A": 1.0, "ohm": 1.0,
    "l": codata.liter, "ml": codata.liter / 1000, "kg": 1.0, "g": codata.gram, "s": 1.0, "min": codata.minute,
    "h": codata.hour, "N": 1.0, "deg": 1.0, "degC": 1.0, "rpm": 1.0, "%": 1.0,
}  # fmt: skip


def test_every_unit_is_compared() -> None:
    """No unit escapes the outside check."""
    assert set(SI) == set(units.UNITS)


@pytest.mark.parametrize("source", units.UNITS)
def test_conversion_agrees_with_scipy(source: str) -> None:
    """Every pair of one dimension, against scipy's factors; other pairs are refused."""
    for target, other in units.UNITS.items():
        if other.dimension == units.UNITS[source].dimension:
            ours = units.convert(Decimal("37.25"), source, target)
            assert float(ours) == pytest.approx(37.25 * SI[source] / SI[target], rel=1e-14)
        else:
            with pytest.raises(BayError, match="is a unit of"):
                units.convert(Decimal(1), source, target)


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
    ],
)
def test_conversion_is_exact(value: str, source: str, target: str, expected: str) -> None:
    """Values that can be written out are, digit for digit."""
    found = units.convert(Decimal(value), source, target)
    assert found == Decimal(expected)
    assert source != target or str(found) == expected


def test_there_and_back_is_the_same_value() -> None:
    """To 25 figures, also where the quotient has no end."""
    for one in units.UNITS.values():
        for other in units.UNITS.values():
            if one.dimension == other.dimension:
                there = units.convert(Decimal("32.5"), one.code, other.code)
                back = units.convert(there, other.code, one.code)
                assert abs(back - Decimal("32.5")) < Decimal("1e-24"), (one.code, other.code)


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


def test_an_unknown_unit_is_one_sentence() -> None:
    """The message names the unit and what there is instead."""
    with pytest.raises(BayError, match=r'there is no unit "furlong"; use one of N\.m'):
        units.spoken("furlong")
