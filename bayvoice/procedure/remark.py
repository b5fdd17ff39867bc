"""One thing that is allowed in a procedure and unwise."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that works and is unwise. `step` is empty where it concerns the whole procedure."""

    step: str
    key: str
    what: str
    mend: str

    def __str__(self) -> str:
        place = ", ".join(part for part in (f"step {self.step}" if self.step else "", self.key) if part)
        return f"{place + ': ' if place else ''}{self.what}; {self.mend}."

    def as_dict(self) -> dict[str, str]:
        """For JSON: the attributes under their own names."""
        return {"step": self.step, "key": self.key, "what": self.what, "mend": self.mend}
