"""Questions that are open between two events; what is asked is lost in a crash and asked again."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OverrideAsked:
    """A guard someone wants to pass.

    Attributes:
        what, step, name: as in the fact "overridden", or "cancel" for calling a wait off.
        reason: code, or words of the procedure, "" while it is not given; note: seq of the fact that holds it, or 0.
        who: the other person who allows it, "" for none; code: "right" where that person gave one.
    """

    what: str
    step: str
    name: str
    reason: str = ""
    who: str = ""
    code: str = ""
    note: int = 0


@dataclass(frozen=True, slots=True)
class HandOverAsked:
    """The job is to pass to `who`. `told`: all that is open was told, and `who` is to say yes."""

    who: str
    told: bool = False


@dataclass(frozen=True, slots=True)
class CodeAsked:
    """`who` wants to sign at `step` as `role`, or to allow `override`, and has still to give the code."""

    step: str
    who: str
    role: str
    override: OverrideAsked | None = None


@dataclass(frozen=True, slots=True)
class BatchAsked:
    """The batch of `item` is wanted. `number`: as spelled, "" before; `expires`: "2027-03" once a month was said.

    `listing`: it is asked in the list before the job, else before the step that uses it may be left.
    """

    item: str
    number: str
    expires: str = ""
    listing: bool = False


@dataclass(frozen=True, slots=True)
class ListAsked:
    """Whether `item` of the list is in hand."""

    item: str


@dataclass(frozen=True, slots=True)
class SaidAsked:
    """An answer in words that was heard in step `step` and is being read back.

    Attributes:
        name: what it is.
        text: as it is shown and recorded; said: as it is read back.
        words: as they were heard.
    """

    step: str
    name: str
    text: str
    said: str
    words: str


Asked = OverrideAsked | HandOverAsked | CodeAsked | BatchAsked | ListAsked | SaidAsked
