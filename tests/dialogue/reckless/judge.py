"""A judge of what a record shows. It reads facts as JSON, the procedure's own text, and a clock nobody can set.

It shares no code with the product: a rule that the product gets wrong is not got wrong here for the same reason.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tests.dialogue.reckless.rules import ALONE, NOBODY, Rule, Rules, number, read

TICK = 0.01
"""Seconds by which a wait may seem short because a fact gives its start to the millisecond."""

ASKED = ("check", "measure")
"""Kinds of step whose answer shows whether they are in order."""

# From memory: letters that look alike in most type faces (the idea is that of UTS #39, "skeleton").
_ALIKE = str.maketrans(
    {
        "а": "a",
        "е": "e",
        "о": "o",
        "р": "p",
        "с": "c",
        "у": "y",
        "х": "x",
        "і": "i",
        "м": "m",
        "т": "t",
        "к": "k",
        "l": "i",
        "1": "i",
        "|": "i",
        "0": "o",
    }
)
_TITLES = ("mr", "mrs", "ms", "dr")


def likeness(name: str) -> str:
    """What is left of a name when everything is taken away that a reader may overlook."""
    plain = unicodedata.normalize("NFKD", name.casefold()).translate(_ALIKE)
    words = "".join(c if c.isalnum() else " " for c in plain if not unicodedata.combining(c)).split()
    return "".join(word for word in words if word not in _TITLES)


@dataclass(frozen=True)
class Member:
    """Somebody of the bay's roster."""

    role: str = ""
    coded: bool = False


@dataclass
class Judge:
    """`wrong` holds what a record must not show, as (what, step); it only grows.

    Args:
        members: the roster, name -> role and whether a code is kept; empty where the bay keeps none.
    """

    members: Mapping[str, Member]
    wrong: list[tuple[str, str]] = field(default_factory=list)
    rules: Rules = field(default_factory=lambda: Rules((), frozenset()))
    hands: list[str] = field(default_factory=list)
    here: str = ""
    runs: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Wait step -> (true time at which it can have begun at the earliest, its minimum)."""
    served: set[str] = field(default_factory=set)
    begun: list[float] = field(default_factory=list)
    """True times at which the technician said something that can begin a wait."""
    came: dict[str, float] = field(default_factory=dict)
    """Step -> true time at which it was first come to since it was last to be done."""
    allowed: set[str] = field(default_factory=set)
    """Steps whose guard somebody passed who may."""
    signed: dict[str, set[str]] = field(default_factory=dict)
    vouched: set[tuple[str, str]] = field(default_factory=set)
    answers: dict[str, bool] = field(default_factory=dict)
    stops: dict[str, int] = field(default_factory=dict)
    """Step -> where on the line its finding stops the work."""
    for_good: set[str] = field(default_factory=set)
    closed: set[str] = field(default_factory=set)
    deferred: set[str] = field(default_factory=set)
    met: set[str] = field(default_factory=set)
    """Waits of the present aside that were come to."""
    sent_by: str = ""
    done: bool = False

    # what the judge is told

    def said(self, true: float, words: str) -> None:
        """The technician said `words`."""
        if words.startswith(("go", "start", "restart")):
            self.begun.append(true)

    def fact(self, fact: Mapping[str, Any], true: float, mono: float) -> None:
        """A fact is on the disk: at what true time, and what the product's own clock showed."""
        handler = getattr(self, f"_{fact['kind']}", None)
        if handler is not None:
            handler(fact["body"], true, mono)

    # who

    def _job_began(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        self.rules = read(b["text"])

    def _sitting_began(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        self.hands.append(b["by"])
        self.begun.clear()

    def _handed_over(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        self.hands += [b["leaves"], b["takes"]]

    def _barred(self, who: str, code: str, role: str) -> str:
        """Why `who` is not the other person a guard wants; "" where nothing speaks against it."""
        if not who:
            return "in nobody's name"
        if likeness(who) in {likeness(hand) for hand in self.hands}:
            return "by somebody who worked on the job"
        if not self.members:
            return ""
        member = self.members.get(who)
        if member is None:
            return "by somebody who is not of the bay"
        if member.coded and code != "right":
            return "without the code of its person"
        if role and member.role != role and any(one.role == role for one in self.members.values()):
            return f"by a {member.role} and not a {role}"
        return ""

    # guards that are passed

    def _signed(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        step, who = b["step"], b["who"]
        # Where a finding stops the step, that is what is signed, by the foreman; the hold itself comes after it.
        stopped = step in self.stops
        barred = self._barred(who, b["code"], "foreman" if stopped else self.rules.of(step).role)
        if barred:
            self.wrong.append((f"signed {barred}", step))
            return
        self.vouched.add((step, who))
        if stopped and step in self.for_good:
            self.wrong.append(("nobody: a sign for a finding that stops it for good", step))
        elif stopped:
            del self.stops[step]
        else:
            self.signed.setdefault(step, set()).add(who)

    def _overridden(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        step, what = b["step"], b["what"]
        rule = self.rules.of(step)
        if not b["reason"] and not b.get("note"):
            self.wrong.append((f"{what} passed without a reason", step))
        if rule.kind == "wait" and what == "skip" and self.satisfied(rule, true):
            return  # it holds nothing back any more
        if rule.kind == "hold" and what == "skip" and self.signed.get(step):
            return  # somebody has looked already
        if rule.guard == ALONE and what != "tally":
            return
        if rule.guard == NOBODY:
            self.wrong.append((f"nobody: {what} passed", step))
            return
        code = "right" if (step, b["who"]) in self.vouched else b.get("code", "")
        barred = self._barred(b["who"], code, rule.role if rule.kind == "hold" else "")
        if barred:
            self.wrong.append((f"second: {what} passed {barred}", step))
        else:
            self.allowed.add(step)

    # findings, checks, values

    def _found(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        if b["to"]:
            self.sent_by = b["step"]
            return
        rule = self.rules.of(b["step"])
        if b["what"].lower() in self.rules.for_good:
            self.for_good.add(b["step"])
        self.stops[b["step"]] = self.rules.of(self.sent_by).place if rule.aside and self.sent_by else rule.place

    def _branched(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        self.sent_by = b["step"]
        self.answers.pop(b["step"], None)

    def _checked(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        rule = self.rules.of(b["step"])
        self._answer(b["step"], b["answer"] == rule.want)

    def _measured(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        if b["of"] == 1:
            self._averaged(b, true, mono)

    def _averaged(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        value, low, high = number(b["value"]), number(b["low"]), number(b["high"])
        inside = value is not None and (low is None or value >= low) and (high is None or value <= high)
        self._answer(b["step"], inside and b["verdict"] == "within")

    def _answer(self, step: str, good: bool) -> None:
        self.answers[step] = good
        if not good:
            self.allowed.discard(step)

    # waits

    def _wait_started(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        step, least = b["step"], float(b["at_least"] or 0)
        floor = self.rules.of(step).least
        if floor is not None and least < floor - TICK:
            self.wrong.append(("a wait was made shorter than its procedure says", step))
        claimed = true - (mono - float(b["mono"]))
        # Nobody can have begun it before its step was come to; away from there the last word that begins one counts.
        earliest = self.came.get(step, true) if step == self.here else max(self.begun, default=true)
        self.runs[step] = (max(claimed, earliest), least)
        self.begun.clear()
        self.served.discard(step)
        self.allowed.discard(step)

    def _wait_changed(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        if b["step"] in self.runs:
            begun, least = self.runs[b["step"]]
            if (b["at_least"] or 0) < least:
                self.wrong.append(("a minimum was made shorter", b["step"]))
            self.runs[b["step"]] = (begun, float(b["at_least"] or 0))

    def _wait_ended(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        step = b["step"]
        if b["verdict"] == "restarted":
            return
        if step in self.runs and self._over(step, true):
            self.served.add(step)
        self.runs.pop(step, None)

    def _over(self, step: str, true: float) -> bool:
        begun, least = self.runs[step]
        return true - begun >= least - TICK

    def satisfied(self, rule: Rule, true: float) -> bool:
        """Whether the wait of step `rule` holds nothing back any more."""
        step = rule.id
        # A run that goes on is what counts, whatever an earlier one did.
        if step in self.runs:
            return step in self.allowed or self._over(step, true)
        return step in self.served or step in self.allowed

    # the way through the steps

    def _step_entered(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        rule, again = self.rules.of(b["step"]), b["again"]
        if again == "aside":
            self._anew([one for one in self.rules.steps if one.aside == rule.aside])
            self.met.clear()
        elif again == "recovery":
            self._anew([one for one in self.rules.steps if one.place >= rule.place])
        self._may_begin(rule, again, true)
        if self.here != rule.id:
            self.begun.clear()
        self.here = rule.id
        self.came.setdefault(rule.id, true)
        self.closed.discard(rule.id)
        if rule.aside:
            self.met.add(rule.id)

    def _anew(self, rules: list[Rule]) -> None:
        """These are worked again: what was passed or answered in them counts no more."""
        for rule in rules:
            self.closed.discard(rule.id)
            self.allowed.discard(rule.id)
            self.served.discard(rule.id)
            self.answers.pop(rule.id, None)
            self.deferred.discard(rule.id)
            self.came.pop(rule.id, None)
            self.signed.pop(rule.id, None)

    def _may_begin(self, rule: Rule, again: str, true: float) -> None:
        for wait in self.rules.steps:
            if rule.id not in wait.gates or wait.guard == ALONE:
                continue
            if wait.aside and wait.id not in self.met:
                continue
            if not self.satisfied(wait, true):
                self.wrong.append((f"{wait.guard}: begun before the wait {wait.id} was over ({again})", rule.id))
        if rule.aside or again in ("owed", "back"):
            return
        self._behind(rule.place, rule.id)

    def _behind(self, place: int, where: str) -> None:
        """Nothing that is guarded was left open on the line before `place`."""
        for stopped, at in self.stops.items():
            if at < place:
                self.wrong.append((f"second: gone past the finding that stops {stopped}", where))
        for one in self.rules.line:
            if one.place >= place or one.guard == ALONE or one.id in self.closed:
                continue
            later = one.id in self.deferred and one.until and self.rules.of(one.until).place > place
            if one.id in self.deferred and (later or not one.until):
                continue
            if one.kind == "hold" and (self.signed.get(one.id) or one.id in self.allowed):
                continue
            self.wrong.append((f"{one.guard}: gone past {one.kind} {one.id}", where))

    def _deferred(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        if b["what"] == "hold":
            self.deferred.add(b["step"])
            if not self.rules.of(b["step"]).until:
                self.wrong.append(("a hold was left for later that may not be", b["step"]))

    def _step_done(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        rule = self.rules.of(b["step"])
        if rule.id in self.stops:
            self.wrong.append(("second: left while a finding stops it", rule.id))
        for wait in self.rules.steps:
            if (
                wait.guard != ALONE
                and rule.id in wait.gates
                and wait.id in self.runs
                and not wait.aside
                and (not self.satisfied(wait, true))
            ):
                self.wrong.append((f"{wait.guard}: done before the wait {wait.id} was over", rule.id))
        if rule.guard != ALONE and not self._in_order(rule, b["how"], true):
            self.wrong.append((f"{rule.guard}: {rule.kind} left, {b['how']}", rule.id))
        self.closed.add(rule.id)

    def _in_order(self, rule: Rule, how: str, true: float) -> bool:
        """Whether a guarded step was left as it may be."""
        if rule.id in self.allowed:
            return True
        if rule.kind == "hold":
            return bool(self.signed.get(rule.id))
        if rule.kind == "wait":
            return rule.id in self.runs or rule.id in self.served
        if how != "done":
            return False
        return self.answers.get(rule.id, False) if rule.kind in ASKED else True

    def _job_done(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        self.done = True
        self._behind(len(self.rules.steps), "the end")
        for rule in self.rules.line:
            if rule.guard == ALONE:
                continue
            if rule.kind == "wait" and not self.satisfied(rule, true):
                self.wrong.append((f"{rule.guard}: the job ended before the wait was over", rule.id))
            elif rule.kind != "wait" and rule.id in self.answers and not self._in_order(rule, "done", true):
                self.wrong.append((f"{rule.guard}: the job ended with {rule.kind} not in order", rule.id))
        if self.stops:
            self.wrong.append(("second: the job ended with a finding that stops it", next(iter(self.stops))))

    def _returned(self, b: Mapping[str, Any], true: float, mono: float) -> None:
        if self.done:
            self.done = False
            self.closed.discard(self.rules.line[-1].id)

    # for the walker's count

    @property
    def stopped_for_good(self) -> bool:
        """Whether a finding that nobody may pass stops the job."""
        return bool(self.for_good & self.stops.keys())

    def guards_here(self, true: float) -> dict[str, str]:
        """What guards the way on from the step in hand, guarded step -> class."""
        found: dict[str, str] = {}
        if not self.here:
            return found
        rule = self.rules.of(self.here)
        if rule.id in self.stops:
            found[rule.id] = "nobody" if rule.id in self.for_good else "stop"
        elif rule.guard != ALONE and not self._in_order(rule, "done" if rule.kind in ASKED else "", true):
            found[rule.id] = rule.guard
        for wait in self.rules.steps:
            if wait.guard != ALONE and wait.id in self.runs and not self.satisfied(wait, true):
                found[wait.id] = wait.guard
        return found
