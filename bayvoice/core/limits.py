"""The limits of a measurement, as they are said and shown."""

from __future__ import annotations

from bayvoice.core.wording import amount
from bayvoice.procedure.model import Measure


def limits_key(detail: Measure) -> str:
    """Which limits a measurement has: "both", "low" or "high"."""
    return "both" if None not in (detail.low, detail.high) else "low" if detail.high is None else "high"


def limit_fields(detail: Measure) -> dict[str, str]:
    """The limits as shown and said."""
    return {
        "low": "" if detail.low is None else f"{detail.low:f}",
        "low_unit": "" if detail.low is None else amount(detail.low, detail.unit),
        "high_unit": "" if detail.high is None else amount(detail.high, detail.unit),
    }
