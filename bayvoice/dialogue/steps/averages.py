"""The mean of repeated readings, which is what their step is judged by."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.dialogue.engine.turn import Turn
from bayvoice.errors import BayError
from bayvoice.job.limits import limits, shown, uncertainty_of
from bayvoice.language.wording import amount
from bayvoice.procedure.model import Measure, Step
from bayvoice.trade.statistics import summary
from bayvoice.trade.verdict import judge


def average(turn: Turn, step: Step) -> str:
    """Record the mean of a complete series and say it.

    Returns:
        Its verdict, "" where its limits can't be worked out: that is said, nothing is recorded, and the step is open.
    """
    detail = step.detail
    assert isinstance(detail, Measure)
    series = turn.job.measured.series(step.id)
    found = summary([r.value for r in series])
    # Two places more than the readings tell every mean of up to a hundred from its neighbours.
    fine = Decimal(1).scaleb(-(found.places + 2))
    mean = found.mean if found.mean == found.mean.quantize(fine) else found.mean.quantize(fine)
    uncertainty = uncertainty_of(turn.job.procedure, detail)
    scattered = detail.spread is not None and found.spread > detail.spread
    try:
        edges = limits(detail, turn.job.measured)
    except BayError as why:
        turn.say("no_limits", name=detail.name, what=why.what, mend=why.mend)
        return ""
    verdict = "scattered" if scattered else judge(mean, edges.low, edges.high, uncertainty)
    deviation = found.sd if found.sd is not None else Decimal(0)
    turn.fact(
        "averaged", step=step.id, name=detail.name, value=f"{mean:f}", unit=detail.unit, n=len(series),
        spread=f"{found.spread:f}", deviation=f"{deviation.quantize(fine):f}", spread_limit=shown(detail.spread),
        low=shown(edges.low), high=shown(edges.high), uncertainty=shown(uncertainty), verdict=verdict,
    )  # fmt: skip
    turn.say("averaged", name=detail.name, value=amount(mean, detail.unit), spread=amount(found.spread, detail.unit))
    return verdict


def complete(turn: Turn, step: Step) -> None:
    """After a break: the means of series whose last reading was the last thing recorded, of `step` or of any other that
    was being corrected from there."""
    others = (each for each in turn.job.procedure.steps if each.id != step.id)
    for each in (*others, step):
        detail = each.detail
        if isinstance(detail, Measure) and detail.times > 1 and turn.job.measured.unmeant(each.id, detail.times):
            average(turn, each)
