"""The length of a wait from a procedure's own text to seconds, held against published cure and dwell times."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.steps.windows import Window, astray, needs, window
from bayvoice.errors import BayError
from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Wait
from bayvoice.runtime.options import surroundings
from tests.stage import Stage

HEAD = """
format = 1
title = "Bond"
machine = "Varrow K40 tow tractor"
[[step]]
id = "wait"
kind = "wait"
name = "bond"
say = "Let it be."
"""
TAIL = """
[[step]]
id = "after"
kind = "do"
say = "Go on."
"""


def wait(text: str) -> Wait:
    """The wait that the lines `text` describe."""
    detail = load_text(f"{HEAD}{text}{TAIL}", "bond.toml").steps[0].detail
    assert isinstance(detail, Wait)
    return detail


def at(text: str, **values: str) -> Window:
    """Its window in the surroundings `values`."""
    return window(wait(text), {name: Decimal(value) for name, value in values.items()})


def doubling(minutes: int, **values: str) -> Window:
    return at(
        f'wait = "cure"\nat_least = "{minutes} min"\nmodel = "doubling"\nreference = "25 degC"\nevery = "10 degC"\n'
        'valid = ["15 degC", "45 degC"]',
        **values,
    )


@pytest.mark.parametrize(("temperature", "gel", "cure"), [("25", 10, 60), ("35", 5, 30), ("45", 2.5, 15)])
def test_ten_degree_rule(temperature: str, gel: float, cure: int) -> None:
    """Gel and cure of an epoxy halve every 10 °C: 25 °C 10 and 60 min, 35 °C 5 and 30, and so on (Bonstone
    Materials, note on the 10 degree rule on its site)."""
    assert doubling(60, temperature=temperature).at_least == cure * 60
    assert doubling(10, temperature=temperature).at_least == gel * 60


def test_energy_of_an_exact_doubling() -> None:
    """R ln 2 / (1/298.15 - 1/308.15) = 52.9 kJ/mol, computed from the CODATA 2018 gas constant: with it, 60 min at
    25 °C are 30 at 35 °C, within what the rounding of the energy leaves."""
    found = at(
        'wait = "cure"\nat_least = "60 min"\nmodel = "arrhenius"\nreference = "25 degC"\nenergy = "52.9 kJ/mol"\n'
        'valid = ["10 degC", "40 degC"]',
        temperature="35",
    )
    assert found.at_least == pytest.approx(1800, abs=3)
    assert (found.model, found.from_) == ("arrhenius", "temperature 35 degC")


DEPTH = 'wait = "cure"\nat_least = "{}"\nmodel = "depth"\nreference = "{}"\ndeepest = "12 mm"\n'


def test_square_root_law() -> None:
    """Published by a paper that cites J. Comyn (Int. J. Adhesion and Adhesives 18, 1998, doi
    10.1016/S0143-7496(97)00031-6): 7.5 mm after 7 days. The front law then has 2.83 mm after a day, which is the 2 to 3
    mm in 24 h of generic silicones (IncureLab, secondary), where counting 7.5 mm backwards in a line would have 1.07;
    and 3 mm a day give 7.94 mm after 7 days and not 21."""
    week = DEPTH.format("168 h", "7.5 mm")
    assert at(week, depth="2.83").at_least == pytest.approx(86_400, rel=0.005)
    day = DEPTH.format("24 h", "3 mm")
    assert at(day, depth="7.94").at_least == pytest.approx(7 * 86_400, rel=0.002)
    assert at(day, depth="7").at_least == pytest.approx(5.44 * 86_400, rel=0.002)
    with pytest.raises(BayError, match="deeper than it cures through"):
        at(day, depth="21")


DRIVE_AWAY = """
wait = "cure"
[[step.table]]
temperature = "5 degC"
at_least = "{slow}"
[[step.table]]
temperature = "23 degC"
at_least = "{fast}"
"""


@pytest.mark.parametrize(
    ("fast", "seconds", "source"),
    [
        ("6 h", 21_600, "Sika, product data sheet Sikaflex-256, minimum drive-away with airbag at 23 °C, 50 %"),
        ("30 min", 1800, "I-CAR repairability notes: urethane, fast, 30 to 60 min at 75 °F, 50 %"),
        ("2 h", 7200, "I-CAR repairability notes: urethane, conventional, 2 to 8 h"),
    ],
)
def test_drive_away_times_come_out_as_printed(fast: str, seconds: int, source: str) -> None:
    """At a line of the table its own figure; between lines no shorter than the warmer one; outside, no figure."""
    text = DRIVE_AWAY.format(slow="24 h", fast=fast)
    assert at(text, temperature="23").at_least == seconds, source
    between = at(text, temperature="14").at_least
    assert between is not None
    assert seconds < between < 86_400
    for outside in ("4.9", "23.1"):
        with pytest.raises(BayError, match="outside the maker's table, which holds for 5 to 23 °C"):
            at(text, temperature=outside)


def test_skin_and_open_time() -> None:
    """Sika, product data sheet Sikaflex-256: skin after 40 min, open 30 min, at 23 °C and 50 %. The one is a minimum,
    the other a maximum, and neither is known in other air."""
    text = 'wait = "{}"\n{}\n[[step.table]]\ntemperature = "23 degC"\nhumidity = "50 %"\n{} = "{} min"'
    skin = text.format("cure", "", "at_least", 40)
    open_ = text.format("open", 'closes = "after"', "at_most", 30)
    assert at(skin, temperature="23", humidity="50") == Window(
        2400, None, "table", "temperature 23 degC, humidity 50 %"
    )
    assert at(open_, temperature="23", humidity="50").at_most == 1800
    with pytest.raises(BayError):
        at(open_, temperature="23", humidity="51")


@pytest.mark.parametrize(("printed", "seconds"), [("10 s", 10), ("90 s", 90), ("10 min", 600), ("20 min", 1200)])
def test_airbag_waits_differ_so_there_is_no_default(printed: str, seconds: int) -> None:
    """Service literature prints 10 s and 10 min (two of one maker, 1997 and 1998), 90 s (2011), 10 min (2003), 20 min:
    a wait until a charge is gone has the maker's figure or is refused."""
    assert at(f'wait = "settle"\nat_least = "{printed}"') == Window(seconds, None)
    with pytest.raises(BadProcedure, match="it is never assumed"):
        wait('wait = "settle"')


def test_gasket_remover() -> None:
    """Five to ten minutes: common practice, no source."""
    found = at('wait = "act"\nat_least = "5 min"\nat_most = "10 min"')
    assert (found.at_least, found.at_most) == (300, 600)


BOTH = """
wait = "act"
[[step.table]]
temperature = "10 degC"
at_least = "20 min"
at_most = "40 min"
[[step.table]]
temperature = "30 degC"
at_least = "5 min"
at_most = "12 min"
"""


@given(st.decimals("10", "30", places=2))
def test_a_minimum_is_never_too_short_and_a_maximum_never_too_long(temperature: Decimal) -> None:
    """Between two lines reactions go straight in the logarithm: the minimum lies on that curve or above, the maximum on
    it or below; both are monotone, and the window stays open."""
    part = float(temperature - 10) / 20
    found = window(wait(BOTH), {"temperature": temperature})
    assert found.at_least is not None
    assert found.at_most is not None
    assert found.at_least >= 1200 * (300 / 1200) ** part - 1e-6
    assert found.at_most <= 2400 * (720 / 2400) ** part + 1e-6
    assert 300 <= found.at_least <= found.at_most <= 2400


def test_what_is_asked_for_and_what_is_astray() -> None:
    assert needs(wait(BOTH)) == ("temperature",)
    assert needs(wait(DEPTH.format("24 h", "3 mm"))) == ("depth",)
    assert needs(wait(DEPTH.format("24 h", "3 mm") + 'depth = "6 mm"')) == ()
    assert astray(wait(BOTH), {"temperature": Decimal(9)}) == "temperature"
    assert astray(wait(BOTH), {"temperature": Decimal(10)}) == ""


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (
            'wait = "cure"\nat_least = "1 h"\n[[step.table]]\ntemperature = "20 degC"\nat_least = "1 h"',
            "at_least stands beside a table",
        ),
        ('wait = "cure"\ntable = []', "holds no line"),
        ('wait = "cure"\n[[step.table]]\nat_least = "1 h"', '"temperature" is missing'),
        ('wait = "cure"\n[[step.table]]\ntemperature = "20"\nat_least = "1 h"', "is not an amount in degC"),
        (
            'wait = "cure"\n[[step.table]]\ntemperature = "20 degC"\nat_least = "1 h"\n[[step.table]]\n'
            'temperature = "20 degC"\nat_least = "2 h"',
            "says two things",
        ),
        (
            'wait = "act"\n[[step.table]]\ntemperature = "20 degC"\nat_least = "1 h"\n[[step.table]]\n'
            'temperature = "30 degC"\nat_most = "2 h"',
            "only some lines of the table have at_least",
        ),
        ('wait = "act"\n[[step.table]]\ntemperature = "20 degC"\nat_least = "2 h"\nat_most = "1 h"', "longer than"),
        ('wait = "settle"\n[[step.table]]\ntemperature = "20 degC"\nat_most = "1 h"', '"at_least" is missing'),
        ('wait = "cure"\nat_least = "1 h"\nmodel = "halving"', "is no model of a wait"),
        (
            'wait = "cure"\nat_least = "1 h"\nmodel = "doubling"\nreference = "25 degC"\nevery = "10 degC"',
            '"valid" is missing',
        ),
        (
            'wait = "cure"\nat_least = "1 h"\nmodel = "doubling"\nreference = "50 degC"\nevery = "10 degC"\n'
            'valid = ["10 degC", "40 degC"]',
            "outside the range the model holds for",
        ),
        (
            'wait = "cure"\nat_least = "1 h"\nmodel = "arrhenius"\nreference = "25 degC"\nenergy = "52900 kJ/mol"\n'
            'valid = ["10 degC", "40 degC"]',
            "is not possible",
        ),
        ('wait = "cure"\nat_least = "1 h"\nevery = "10 degC"', "means nothing without a model"),
        ('wait = "cure"\nat_least = "1 h"\nmodel = "depth"\nreference = "3 mm"\ndeepest = "2 mm"', "the deepest, 2 mm"),
        (
            'wait = "act"\nat_least = "1 h"\nat_most = "2 h"\nmodel = "depth"\nreference = "3 mm"\ndeepest = "9 mm"',
            "no time at most",
        ),
    ],
)
def test_mistakes_are_named(text: str, what: str) -> None:
    """Each with what is wrong, before any job begins."""
    with pytest.raises(BadProcedure, match=what):
        wait(text)


def test_the_command_line_gives_the_surroundings() -> None:
    """With them a wait starts unasked, and the record holds where they came from; a new sitting needs them anew."""
    given = surroundings("23 degC", "50 %")
    assert given == (("temperature", "23", "degC"), ("humidity", "50", "%"))
    assert surroundings("", "") == ()
    stage = Stage(load_text(f"{HEAD}{BOTH}{TAIL}", "bond.toml"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1", ambient=given))
    assert [f.body["source"] for f in stage.facts if f.kind == "ambient"] == ["command_line"] * 2
    stage.wait(7200)
    stage.hear("go")
    started = next(f for f in stage.facts if f.kind == "wait_started")
    assert started.body["from_"] == "temperature 23 degC"
    assert started.body["model"] == "table"
    stage.again("Dalia")
    assert not stage.state.job.ambient


@pytest.mark.parametrize(
    ("temperature", "humidity"), [("hot", ""), ("23 %", ""), ("", "50 degC"), ("900", ""), ("", "101")]
)
def test_surroundings_that_are_none(temperature: str, humidity: str) -> None:
    with pytest.raises(BayError):
        surroundings(temperature, humidity)
