"""Gauges: what a value is taken with, whether its calibration still runs, and what follows if not."""

from __future__ import annotations

from bayvoice.dialogue.engine.state import GaugeAsked, Mode
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.job.readings import IN_DATE, NOT_KNOWN, OUT_OF_DATE
from bayvoice.procedure.gauges import ASK
from bayvoice.procedure.model import Gauge, Step
from bayvoice.trade.days import day_of, written


def ready(turn: Turn, step: Step, gauge: Gauge | None) -> bool:
    """Record `gauge`, with which `step` measures, at its first use in this sitting.

    Returns:
        False where the technician has been asked about its calibration and values must wait for the answer.
    """
    if gauge is None or turn.job.measured.gauge_state(gauge.id):
        return True
    if gauge.due == ASK:
        turn.put(pending=GaugeAsked(step.id, gauge.id))
        turn.mode(Mode.GAUGE)
        ask(turn, gauge)
        return False
    state = NOT_KNOWN if not gauge.due else IN_DATE if day_of(turn.at.wall) <= gauge.due else OUT_OF_DATE
    use(turn, step, gauge, state)
    return True


def ask(turn: Turn, gauge: Gauge) -> None:
    """Ask whether the gauge's calibration still runs."""
    turn.say("ask_gauge", gauge=gauge.title)


def use(turn: Turn, step: Step, gauge: Gauge, state: str) -> None:
    """Record that `gauge` is used, and say which it is and what is wrong with it."""
    turn.fact(
        "gauge_used",
        step=step.id,
        gauge=gauge.name,
        number=gauge.number,
        due="" if gauge.due == ASK else gauge.due,
        uncertainty="" if gauge.uncertainty is None else f"{gauge.uncertainty:f}",
        unit=gauge.unit,
        state=state,
    )
    if state == OUT_OF_DATE:
        turn.ring("refused")
        dated = gauge.due not in ("", ASK)
        turn.say("gauge_out_of_date" if dated else "gauge_not_in_date", gauge=gauge.title, due=written(gauge.due))
    else:
        turn.say("gauge_in_use" if state == IN_DATE else "gauge_not_known", gauge=gauge.title)
