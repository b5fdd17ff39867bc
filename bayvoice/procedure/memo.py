"""What was read of a procedure's tables: a step whose table has not changed is not read again.

Tables are known by identity. Whoever keeps a memo hands in the same table object for the same text
(`bayvoice.procedure.load.revet`); a memo that is new knows nothing and changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from bayvoice.procedure.kind import Form, Kinds
from bayvoice.procedure.model import Step
from bayvoice.procedure.places import Path

Raw = Mapping[str, Any]


class Row(NamedTuple):
    """One step to be read. `path`: where it stands in the file. `origin`: id of the step it puts back, or ""."""

    path: Path
    raw: Raw
    origin: str = ""

    @property
    def id(self) -> str:
        """Its id as written; "" where there is none."""
        value = self.raw.get("id")
        return value if isinstance(value, str) else ""


@dataclass(frozen=True, slots=True)
class Whole:
    """All steps of a file as they were last read without a mistake.

    Attributes:
        raws: the tables of the file.
        rows, ids, steps: in working order, the way back worked out.
    """

    raws: Sequence[Raw]
    rows: Sequence[Row]
    ids: list[str]
    steps: Sequence[Step | None]
    _at: dict[int, list[int]] = field(default_factory=dict)

    def rows_of(self, number: int) -> list[int]:
        """Positions in `rows` of the step that is the file's number `number`, and of its way back."""
        if not self._at:
            for i, row in enumerate(self.rows):
                at = row.path[1]
                assert isinstance(at, int)
                self._at.setdefault(at, []).append(i)
        return self._at.get(number, [])

    def with_changed(self, raws: Sequence[Raw], rows: Sequence[Row], steps: Sequence[Step | None]) -> Whole:
        """The same order with other tables in it."""
        return Whole(raws, rows, self.ids, steps, self._at)


@dataclass
class Memo:
    """Steps, ids and ways back by the identity of their tables, which are kept alive with them."""

    _steps: dict[int, tuple[Raw, Step]] = field(default_factory=dict)
    _ways: dict[int, tuple[Raw, list[tuple[Path, Raw]]]] = field(default_factory=dict)
    _order: object = None
    whole: Whole | None = None

    def order(self, order: object, kinds: Kinds[Form]) -> None:
        """What steps that depend on their order were read against: where it differs now, they are forgotten."""
        if order != self._order:
            self._order = order
            self._steps = {key: kept for key, kept in self._steps.items() if not kinds[kept[1].kind].ordered}

    def step(self, raw: Raw) -> Step | None:
        """The step read from `raw`, None where it is not known."""
        kept = self._steps.get(id(raw))
        return kept[1] if kept else None

    def keep_step(self, raw: Raw, step: Step) -> None:
        """`raw` was read without a mistake."""
        self._steps[id(raw)] = (raw, step)

    def way(self, raw: Raw) -> list[tuple[Path, Raw]] | None:
        """The way back worked out for the strip step `raw`: (place within it, table), None where it is not known."""
        kept = self._ways.get(id(raw))
        return kept[1] if kept else None

    def keep_way(self, raw: Raw, way: list[tuple[Path, Raw]]) -> list[tuple[Path, Raw]]:
        """`way` was worked out for `raw`."""
        self._ways[id(raw)] = (raw, way)
        return way

    def prune(self, raws: Sequence[Raw]) -> None:
        """Forget tables that are not among `raws`, the file's own, once there are many of them."""
        if len(self._steps) > 3 * len(raws) + 100:
            current = {id(raw) for raw in raws}
            self._steps = {key: kept for key, kept in self._steps.items() if key in current}
            self._ways = {key: kept for key, kept in self._ways.items() if key in current}
