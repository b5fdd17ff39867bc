"""A long afternoon on a hub at Osmere in which everything a record can hold happens once."""

from __future__ import annotations

import base64
import hashlib
import io
import math
import struct
import wave
from typing import Any

from bayvoice.job.facts import KINDS, Fact
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from tests.report.whole_job import Play

TEXT = """\
format = 1
id = "k40-hub"
title = "Front hub, strip, measure and close"
machine = "Varrow K40 tow tractor"

[[part]]
id = "cap"
name = "hub cap seal"
number = "K40-9-012"
one_use = true

[[part]]
id = "pin"
name = "split pin"
number = "K40-9-020"
one_use = true

[[consumable]]
id = "sealant"
name = "flange sealant"
quantity = "20 ml"
batch = true
shelf_life = true

[[gauge]]
id = "dial"
name = "dial gauge"
number = "DG-12"
unit = "mm"
uncertainty = 0.008
due = 2025-01-31

[[finding]]
say = "scored journal"
to = "polish"

[[step]]
id = "chock"
kind = "check"
say = "Chock both rear wheels."
ask = "Are both rear wheels chocked?"
takes = "1 min"

[[step]]
id = "discharge"
kind = "wait"
wait = "settle"
name = "capacitor discharge"
say = "Let the capacitors discharge."
at_least = "5 min"
takes = "5 min"

[[step]]
id = "count-in"
kind = "tally"
say = "Count everything that goes in."
opening = "hub"
things = ["rag", "drift"]

[[step]]
id = "lift"
kind = "together"
say = "Lift the hub down."
people = 2
beats = 3
ask = "Does it lie flat?"

[[step]]
id = "float"
kind = "measure"
say = "Measure the bearing end float, three times."
name = "bearing end float"
unit = "mm"
low = "0.05"
high = "0.15"
gauge = "dial"
times = 3
spread = "0.02"
takes = "3 min"

[[step]]
id = "bore"
kind = "measure"
say = "Measure the seal bore run-out."
name = "seal bore run-out"
unit = "mm"
high = "0.10"
gauge = "dial"
takes = "2 min"

[[step]]
id = "grip"
kind = "measure"
say = "Measure the cap's grip."
name = "cap grip"
unit = "mm"
low = "0.10"
high = "0.30"

[[step]]
id = "remover"
kind = "wait"
wait = "act"
name = "remover on the flange"
say = "Brush the remover on."
at_least = "4 min"
at_most = "12 min"
gates = ["scrape"]

[[step]]
id = "scrape"
kind = "do"
say = "Scrape the flange clean."
takes = "6 min"

[[step]]
id = "seal"
kind = "replace"
say = "Press the new seal in."
part = "cap"

[[step]]
id = "pin-new"
kind = "replace"
say = "Put a new split pin in."
part = "pin"

[[step]]
id = "bead"
kind = "wait"
wait = "open"
name = "sealant bead"
say = "Lay the bead, then close within its working time."
at_most = "10 min"
closes = "close"
starts = "step"

[[step]]
id = "close"
kind = "do"
say = "Set the hub on."
takes = "4 min"

[[step]]
id = "bolts"
kind = "fasten"
say = "Tighten the six flange bolts."
count = 6
order = [1, 4, 2, 5, 3, 6]
stages = ["30 N.m", "60 N.m", "90 N.m"]
name = "flange bolt"
each = true
tolerance = "4 %"
last_round = true
takes = "8 min"

[[step]]
id = "cure"
kind = "wait"
wait = "cure"
name = "sealant cure"
say = "Let the sealant cure."
at_least = "20 min"

[[step]]
id = "count-out"
kind = "tally"
say = "Count everything out."
opening = "hub"
close = true

[[step]]
id = "look"
kind = "hold"
say = "Call the foreman to look."
look = "bolt marks and sealant all round"
until = "spin"

[[step]]
id = "spin"
kind = "check"
say = "Spin the hub by hand."
ask = "Does it run free?"
takes = "1 min"

[[step]]
id = "polish-it"
kind = "do"
say = "Polish the journal with cloth 400."
aside = "polish"
"""

PROCEDURE: Procedure = load_text(TEXT, "k40-hub.toml")


def tone(seconds: float = 1.0) -> bytes:
    """A WAV file with a quiet tone: stands for a spoken note, and can be heard."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        frames = int(8000 * seconds)
        file.writeframes(struct.pack(f"<{frames}h", *(int(6000 * math.sin(i * 0.35)) for i in range(frames))))
    return out.getvalue()


SOUND_NAME = "K40-0201-note.wav"
SOUND = tone()


class Hub(Play):
    """The job's own words for its facts."""

    def value(self, step: str, name: str, value: str, low: str, high: str, verdict: str, **more: Any) -> Fact:
        body = {
            "step": step,
            "name": name,
            "value": value,
            "unit": "mm",
            "said_value": value,
            "said_unit": "mm",
            "low": low,
            "high": high,
            "gauge": "dial",
            "verdict": verdict,
            "corrects": 0,
            "words": f"record {value}",
        }
        return self.add("measured", 22.0, **(body | more))

    def bolt(self, stage: int, number: int, place: int, amount: str, unit: str, reached: str, verdict: str) -> None:
        self.add(
            "fastened",
            7.0,
            step="bolts",
            stage=stage,
            number=number,
            place=place,
            amount=amount,
            unit=unit,
            achieved=reached,
            achieved_unit=unit if reached else "",
            verdict=verdict,
            **({"trusted": False} if "trusted" in KINDS["fastened"] else {}),
        )


def every_kind_job(name: str = "K40-0201") -> list[Fact]:
    """All kinds of fact there are, in an order in which a job can happen; its audit passes."""
    p = Hub(name, TEXT)
    p.add(
        "job_began",
        0.0,
        job=name,
        procedure=PROCEDURE.id,
        title=PROCEDURE.title,
        machine=PROCEDURE.machine,
        sha256=PROCEDURE.sha256,
        text=TEXT,
        format=2,
    )
    p.sit("Imre")
    _before(p)
    _measure(p)
    _clean_and_close(p)
    _end(p)
    return p.facts


def _before(p: Hub) -> None:
    p.add("listed", 4.0, item="cap", name="hub cap seal", number="K40-9-012", quantity="1", have=True)
    p.add("listed", 4.0, item="pin", name="split pin", number="K40-9-020", quantity="1", have=False)
    p.add("deferred", 1.0, step="chock", what="parts")
    p.enter("chock")
    p.add("checked", 12.0, step="chock", ask="Are both rear wheels chocked?", answer=True, want=True)
    p.leave("chock")
    p.enter("discharge")
    p.wait("discharge", "capacitor discharge", "settle", 300, None)
    p.add("refused", 130.0, step="discharge", what="wait", name="capacitor discharge", seconds=170)
    p.add("wait_due", 170.0, step="discharge", name="capacitor discharge")
    p.add("wait_ended", 0.0, step="discharge", name="capacitor discharge", seconds=300, verdict="in window")
    p.add("alert_silenced", 4.0, step="discharge", name="capacitor discharge", tone="due", rung=1)
    p.leave("discharge")
    p.enter("count-in")
    p.add("tally_opened", 0.1, step="count-in", opening="hub")
    p.add("counted", step="count-in", opening="hub", thing="rag", change=3, inside=3)
    p.add("counted", step="count-in", opening="hub", thing="drift", change=1, inside=1)
    p.leave("count-in")
    p.enter("lift")
    p.add("helped", 40.0, step="lift", people=2)
    p.add("moved_together", 15.0, step="lift", result="yes")
    p.leave("lift")


def _measure(p: Hub) -> None:
    p.enter("float")
    p.add(
        "gauge_used",
        2.0,
        step="float",
        gauge="dial gauge",
        number="DG-12",
        due="2025-01-31",
        uncertainty="0.008",
        unit="mm",
        state="out of date",
    )
    p.add("overridden", 9.0, step="float", what="gauge", name="dial gauge", reason="no other here")
    first = p.value("float", "bearing end float", "0.110", "0.05", "0.15", "within", nth=1, of=3, uncertainty="0.008")
    p.value("float", "bearing end float", "0.114", "0.05", "0.15", "within", nth=2, of=3, uncertainty="0.008")
    p.value("float", "bearing end float", "0.112", "0.05", "0.15", "within", nth=3, of=3, uncertainty="0.008")
    p.value(
        "float",
        "bearing end float",
        "0.116",
        "0.05",
        "0.15",
        "within",
        nth=1,
        of=3,
        uncertainty="0.008",
        corrects=first.seq,
    )
    p.add(
        "averaged",
        1.0,
        step="float",
        name="bearing end float",
        value="0.114",
        unit="mm",
        n=3,
        spread="0.004",
        deviation="0.002",
        spread_limit="0.02",
        low="0.05",
        high="0.15",
        uncertainty="0.008",
        verdict="within",
    )
    p.leave("float")
    p.enter("bore")
    p.value("bore", "seal bore run-out", "0.096", "", "0.10", "close", uncertainty="0.008", trusted=True)
    p.add("overridden", 12.0, step="bore", what="measure", name="Measure the seal bore run-out.", reason="ask Ruth")
    p.add("found", 20.0, step="bore", what="scored journal", to="polish-it")
    p.add("branched", 0.0, step="bore", to="polish-it", why="finding", turn=1, turns=1)
    p.plain("polish-it", 240.0)
    p.enter("bore", "back")
    p.leave("bore")
    p.enter("grip")
    p.value(
        "grip",
        "cap grip",
        "0.34",
        "0.10",
        "0.30",
        "high",
        gauge="",
        limits_from="housing_depth - 12.40 mm, with housing_depth = 12.70 mm",
    )
    p.add("reckoned", 6.0, step="grip", what="torque", given="59 lbf.ft", result="79.99 N·m")
    p.add("overridden", 12.0, step="grip", what="measure", name="Measure the cap's grip.", reason="foreman's order")
    p.leave("grip")


def _clean_and_close(p: Hub) -> None:
    p.enter("remover")
    p.add("ambient", 8.0, step="remover", name="temperature", value="14", unit="degC", source="spoken")
    p.add(
        "wait_started",
        1.0,
        step="remover",
        name="remover on the flange",
        wait="act",
        at_least=240,
        at_most=720,
        mono="900.000",
        ago=60,
        model="table",
        from_="14 °C",
    )
    began = p.wall - 60
    p.add(
        "wait_changed",
        60.0,
        step="remover",
        name="remover on the flange",
        at_least=360,
        at_most=720,
        reason="thick gasket",
    )
    p.wall = began + 300
    p.add(
        "wait_ended",
        0.0,
        step="remover",
        name="remover on the flange",
        seconds=300,
        verdict="restarted",
        reason="ran off, sprayed again",
    )
    p.add(
        "wait_started",
        0.0,
        step="remover",
        name="remover on the flange",
        wait="act",
        at_least=240,
        at_most=720,
        mono="1200.000",
        restart=True,
    )
    again = p.wall
    p.add("wait_due", 240.0, step="remover", name="remover on the flange")
    p.leave("remover")
    p.enter("scrape")
    p.add(
        "wait_ended",
        0.0,
        step="remover",
        name="remover on the flange",
        seconds=int(p.wall - again),
        verdict="in window",
    )
    p.add("noted", 40.0, step="scrape", text="", sound=SOUND_NAME, sha256=hashlib.sha256(SOUND).hexdigest(), seconds=1)
    p.add("noted", 30.0, step="scrape", text="Light scoring at bolt 3.\nStoned flat.")
    p.wall += 700
    p.leave("scrape")
    p.add("paused", 5.0)
    p.wall += 1500
    p.add("resumed", 1.0)
    p.add("handed_over", 20.0, leaves="Imre", takes="Dalia", told=["Three rags and a drift are in the hub."])
    p.enter("seal")
    p.add("replaced", 30.0, step="seal", part="cap", name="hub cap seal", number="K40-9-012", new=True)
    p.leave("seal")
    p.enter("pin-new")
    p.add("replaced", 30.0, step="pin-new", part="pin", name="split pin", number="K40-9-020", new=False)
    p.add("overridden", 11.0, step="pin-new", what="part", name="split pin", reason="part missing")
    p.leave("pin-new")
    p.enter("bead")
    p.add(
        "batch",
        20.0,
        step="bead",
        item="sealant",
        name="flange sealant",
        number="B4471",
        expires="2025-02-28",
        state="out of date",
    )
    p.add("overridden", 12.0, step="bead", what="batch", name="flange sealant", reason="tested on glass")
    p.wait("bead", "sealant bead", "open", None, 600)
    laid = p.wall
    p.leave("bead")
    p.enter("close")
    p.add("wait_over", laid + 600 - p.wall, step="bead", name="sealant bead")
    p.add("alert_unanswered", 60.0, step="bead", name="sealant bead", tone="over")
    p.add("overridden", 30.0, step="bead", what="late", name="sealant bead", reason="still wet")
    p.leave("close")
    p.add("wait_ended", 0.0, step="bead", name="sealant bead", seconds=int(p.wall - laid), verdict="late")


def _end(p: Hub) -> None:
    p.enter("bolts")
    reached = {1: "30", 4: "30.5", 2: "", 5: "29.5", 3: "30", 6: "30"}
    second = {1: "60", 4: "60", 2: "61", 5: "60", 3: "64", 6: "60"}
    for stage, (amount, unit) in enumerate((("30", "N.m"), ("60", "N.m"), ("90", "N.m")), 1):
        for place, number in enumerate((1, 4, 2, 5, 3, 6), 1):
            got = (reached, second, dict.fromkeys(reached, ""))[stage - 1][number]
            p.bolt(stage, number, place, amount, unit, got, "" if not got else "high" if got == "64" else "within")
            if got == "64":
                p.add("overridden", 9.0, step="bolts", what="bolt", name="flange bolt 3", reason="wrench slipped")
        p.add(
            "stage_done",
            0.0,
            step="bolts",
            stage=stage,
            stages=3,
            amount=amount,
            unit=unit,
            order=[1, 4, 2, 5, 3, 6],
            name="flange bolt",
        )
    p.add("round_done", 50.0, step="bolts", round=1, turned=True)
    p.add("round_done", 50.0, step="bolts", round=2, turned=False)
    p.leave("bolts")
    p.enter("cure")
    p.wait("cure", "sealant cure", "cure", 1200, None)
    cure = p.wall
    p.add("trouble", 100.0, part="microphone", what="no sound for 20 s")
    p.sit("Dalia", 700.0)
    p.add("clock_moved", 0.1, seconds=2, what="the wall clock was set forward; waits go by the steady clock")
    p.add("procedure_changed", 0.1, sha256="ab" * 32)
    p.wall = cure + 1200
    p.add("wait_due", 0.0, step="cure", name="sealant cure")
    p.add("wait_ended", 0.0, step="cure", name="sealant cure", seconds=1200, verdict="in window")
    p.leave("cure")
    p.enter("count-out")
    p.add("counted", step="count-out", opening="hub", thing="rag", change=-2, inside=1)
    p.add("counted", step="count-out", opening="hub", thing="drift", change=-1, inside=0)
    p.add("refused", 3.0, step="count-out", what="tally", name="hub", seconds=1)
    p.add("foreign_part", 30.0, step="count-out", opening="hub", thing="washer")
    p.add("searched", 120.0, step="count-out", opening="hub", who="Ruth", how="lamp and mirror")
    p.add("overridden", 15.0, step="count-out", what="tally", name="hub", reason="rag found in the bin", who="Ruth")
    p.add("tally_closed", 0.1, step="count-out", opening="hub")
    p.leave("count-out")
    p.enter("look")
    p.add("deferred", 4.0, step="look", what="hold")
    p.wall += 2400
    p.add("signed", 1.0, step="look", who="Ruth", role="foreman", how="keys", code="right")
    p.leave("look")
    p.enter("spin")
    p.add("checked", 20.0, step="spin", ask="Does it run free?", answer=False, want=True)
    p.add("checked", 60.0, step="spin", ask="Does it run free?", answer=True, want=True)
    p.leave("spin")
    p.add("job_done", 0.1)
    p.add("sitting_left", why="the job is finished")
    returned = p.add("returned", 3600.0, who="Ruth", remark="Wipe the flange, then show me the hub once more.")
    p.sit("Dalia", 600.0)
    p.add("remark_heard", 9.0, seq=returned.seq)
    p.enter("spin", "back")
    p.add("checked", 20.0, step="spin", ask="Does it run free?", answer=True, want=True)
    p.leave("spin")
    p.add("job_done", 0.1)
    p.add("sitting_left", why="the job is finished")
    p.add("signed_off", 900.0, who="Ruth", remark="In order now.")


def fetch(name: str) -> bytes | None:
    """The sound of the job's note."""
    return SOUND if name == SOUND_NAME else None


def data_address() -> str:
    """What the page holds of it."""
    return f"data:audio/wav;base64,{base64.b64encode(SOUND).decode()}"
