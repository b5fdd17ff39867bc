"""Limits worked out from other values: what is read, what is refused, and where the fault is."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.expression import DEEPEST, LONGEST, evaluate, names, parse

VALUES = {
    "shim thickness": (Decimal("0.35"), "mm"),
    "end float": (Decimal("4"), "thou"),
    "cover torque": (Decimal("24.0"), "N.m"),
    "oil": (Decimal("61"), "degC"),
    "bay": (Decimal("23"), "degC"),
    "in": (Decimal("7"), "V"),
    "teeth": (Decimal("67"), ""),
}


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("0.05 mm", "0.05", "mm"),
        ("shim_thickness + 0.05 mm", "0.40", "mm"),
        ("'shim thickness' - 2 * 0.05 mm", "0.25", "mm"),
        ('"Shim-Thickness" * 2', "0.70", "mm"),
        ("shim_thickness + end_float", "0.4516", "mm"),  # 4 thou = 0.1016 mm
        ("end_float + shim_thickness - shim_thickness", "4", "thou"),
        ("max(shim_thickness, end_float, 0.1 mm)", "0.35", "mm"),
        ("min(0.2 mm, shim_thickness) / 2", "0.1", "mm"),
        ("abs(0.1 mm - shim_thickness)", "0.25", "mm"),
        ("round(0.1016 mm, 0.01 mm)", "0.10", "mm"),
        ("round(0.125 mm, 0.01 mm)", "0.13", "mm"),
        ("round(-0.125 mm, 0.01 mm)", "-0.13", "mm"),
        ("round(2.5)", "3", ""),
        ("2 + 3 * 4", "14", ""),
        ("(2 + 3) * 4", "20", ""),
        ("10 - 4 - 3", "3", ""),
        ("12 / 4 / 3", "1", ""),
        ("--2", "2", ""),
        ("-(2 + 3)", "-5", ""),
        ("200 % / teeth * teeth", "200", "%"),
        ("oil - bay", "38", "K"),
        ("oil + 5 K", "66", "degC"),
        ("5 K + oil", "66", "degC"),
        ("-5 degC + 10 K", "5", "degC"),
        ("max(oil, bay)", "61", "degC"),
        ("cover_torque * 95 %", "22.8", "N.m"),
        ("24 N·m + 0 N.m", "24", "N.m"),
        ("cover_torque / 0.4 m", "60", "N"),
        ("100 N * 0.24 m", "24", "N.m"),
        ("in * 2", "14", "V"),  # a value may have the name of a unit
        ("1 / 4", "0.25", ""),
        (".5 mm", "0.5", "mm"),
        ("5 l/min * 2 min", "10", "l"),
    ],
)
def test_worth(text: str, value: str, unit: str) -> None:
    assert evaluate(text, VALUES) == (Decimal(value), unit)
    units = {name: code for name, (_, code) in VALUES.items()}
    assert parse(text).check(units) == unit


def test_result_in_a_wanted_unit() -> None:
    """The step's unit is the caller's; what does not fit it is refused, with and without values."""
    assert evaluate("shim_thickness + end_float", VALUES, "um") == (Decimal("451.6"), "um")
    assert evaluate("oil + 1 K", VALUES, "degF") == (Decimal("143.6"), "degF")
    assert evaluate("1.5 / 100", VALUES, "%") == (Decimal("1.5"), "%")
    assert evaluate("1 mm / 3", VALUES, "mm") == (Decimal("0.3333333333333333333333333333"), "mm")
    for text, into, words in [
        ("shim_thickness", "N.m", "value of length, not torque"),
        ("oil - bay", "degC", "difference of temperatures"),
        ("2", "mm", "plain number, not length"),
        ("1 mm", "furlong", 'no unit "furlong"'),
    ]:
        with pytest.raises(BayError, match=words):
            evaluate(text, VALUES, into)
        with pytest.raises(BayError, match=words):
            parse(text).check({name: code for name, (_, code) in VALUES.items()}, into)


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("", 1, "ends too early"),
        ("2 +", 4, "ends too early"),
        ("(2 + 3", 7, "not closed"),
        ("2 + 3)", 6, "not expected"),
        ("shim thickness", 6, "underscores"),
        ("2 mm 3 mm", 6, "between two values"),
        ("0.05 furlong", 6, '"furlong" is not a unit'),
        ("2 shim_thickness", 3, "not a unit"),
        ("2. mm", 2, "ends with a point"),
        ("shim_thickness + 20 N.m", 16, "torque cannot be added to a value of length"),
        ("shim_thickness - 2", 16, "plain number cannot be taken from a value of length"),
        ("oil + bay", 5, "cannot be added"),
        ("oil * 2", 5, "cannot be used"),
        ("abs(oil)", 1, "cannot be used"),
        ("max(oil, 5 K)", 1, "cannot be compared"),
        ("max(1 mm, 1 s)", 1, "cannot be compared"),
        ("1 / (2 - 2)", 3, "divides by zero"),
        ("max(1)", 1, "two values or more"),
        ("abs(1, 2)", 1, "one value"),
        ("sqrt(2)", 1, 'no function "sqrt"'),
        ("round(1 mm)", 1, "rounded"),
        ("round(1, 0)", 1, "not above zero"),
        ("2 ** 3", 4, "not expected"),
        ("'shim", 1, "not closed"),
        ("''", 1, "empty"),
        ("__import__('os')", 1, "no function"),
        ("teeth.real", 6, "means nothing"),
        ("[1]", 1, "means nothing"),
        ("1e9 mm", 2, "not a unit"),
        ("٣ + 1", 1, "means nothing"),
    ],
)
def test_refused_with_the_column(text: str, column: int, words: str) -> None:
    with pytest.raises(BayError) as caught:
        evaluate(text, VALUES)
    assert words in str(caught.value)
    assert caught.value.where.startswith(f"column {column} of")
    assert caught.value.mend


def test_values_that_are_missing_or_doubtful() -> None:
    with pytest.raises(BayError, match=r'no value "gap".*the values are: bay, cover torque'):
        evaluate("gap", VALUES)
    with pytest.raises(BayError, match="two values are called"):
        evaluate("shim_thickness", {**VALUES, "Shim-thickness": (Decimal(1), "mm")})
    with pytest.raises(BayError, match="not an ordinary number"):
        evaluate("x", {"x": (Decimal("nan"), "mm")})
    with pytest.raises(BayError, match="area"):
        evaluate("1 mm * 1 mm", {}, "mm")
    with pytest.raises(BayError, match="no unit for that"):
        evaluate("1 mm / 1 kg", {})
    with pytest.raises(BayError, match="beyond any measurement"):
        evaluate("x * x", {"x": (Decimal("1e50"), "")})
    with pytest.raises(BayError, match="absolute zero"):
        evaluate("20 degC - 500 K", {})


def test_bounds() -> None:
    """Neither length nor depth can exhaust anything."""
    with pytest.raises(BayError, match="too long"):
        parse("1+" * LONGEST + "1")
    for deep in ("(" * (DEEPEST + 2) + "1" + ")" * (DEEPEST + 2), "abs(" * (DEEPEST + 2) + "1", "+" * 60 + "(1)"):
        with pytest.raises(BayError, match=r"too many|not closed"):
            parse(deep)
    assert evaluate("(" * DEEPEST + "1" + ")" * DEEPEST, {}) == (Decimal(1), "")
    assert evaluate("1" + "*9" * ((LONGEST - 1) // 2 - 130), {})[0] == 9 ** ((LONGEST - 1) // 2 - 130)


def test_names_are_listed_once_in_order() -> None:
    assert names("max(shim_thickness, 'End float') + Shim_Thickness - 2 mm") == ("shim thickness", "end float")
    assert names("2 mm + 1 in") == ()


ALPHABET = st.sampled_from(
    [
        "0.05",
        "mm",
        "N.m",
        "degC",
        "%",
        "+",
        "-",
        "*",
        "/",
        "(",
        ")",
        ",",
        " ",
        "max",
        "min",
        "round",
        "abs",
        "'",
        '"',
        "x",
        "shim_thickness",
        "oil",
        "teeth",
        "__class__",
        "lambda",
        "²",
        "°",
        "\n",
        "\0",
    ]
)


@settings(max_examples=400)
@given(st.one_of(st.text(max_size=60), st.lists(ALPHABET, max_size=40).map("".join), st.lists(ALPHABET).map(" ".join)))
def test_any_text_gives_a_value_or_a_complaint(text: str) -> None:
    """Random text, and random words of the language, never give anything else; names and check agree with evaluate."""
    try:
        value, unit = evaluate(text, VALUES)
    except BayError:
        return
    assert isinstance(value, Decimal)
    assert value.is_finite()
    assert set(names(text)) <= set(VALUES)
    assert parse(text).check({name: code for name, (_, code) in VALUES.items()}) == unit


lengths = st.tuples(st.integers(-(10**6), 10**6), st.sampled_from(["mm", "um", "in", "thou"]))
REGISTRY: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)


def joined(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.tuples(inner, st.sampled_from("+-"), inner).map(lambda t: f"({t[0]} {t[1]} {t[2]})")


@given(st.recursive(lengths.map(lambda pair: f"{pair[0]} {pair[1]}"), joined, max_leaves=8))
def test_sums_of_lengths_are_those_of_pint(text: str) -> None:
    """The reference library, in fractions, reads the same sum."""
    value, unit = evaluate(text, {}, "um")
    expected = REGISTRY.parse_expression(text).to("um").magnitude
    assert Fraction(value) == Fraction(expected)
    assert unit == "um"


@given(st.fractions(0, 1000).filter(lambda f: f.denominator < 1000), st.integers(1, 50))
def test_round_is_to_the_nearest_step(value: Fraction, step: int) -> None:
    """Never farther than half a step, always a whole number of steps."""
    found, _ = evaluate(f"round({value.numerator} mm / {value.denominator}, {step} um)", {}, "um")
    assert found % step == 0
    assert abs(Fraction(found) - value * 1000) <= Fraction(step, 2)
