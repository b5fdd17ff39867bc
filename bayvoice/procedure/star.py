"""Tightening orders worked out from the number of fasteners round a joint."""

from __future__ import annotations


def star_order(count: int) -> tuple[int, ...]:
    """Cross-tightening order of `count` fasteners numbered 1..count round a joint.

    Multiples of four go in fours, a quarter turn between their members (1, 1+N/2, 1+N/4, 1+3N/4), other even counts
    in opposite pairs. The fours or pairs begin half of the remaining sector apart. This gives the published
    sequences for 4, 8, 12, 16, 20 and 24 bolts (flange assembly guideline ASME PCC-1, legacy cross pattern). Odd
    counts step round by (N-1)/2, the farthest two fasteners can be apart: five gives the five-point star 1-3-5-2-4.

    Raises:
        ValueError: `count` is below 1.
    """
    if count < 1:
        raise ValueError(f"a joint has at least one fastener, not {count}")
    if count % 2:
        stride = max(1, (count - 1) // 2)
        return tuple(1 + i * stride % count for i in range(count))
    half = count // 2
    if count % 4:
        return tuple(n for start in _starts(half) for n in (start, start + half))
    quarter = count // 4
    return tuple(
        n for start in _starts(quarter) for n in (start, start + half, start + quarter, start + half + quarter)
    )


def row_order(count: int) -> tuple[int, ...]:
    """1, 2, 3 … `count`."""
    return tuple(range(1, count + 1))


def _starts(sector: int) -> list[int]:
    """The numbers 1..`sector`, half a sector between neighbours as far as that goes."""
    stride = max(1, sector // 2)
    return [n for first in range(1, stride + 1) for n in range(first, sector + 1, stride)]
