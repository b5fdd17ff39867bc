"""The one error of the product that a person is meant to read."""

from __future__ import annotations


def sentence(text: str) -> str:
    """`text` with a capital first letter, to be said or shown on its own."""
    return text[:1].upper() + text[1:]


class BayError(Exception):
    """Something outside the program is not as it must be.

    Attributes:
        what: what is wrong, one sentence without a full stop.
        where: the file, step, key or device it concerns; may be empty.
        mend: what the reader can do about it, one sentence without a full stop.
    """

    def __init__(self, what: str, where: str = "", mend: str = "") -> None:
        self.what = what
        self.where = where
        self.mend = mend
        super().__init__(what, where, mend)

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}; {self.mend}." if self.mend else f"{head}."
