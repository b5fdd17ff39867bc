"""Risk and certainty: every intent has a class, and more risk never needs less certainty."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import expit

from bayvoice.dialogue.session import TABLE
from bayvoice.language.intents import NAMES
from bayvoice.language.risk import _OF_STATE, LEAST, LEVELS, Risk, Verdict, risk_of, weigh

ODDS = st.floats(-8, 8)
ROWS = sorted((str(mode), name) for mode, name in TABLE)


def test_every_intent_has_a_risk_and_every_risk_its_levels() -> None:
    """In every dialogue state, and in "any"."""
    assert {risk_of("any", name) for name in NAMES} | {risk_of(*row) for row in ROWS} == set(Risk) == set(LEVELS)


def test_states_with_a_risk_of_their_own_exist() -> None:
    """The table of exceptions names only what can happen."""
    assert set(_OF_STATE) <= set(ROWS)


def test_levels_are_in_order() -> None:
    """Doubt comes before acting; what binds more is acted on later; the least of all is what a recogniser may drop."""
    assert all(levels.doubt <= levels.act for levels in LEVELS.values())
    asked = [risk for risk in Risk if risk is not Risk.VALUE]
    assert [LEVELS[risk].act for risk in asked] == sorted(LEVELS[risk].act for risk in asked)
    assert [LEVELS[risk].doubt for risk in asked] == sorted(LEVELS[risk].doubt for risk in asked)
    assert min(levels.doubt for levels in LEVELS.values()) == LEAST


@pytest.mark.parametrize(("state", "name"), ROWS)
@settings(max_examples=25, deadline=None)
@given(one=ODDS, more=ODDS)
def test_more_certainty_never_does_less(state: str, name: str, one: float, more: float) -> None:
    """refuse, doubtful, act: in this order with the odds; and below `LEAST` nothing is ever done."""
    order = [Verdict.REFUSE, Verdict.DOUBTFUL, Verdict.ACT]
    low, high = sorted((one, more))
    assert order.index(weigh(state, name, low)) <= order.index(weigh(state, name, high))
    assert high >= LEAST or weigh(state, name, high) is Verdict.REFUSE


@settings(deadline=None)
@given(sure=ODDS)
def test_stop_and_values_are_never_asked_about(sure: float) -> None:
    """A stop must be easy, and a value's read-back is the question already."""
    for name in ("stop", "record", "correct"):
        assert weigh("any", name, sure) is not Verdict.DOUBTFUL


def test_nothing_enters_the_record_on_even_odds() -> None:
    """What nobody is asked about again needs to be likelier than not. Outside check: scipy's logistic function."""
    for row in (("confirm", "yes"), ("override", "yes"), ("reason", "skip"), ("hold", "sign")):
        assert expit(LEVELS[risk_of(*row)].act) > 0.65
        assert weigh(*row, 0.0) is Verdict.DOUBTFUL


def test_an_engine_that_cannot_tell_is_believed() -> None:
    """Its own refusal is all there is."""
    assert all(weigh(*row, None) is Verdict.ACT for row in ROWS)
