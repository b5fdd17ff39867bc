"""Measuring steps with sums for limits, repeated readings and gauges; fasteners one by one."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from bayvoice.procedure.load import load_kept, load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Fasten, Measure, Procedure, Stage
from bayvoice.procedure.vet import vet
from bayvoice.report.summary import loaded

HEAD = """
format = 1
title = "Hub end float"
machine = "Varrow K40 tow tractor"
[[gauge]]
id = "dial"
name = "dial gauge"
number = "DG-12"
unit = "mm"
uncertainty = 0.008
due = 2027-03-01
[[step]]
id = "depth"
kind = "measure"
say = "Measure the housing depth."
name = "housing depth"
unit = "mm"
low = 12
high = 13
gauge = "dial"
"""
FLOAT = """
[[step]]
id = "float"
kind = "measure"
say = "Measure the end float."
name = "end float"
unit = "mm"
"""
BOLTS = """
[[step]]
id = "bolts"
kind = "fasten"
say = "Tighten the bolts."
count = 4
order = "star"
"""


def load(text: str) -> Procedure:
    return load_text(text, "hub.toml")


def mistakes(text: str) -> str:
    with pytest.raises(BadProcedure) as found:
        load(text)
    return str(found.value)


def test_a_step_knows_its_gauge_its_readings_and_the_sum_of_its_limit() -> None:
    """Everything the file says about a measurement is in the model, with the digits of the file."""
    procedure = load(
        HEAD + FLOAT + 'times = 3\nspread = "0.02 mm"\nlow = 0\nlow_from = "housing_depth - 12.50 mm"\nhigh = 0.5\n'
    )
    gauge = procedure.gauge("dial")
    assert gauge is not None
    assert (gauge.title, gauge.uncertainty, gauge.due) == ("dial gauge, DG-12", Decimal("0.008"), "2027-03-01")
    detail = procedure.steps[1].detail
    assert isinstance(detail, Measure)
    assert (detail.times, detail.spread) == (3, Decimal("0.02"))
    assert (detail.low, detail.low_from) == (Decimal(0), "housing_depth - 12.50 mm")
    assert (detail.high, detail.high_from) == (Decimal("0.5"), "")
    assert procedure.gauge("torque wrench") is None


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        ('"shim + 0.05 mm"', '"shim" is not measured before this step'),
        ('"end_float + 0.05 mm"', '"end float" is not measured before this step'),
        ('"housing_depth + "', "expression ends too early"),
        ('"housing_depth + 2 bar"', "cannot be added"),
        ('"housing_depth * 2 mm"', "not a value of length|not length|the result is"),
        ('"3"', "the result is"),
        ('"3 mm"', "names no earlier reading"),
        ('"__import__(1)"', "function"),
        ('"= housing_depth - 2 mm"', 'write high_from = "housing_depth - 2 mm"'),
        ("3.5", "write it as high = 3.5"),
        ("true", "true or false stands where a text belongs"),
    ],
)
def test_a_sum_that_can_give_no_limit_is_named(limit: str, told: str) -> None:
    """Syntax, dimension, and names that are not measured earlier; a step cannot depend on itself."""
    said = mistakes(HEAD + FLOAT + f"high_from = {limit}\n")
    assert re.search(told, said), said
    assert "step float, high_from" in said


@pytest.mark.parametrize("limit", ["= housing_depth - 2 mm", "=housing_depth - 2 mm", "housing_depth - 2 mm"])
def test_a_sum_in_the_place_of_a_fixed_limit_is_told_where_it_belongs(limit: str) -> None:
    """`high` is a number; the mistake says what to write instead, and it is right as it says."""
    said = mistakes(HEAD + FLOAT + f'high = "{limit}"\n')
    assert "step float, high: " in said
    written = 'high_from = "housing_depth - 2 mm"'
    assert f"write it as {written}" in said
    assert load(HEAD + FLOAT + written + "\n").steps[1].id == "float"


def test_a_record_of_an_earlier_version_is_read_as_it_was_meant() -> None:
    """A job holds its procedure word for word: one with "= …" for a limit can still be taken up and reported on."""
    text = HEAD + FLOAT + 'low = "= housing_depth - 13 mm"\nhigh = 0.5\n'
    procedure = load_kept(text, "hub.toml")
    detail = procedure.steps[1].detail
    assert isinstance(detail, Measure)
    assert (detail.low, detail.low_from, detail.high) == (None, "housing_depth - 13 mm", Decimal("0.5"))
    assert procedure.text == text
    assert loaded(text) == load_kept(text, "the procedure in the record")


def test_a_limit_that_hangs_on_a_reading_alone_is_remarked_on() -> None:
    """Side by side, and silent where a fixed limit stands beside it."""

    def remarks(lines: str) -> list[str]:
        return [str(each) for each in vet(load(HEAD + FLOAT + lines)).warnings if "hangs on another" in str(each)]

    both = 'low_from = "housing_depth - 13 mm"\nhigh_from = "housing_depth - 12 mm"\n'
    assert len(remarks(both)) == 2
    (one,) = remarks(both + "high = 1.0\n")
    assert "low_from" in one
    assert "add low = " in one
    assert not remarks(both + "low = 0.0\nhigh = 1.0\n")


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("times = 0\n", "out of range"),
        ("times = 11\n", "out of range"),
        ("spread = 0.02\n", "a single reading has no spread"),
        ('times = 3\nspread = "0.02 bar"\n', "not in the unit"),
        ("times = 3\nspread = -1\n", "below nought"),
    ],
)
def test_repeated_readings_are_checked(lines: str, told: str) -> None:
    """How many, and how far apart."""
    assert told in mistakes(HEAD + FLOAT + "high = 1\n" + lines)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("due = 2027-03-01", 'due = "2027-02-29"', "is not a day"),
        ("due = 2027-03-01", "due = 7", "is not a day"),
        ("uncertainty = 0.008", "uncertainty = -1", "below nought"),
        ('unit = "mm"\nuncertainty', 'unit = "bar"\nuncertainty', "measures pressure, the step length"),
        ('unit = "mm"\nuncertainty', "uncertainty", '"unit" is missing'),
        ('name = "dial gauge"\n', "", '"name" is missing'),
    ],
)
def test_a_gauge_is_checked(old: str, new: str, told: str) -> None:
    """Its date, its uncertainty, and whether it can measure what the step asks for."""
    assert told in mistakes(HEAD.replace(old, new, 1))


def test_a_gauge_may_be_asked_for_its_date_or_have_none() -> None:
    """A date that is not in the file is asked before use, or not known."""
    assert load(HEAD.replace("due = 2027-03-01", 'due = "ask"')).gauges[0].due == "ask"
    assert load(HEAD.replace("due = 2027-03-01\n", "")).gauges[0].due == ""


def test_a_gauge_too_coarse_for_its_limits_is_remarked_on() -> None:
    """ISO 14253-1: limits nearer than twice the expanded uncertainty leave no reading that is shown to conform."""
    coarse = HEAD.replace("low = 12\nhigh = 13", "low = 12.00\nhigh = 12.01")
    assert any("no reading is shown to be within" in str(remark) for remark in vet(load(coarse)).warnings)
    assert not any("no reading" in str(remark) for remark in vet(load(HEAD)).warnings)


def test_fasteners_one_by_one_with_a_tolerance() -> None:
    """The band of a stage: 4 % of 24 N·m is 0.96 N·m; degrees have their own."""
    text = 'stages = ["10 N.m", "24 N.m", "90 deg", "90 deg"]\neach = true\ntolerance = ["4 %", "5 deg"]\n'
    detail = load(HEAD + BOLTS + text).steps[1].detail
    assert isinstance(detail, Fasten)
    assert detail.each
    assert detail.band(Stage(Decimal(24), "N.m")) == (Decimal("23.04"), Decimal("24.96"))
    assert detail.band(Stage(Decimal(90), "deg")) == (Decimal(85), Decimal(95))
    assert [detail.turned(n) for n in range(5)] == [0, 0, 0, 90, 180]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ('stages = ["24 N.m"]\neach = true\ntolerance = "5 deg"\n', "no stage is an angle"),
        ('stages = ["24 N.m"]\neach = true\ntolerance = "4"\n', "is not a tolerance"),
        ('stages = ["24 N.m"]\neach = true\ntolerance = "2 lbf.ft"\n', "not in the unit of the stages"),
        ('stages = ["24 N.m"]\neach = true\ntolerance = ["4 %", "1 N.m"]\n', "two tolerances"),
        ('stages = ["24 N.m"]\neach = true\ntolerance = "100 %"\n', "the whole torque"),
        ('stages = ["24 N.m"]\ntolerance = "4 %"\n', "no value is asked for each fastener"),
        ("last_round = true\n", "a last round needs a last stage that is a torque"),
        ('stages = ["24 N.m", "90 deg"]\nlast_round = true\n', "a last round needs a last stage that is a torque"),
    ],
)
def test_what_cannot_be_done_with_fasteners_is_named(lines: str, told: str) -> None:
    """A tolerance without its stage, a last round without a torque."""
    assert told in mistakes(HEAD + BOLTS + lines)


def test_a_rectangle_is_drawn_down_from_the_middle() -> None:
    """Ten bolts in two rows of five: the two in the middle first, the corners last (common practice, no source)."""
    detail = load(HEAD + BOLTS.replace('count = 4\norder = "star"', 'count = 10\norder = "rectangle"\nrows = 2')).steps[
        1
    ]
    assert isinstance(detail.detail, Fasten)
    order = detail.detail.order
    assert set(order[:2]) == {3, 8}
    assert set(order[-4:]) == {1, 5, 6, 10}
    assert "do not stand in 3 equal rows" in mistakes(
        HEAD + BOLTS.replace('order = "star"', 'order = "rectangle"\nrows = 3')
    )
    assert "rows belong to a rectangle" in mistakes(HEAD + BOLTS + "rows = 2\n")
    assert '"rows" is missing' in mistakes(HEAD + BOLTS.replace('"star"', '"rectangle"'))


def test_vetting_tells_all_of_it() -> None:
    """Sum, readings, spread, gauge and fasteners, for a reader and for a program."""
    text = (
        HEAD + FLOAT + 'times = 3\nspread = 0.02\nlow_from = "housing_depth - 12.50 mm"\nhigh = 0.5\ngauge = "dial"\n'
    )
    text += BOLTS + 'stages = ["24 N.m"]\neach = true\ntolerance = "4 %"\nlast_round = true\n'
    vetting = vet(load(text))
    lines = "\n".join(vetting.lines())
    assert "end float: (housing_depth - 12.50 mm) to 0.5 mm, mean of 3, spread 0.02 mm at most, dial" in lines
    assert "dial gauge, DG-12, uncertain by 0.008 mm, in date until 2027-03-01" in lines
    assert "tighten to 24 N.m, one by one, within 4 %, then round until none turns: 1-3-2-4" in lines
    told = vetting.as_dict()
    assert told["gauges"][0]["due"] == "2027-03-01"
    assert told["measurements"][1]["times"] == 3
    assert told["fasteners"][0]["tolerance"] == [{"amount": "4", "unit": "%"}]
