"""Do the facts on the people of the bay follow from each other? Who was there, who allowed it, how many codes failed.

Like `bayvoice.report.proof` it knows nothing of how the product came to them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from bayvoice.record.sqlite.roster import KINDS

_KEYS: Final = {kind: frozenset(keys) for kind, keys in KINDS.items()}


@dataclass(slots=True)
class _Kept:
    """A person as the facts so far have them."""

    role: str
    code: str
    wrong: int = 0


@dataclass(slots=True)
class PeopleProof:
    """The facts of that chain, taken one by one."""

    _count: int = 0
    _imported: bool = False
    _people: dict[int, _Kept] = field(default_factory=dict)

    def take(self, seq: int, wall: float, kind: str, body: Mapping[str, Any]) -> tuple[str, str]:
        """What does not hold of the next fact: (kind of fault, why), ("", "") where all does."""
        self._count += 1
        if (self._count == 1) != (kind == "people_began"):
            return "order", "the people of the bay begin with their first fact, and only with that"
        keys = _KEYS.get(kind)
        if keys is None:
            return "", ""
        if missing := sorted(keys - body.keys()):
            return "sum", f"a fact of this kind says {', '.join(missing)}, and this one does not"
        try:
            why = self._follows(kind, body)
        except (TypeError, KeyError, ValueError, AttributeError):
            return "sum", "its values cannot be read"
        return ("order", why) if why else ("", "")

    def _follows(self, kind: str, body: Mapping[str, Any]) -> str:
        if kind == "people_began":
            self._imported = bool(body["imported"])
            return ""
        who = int(body["who"]["person"])
        kept = self._people.get(who)
        if kind == "person_set":
            return self._set(who, kept, body)
        self._imported = False
        if kept is None:
            return f"person {who} was not kept here"
        if kind == "person_removed":
            why = self._allowed(body, kept, who)
            del self._people[who]
            return why
        if kind == "code_wrong":
            kept.wrong += 1
        if kind != "code_right" and body["count"] != kept.wrong:
            return f"{kept.wrong} wrong codes stand here, not {body['count']}"
        if kind == "code_right":
            kept.wrong = 0
        return ""

    def _set(self, who: int, kept: _Kept | None, body: Mapping[str, Any]) -> str:
        if body["how"] == "imported":
            if not self._imported:
                return "only the first people can come from a file"
            why = ""
        else:
            self._imported = False
            why = self._allowed(body, kept, who)
        self._people[who] = _Kept(body["role"], body["code"])
        return why

    def _allowed(self, body: Mapping[str, Any], kept: _Kept | None, who: int) -> str:
        """Why nobody allowed a change that needs somebody's code; "" where somebody did, or it needs none."""
        foremen = {n for n, one in self._people.items() if one.code and one.role.casefold() == "foreman"}
        by = int(body["by"]["person"]) if body["by"] else 0
        if foremen and by in foremen:
            return ""
        own = kept is not None and bool(kept.code)
        # A new code and nothing else: the old one is enough.
        if own and by == who and (not foremen or (kept is not None and body.get("role") == kept.role)):
            return ""
        if foremen:
            return "it takes a foreman's code, and no foreman allowed it"
        return "it takes the code of the person, and it was not given" if own else ""
