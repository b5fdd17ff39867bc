"""Is a reading inside its limits?"""

from __future__ import annotations

from decimal import Decimal


def verdict(value: Decimal, low: Decimal | None, high: Decimal | None) -> str:
    """ "within", "low" or "high" against inclusive limits in the same unit; None is no limit on that side."""
    if low is not None and value < low:
        return "low"
    if high is not None and value > high:
        return "high"
    return "within"
