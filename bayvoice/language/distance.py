"""How far apart two phrases sound, by what the recogniser takes for what.

Pronunciations are handed in; the costs of taking one phone for another are the measured ones of
`bayvoice.language.confusions`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import Final

from bayvoice.language.confusions import GAP, SWAPS
from bayvoice.language.phones import PHONES, Pronunciation

Pronounce = Callable[[str], Sequence[Pronunciation]]
"""Word (lower case) -> its pronunciations, the usual one first; empty where nobody knows how it is said."""

VARIANTS: Final = 6
"""Most ways of saying one phrase that are compared."""


@dataclass(frozen=True, slots=True)
class Costs:
    """What it costs to take one phone for another.

    Attributes:
        swap: square table, indexed by two phones: 0 for the same, 1 for never taken for each other.
        gap: cost of a phone too many or too few, above 0.
        least: cost a phone (of the longer phrase) that two phrases must be apart to be told from each other.
    """

    swap: Sequence[Sequence[float]]
    gap: float
    least: float = 0.15


def _table(text: str) -> tuple[tuple[float, ...], ...]:
    rows = {name: tuple(int(figure) / 100 for figure in row) for name, *row in map(str.split, text.split("\n")) if name}
    return tuple(rows[name] for name in PHONES)


MEASURED: Final = Costs(_table(SWAPS.strip()), GAP)
"""The confusions of the recogniser `phones`."""


def distance(one: Sequence[int], other: Sequence[int], costs: Costs, limit: float) -> float | None:
    """Least cost of turning one row of phones into the other where it is below `limit`, else None.

    The weighted edit distance of R. A. Wagner and M. J. Fischer, JACM 21, 1974, kept to the band about the diagonal
    that a cost below the limit can reach (E. Ukkonen, "Algorithms for approximate string matching", 1985).
    """
    gap, swap = costs.gap, costs.swap
    wide = int(limit / gap)
    if abs(len(one) - len(other)) > wide:
        return None
    far = limit + gap
    row = [gap * j if j <= wide else far for j in range(len(other) + 1)]
    for i, phone in enumerate(one, 1):
        from_, to = max(1, i - wide), min(len(other), i + wide)
        new = [far] * (len(other) + 1)
        if i <= wide:
            new[0] = gap * i
        cost = swap[phone]
        least = new[from_ - 1]
        for j in range(from_, to + 1):
            best = row[j - 1] + cost[other[j - 1]]
            up = row[j] + gap
            left = new[j - 1] + gap
            if up < best:
                best = up
            if left < best:
                best = left
            new[j] = best
            if best < least:
                least = best
        if least >= limit:
            return None
        row = new
    return row[-1] if row[-1] < limit else None


def ways(words: Sequence[str], pronounce: Pronounce) -> tuple[Pronunciation, ...]:
    """The first `VARIANTS` ways of saying a phrase, the usual one first; none where a word cannot be pronounced
    or there is no word."""
    if not words:
        return ()
    found = (sum(said, ()) for said in product(*(pronounce(word) for word in words)))
    return tuple(islice(dict.fromkeys(islice(found, 4 * VARIANTS)), VARIANTS))


def phrase_distance(one: Sequence[str], other: Sequence[str], pronounce: Pronounce, costs: Costs = MEASURED) -> float:
    """How far apart two phrases sound, for each phone of the longer: 0 the same, towards 1 nothing in common.

    Args:
        one, other: words, lower case.
        pronounce: pronunciations; the two nearest ways of saying the phrases count.
        costs: of one phone for another.

    Returns:
        Infinity where a word cannot be pronounced or a phrase has no words.
    """
    return min(
        (_apart(a, b, costs, 2.0) for a in ways(one, pronounce) for b in ways(other, pronounce)),
        default=float("inf"),
    )


def near(
    phrases: Iterable[Sequence[str]], pronounce: Pronounce, within: float, costs: Costs = MEASURED
) -> Iterator[tuple[float, int, int]]:
    """Pairs of `phrases` less than `within` apart: `phrase_distance` and their places, the earlier first.

    Stops working a pair out as soon as it is known to be further apart, so that thousands of pairs cost little.
    """
    said = [ways(words, pronounce) for words in phrases]
    for later, these in enumerate(said):
        for earlier in range(later):
            far = min((_apart(a, b, costs, within) for a in these for b in said[earlier]), default=within)
            if far < within:
                yield far, earlier, later


def _apart(one: Pronunciation, other: Pronunciation, costs: Costs, within: float) -> float:
    longer = max(len(one), len(other))
    found = distance(one, other, costs, within * longer)
    return float("inf") if found is None else found / longer
