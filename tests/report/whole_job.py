"""A plausible whole job, played as facts: what a technician at Osmere would leave in the record."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bayvoice.job.facts import KINDS, Fact, upward
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure

BEGAN = 1_741_078_353.25
"""2025-03-04 08:52:33.25 UTC."""

TEXT = """\
format = 1
id = "k40-sump-plate"
title = "Sump plate, strip and reseal"
machine = "Varrow K40 tow tractor"

[[part]]
id = "washer"
name = "drain washer"
number = "K40-7-030"
one_use = true

[[step]]
id = "isolate"
kind = "do"
say = "Turn the battery isolator off."

[[step]]
id = "chock"
kind = "check"
say = "Chock both front wheels."
ask = "Are both front wheels chocked?"

[[step]]
id = "count-open"
kind = "tally"
say = "Count everything that goes in."
opening = "sump"
things = ["rag", "guide pin"]

[[step]]
id = "lift"
kind = "together"
say = "Lift the plate off with a colleague."
people = 2

[[step]]
id = "backlash"
kind = "measure"
say = "Measure the gear backlash."
name = "gear backlash"
unit = "mm"
low = "0.10"
high = "0.20"
gauge = "dial gauge"

[[step]]
id = "float"
kind = "measure"
say = "Measure the shaft end float."
name = "shaft end float"
unit = "mm"
low = "0.05"
high = "0.15"

[[step]]
id = "remover"
kind = "wait"
wait = "act"
name = "remover on the plate"
say = "Let the remover work."
at_least = "3 min"
at_most = "8 min"
gates = ["scrape"]

[[step]]
id = "scrape"
kind = "do"
say = "Scrape both faces clean."

[[step]]
id = "new-washer"
kind = "replace"
say = "Put the new washer on the drain plug."
part = "washer"

[[step]]
id = "inside"
kind = "hold"
say = "Call the foreman to look inside."
look = "gears and faces in the open sump"

[[step]]
id = "count-closed"
kind = "tally"
say = "Count everything out."
opening = "sump"
close = true

[[step]]
id = "bead-open"
kind = "wait"
wait = "open"
name = "sealant on the plate"
say = "Fit the plate before the sealant skins."
at_most = "6 min"
closes = "fit"
starts = "step"

[[step]]
id = "fit"
kind = "do"
say = "Set the plate on straight."

[[step]]
id = "tighten"
kind = "fasten"
say = "Tighten the four plate bolts."
count = 4
order = [1, 3, 2, 4]
stages = ["10 N.m", "24 N.m", "60 deg"]
name = "plate bolt"

[[step]]
id = "leak"
kind = "check"
say = "Look along the joint with a lamp."
ask = "Is the joint dry all round?"
"""

PROCEDURE: Procedure = load_text(TEXT, "k40-sump-plate.toml")


@dataclass
class Play:
    """Facts one after the other, `wall` seconds apart as `after` says."""

    name: str = "K40-0117"
    text: str = TEXT
    wall: float = BEGAN
    facts: list[Fact] = field(default_factory=list)

    def add(self, kind: str, after: float = 5.0, **body: Any) -> Fact:
        """One more fact, its body held to the keys its kind must have."""
        body = upward(kind, body)
        assert set(body) == set(KINDS[kind]), f"{kind} wants {KINDS[kind]}"
        self.wall += after
        fact = Fact(len(self.facts) + 1, self.wall, kind, body)
        self.facts.append(fact)
        return fact

    def begin(self, by: str = "Imre", title: str = PROCEDURE.title) -> None:
        self.add(
            "job_began",
            0.0,
            job=self.name,
            procedure=PROCEDURE.id,
            title=title,
            machine=PROCEDURE.machine,
            sha256=PROCEDURE.sha256,
            text=self.text,
            format=2,
        )
        self.sit(by)

    def sit(self, by: str, after: float = 0.5) -> None:
        self.add("sitting_began", after, by=by, product="1.0", boot="b1", mono="100.000")

    def enter(self, step: str, again: str = "no") -> None:
        self.add("step_entered", 0.2, step=step, again=again)

    def leave(self, step: str, how: str = "done", reason: str = "") -> None:
        self.add("step_done", 0.1, step=step, how=how, reason=reason)

    def plain(self, step: str, seconds: float = 30.0) -> None:
        self.enter(step)
        self.wall += seconds
        self.leave(step)

    def check(self, step: str, answer: bool = True) -> None:
        self.enter(step)
        self.add("checked", 12.0, step=step, ask=ask_of(step), answer=answer, want=True)

    def measure(self, step: str, value: str, verdict: str, corrects: int = 0, unit: str = "mm") -> Fact:
        name, low, high = {
            "backlash": ("gear backlash", "0.10", "0.20"),
            "float": ("shaft end float", "0.05", "0.15"),
        }[step]
        return self.add(
            "measured",
            25.0,
            step=step,
            name=name,
            value=value,
            unit="mm",
            said_value=value,
            said_unit=unit,
            low=low,
            high=high,
            gauge="dial gauge" if step == "backlash" else "",
            verdict=verdict,
            corrects=corrects,
            words=f"record {value}",
        )

    def wait(self, step: str, name: str, kind: str, least: int | None, most: int | None) -> None:
        self.add("wait_started", 1.0, step=step, name=name, wait=kind, at_least=least, at_most=most, mono="812.125")


def ask_of(step: str) -> str:
    detail: Any = PROCEDURE.steps[PROCEDURE.index(step)].detail
    return str(detail.ask)


def good_job(name: str = "K40-0117") -> list[Fact]:
    """Everything as the procedure wants it; the foreman has nothing to look at."""
    p = Play(name)
    p.begin()
    p.plain("isolate")
    p.check("chock")
    p.leave("chock")
    count_in(p)
    p.enter("lift")
    p.add("helped", step="lift", people=2)
    p.leave("lift")
    for step, value in (("backlash", "0.15"), ("float", "0.080")):
        p.enter(step)
        p.measure(step, value, "within")
        p.leave(step)
    _remover(p, 250)
    p.enter("new-washer")
    p.add("replaced", step="new-washer", part="washer", name="drain washer", number="K40-7-030", new=True)
    p.leave("new-washer")
    p.enter("inside")
    p.add("signed", 60.0, step="inside", who="Ruth", role="foreman")
    p.leave("inside")
    _close_up(p, 240, "in window")
    p.check("leak")
    p.leave("leak")
    p.add("job_done", 0.1)
    p.add("sitting_left", why="the job is finished")
    return p.facts


def eventful_job(name: str = "K40-0118") -> list[Fact]:
    """One of everything a foreman looks for, with a change of hands and a power cut between.

    Deviations: end float too high and passed with a reason, washer skipped, leak check answered no, sealant late, an
    alert nobody answered, the look inside passed in the foreman's name, microphone trouble, the procedure's file
    changed.
    """
    p = Play(name)
    p.begin()
    p.plain("isolate")
    p.check("chock")
    p.leave("chock")
    count_in(p)
    p.enter("lift")
    p.add("helped", step="lift", people=2)
    p.leave("lift")
    p.enter("backlash")
    wrong = p.measure("backlash", "0.50", "high")
    p.measure("backlash", "0.15", "within", corrects=wrong.seq)
    p.leave("backlash")
    p.enter("float")
    p.measure("float", "0.19", "high")
    p.add(
        "overridden", 14.0, step="float", what="measure", name="Measure the shaft end float.", reason="foreman's order"
    )
    p.leave("float")
    p.sit("Dalia", 3000.0)
    p.add("procedure_changed", 0.1, sha256="ab" * 32)
    _remover(p, 215, early=True)
    p.add("noted", 3.0, step="scrape", text="Light scoring at bolt 3.\nStoned flat.")
    p.enter("new-washer")
    p.add(
        "overridden",
        8.0,
        step="new-washer",
        what="skip",
        name="Put the new washer on the drain plug.",
        reason="part missing",
    )
    p.leave("new-washer", "skipped", "part missing")
    p.enter("inside")
    p.add(
        "overridden",
        9.0,
        step="inside",
        what="hold",
        name="gears and faces in the open sump",
        reason="foreman's order",
        who="Ruth",
    )
    p.leave("inside", "skipped", "foreman's order")
    p.add("trouble", part="microphone", what="no sound for 20 s")
    _close_up(p, 412, "late")
    p.check("leak", answer=False)
    p.add("overridden", 9.0, step="leak", what="check", name="Look along the joint with a lamp.", reason="already done")
    p.leave("leak")
    p.add("job_done", 0.1)
    p.add("sitting_left", why="the job is finished")
    return p.facts


def count_in(p: Play) -> None:
    p.enter("count-open")
    p.add("tally_opened", 0.1, step="count-open", opening="sump")
    p.add("counted", step="count-open", opening="sump", thing="rag", change=2, inside=2)
    p.add("counted", step="count-open", opening="sump", thing="guide pin", change=1, inside=1)
    p.leave("count-open")


def _remover(p: Play, seconds: int, early: bool = False) -> None:
    name = "remover on the plate"
    p.enter("remover")
    p.wait("remover", name, "act", 180, 480)
    spent = 0
    if early:
        spent = 100
        p.add("refused", spent, step="remover", what="wait", name=name, seconds=80)
    p.add("wait_due", 180 - spent, step="remover", name=name)
    p.wall += seconds - 180
    p.leave("remover")
    p.enter("scrape")
    p.add("wait_ended", 0.0, step="remover", name=name, seconds=seconds, verdict="in window")
    p.wall += 400
    p.leave("scrape")


def _close_up(p: Play, seconds: int, verdict: str) -> None:
    name = "sealant on the plate"
    p.enter("count-closed")
    p.add("counted", step="count-closed", opening="sump", thing="guide pin", change=-1, inside=0)
    p.add("counted", step="count-closed", opening="sump", thing="rag", change=-2, inside=0)
    p.add("tally_closed", 0.1, step="count-closed", opening="sump")
    p.leave("count-closed")
    p.enter("bead-open")
    p.wait("bead-open", name, "open", None, 360)
    began = p.wall
    p.leave("bead-open")
    p.enter("fit")
    if seconds > 360:
        p.add("wait_over", 358, step="bead-open", name=name)
        p.add("alert_unanswered", 40, step="bead-open", name=name, tone="over")
    p.wall = began + seconds
    p.leave("fit")
    p.add("wait_ended", 0.1, step="bead-open", name=name, seconds=seconds, verdict=verdict)
    p.enter("tighten")
    for stage, (amount, unit) in enumerate((("10", "N.m"), ("24", "N.m"), ("60", "deg")), 1):
        p.add(
            "stage_done",
            45.0,
            step="tighten",
            stage=stage,
            stages=3,
            amount=amount,
            unit=unit,
            order=[1, 3, 2, 4],
            name="plate bolt",
        )
    p.leave("tighten")
