"""What became of each utterance of a bench, counted by condition, with intervals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np

from bayvoice.ears.base import Hearing
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.intents import Intent
from bayvoice.language.risk import Verdict, weigh
from tests.material import Item, same


class End(StrEnum):
    """What became of one utterance."""

    RIGHT = "right"
    """Acted on as it was meant; for foreign talk: nothing was done or asked."""
    WRONG = "wrong"
    """Acted on as something else."""
    ASKED = "asked"
    """Answered with a question, "say again" in one form or another."""
    MISSED = "missed"
    """Meant something and was passed over."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One utterance in one condition.

    Attributes:
        group, level, kind: where it counts: material, "clean" or decibels over the noise, kind of noise or "".
        voice, text, heard: who said what, and the words heard.
        end: what became of it.
    """

    group: str
    level: str
    kind: str
    voice: str
    text: str
    heard: str
    end: End

    def plain(self) -> dict[str, Any]:
        """As JSON writes it."""
        return asdict(self)


def outcome(item: Item, level: str, kind: str, hearing: Hearing, active: StateGrammar) -> Outcome:
    """What a job with everything `active` does with `hearing` of `item`."""
    meant = active.match(item.text.split()) if item.text else None
    intent = None if hearing.why else active.match(hearing.words)
    verdict = Verdict.REFUSE if intent is None else weigh("any", intent.name, hearing.sure)
    end = _end(meant, intent, verdict)
    return Outcome(item.group, level, kind, item.voice, item.text, " ".join(hearing.words), end)


def _end(meant: Intent | None, intent: Intent | None, verdict: Verdict) -> End:
    if verdict is Verdict.ACT:
        return End.RIGHT if meant is not None and same(meant, intent) else End.WRONG
    if verdict is Verdict.DOUBTFUL:
        return End.ASKED
    return End.RIGHT if meant is None else End.MISSED


Z: Final = 1.96
"""Standard normal quantile of a two-sided 95 % interval."""


def interval(hits: int, of: int) -> tuple[float, float]:
    """Wilson's 95 % score interval of a share (E. B. Wilson, 1927), both ends 0..1; the whole range for none of none.

    Exact enough for the small counts here, and never outside 0..1.
    """
    if of == 0:
        return 0.0, 1.0
    share, size = hits / of, Z * Z / of
    middle = (share + size / 2) / (1 + size)
    reach = Z / (1 + size) * float(np.sqrt(share * (1 - share) / of + size / (4 * of)))
    return max(0.0, middle - reach), min(1.0, middle + reach)


def count(found: Iterable[Outcome], key: Callable[[Outcome], str]) -> dict[str, dict[str, Counter[End]]]:
    """Group -> column -> how many ended how; a column is what `key` says."""
    out: dict[str, dict[str, Counter[End]]] = {}
    for one in found:
        out.setdefault(one.group, {}).setdefault(key(one), Counter())[one.end] += 1
    return out


def table(found: Sequence[Outcome], key: Callable[[Outcome], str], columns: Sequence[str]) -> list[str]:
    """Lines of text: a group a line, a column each of `columns`.

    A cell is the share acted on rightly with its 95 % interval and, after "w", how many were acted on wrongly; for
    foreign talk the share acted on.
    """
    lines = [" " * 22 + "".join(f"{column[-27:]:>28}" for column in columns)]
    for group, cells in count(found, key).items():
        foreign = group.startswith("foreign")
        line = f"{group[:22]:22}"
        for column in columns:
            ends = cells.get(column)
            if ends is None:
                line += f"{'-':>28}"
                continue
            of, hits = ends.total(), ends[End.WRONG if foreign else End.RIGHT]
            low, high = interval(hits, of)
            more = "" if foreign else f" w{ends[End.WRONG]}"
            line += f"{f'{100 * hits / of:.1f} ({100 * low:.0f}-{100 * high:.0f}) of {of}{more}':>28}"
        lines.append(line)
    return lines
