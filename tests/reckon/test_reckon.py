"""`bayvoice reckon`: every subject as a person and as a program asks it, and what it says to nonsense."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bayvoice.cli.main import main
from bayvoice.errors import BayError
from bayvoice.reckon.answer import figures
from bayvoice.reckon.freeunits import convert_free
from bayvoice.reckon.inputs import duration, number, quantity

Out = pytest.CaptureFixture[str]

# A shell line of each subject, and what must be in its answer. The values are those of tests/trade/test_*.py, where
# their sources stand.
ASKED: list[tuple[list[str], int, dict[str, Any], str]] = [
    (["torque", "59", "lbf.ft", "N.m"], 0, {"result": "80.0", "exact": "79.9932589515526236"}, "= 80.0 N.m"),
    (["torque", "32.5", "Nm"], 0, {"result": "23.97", "into": "lbf.ft"}, "32.5 N.m = 23.97 lbf.ft"),
    (["pressure", "2.5", "bar"], 0, {"result": "36.3", "into": "psi"}, "36.3 psi"),
    (["length", "0.05", "mm"], 0, {"result": "1.97"}, "1.97 thou"),
    (["temperature", "-40", "degC", "degF"], 0, {"result": "-40.0"}, "-40.0 degF"),
    (["convert", "4", "l", "gal"], 0, {"result": "1.06"}, "1.06 gal"),
    (["adapter", "135 in-lb", "--wrench", "10 in", "--adapter", "1.5 in"], 0, {"unit": "lbf.in"}, "117.4 lbf.in"),
    (["adapter", "80", "--wrench", "400", "--adapter", "50", "--angle", "90"], 0, {"setting": 80.0}, "no change"),
    (["adapter", "71.1111", "--wrench", "40 cm", "--adapter", "5 cm", "--reached"], 0, {}, "gives the fastener 80.00"),
    (
        ["adapter", "80 N.m", "--wrench", "400", "--adapter", "50", "--largest", "200 N.m"],
        0,
        {"in_range": True, "permissible_deviation": 0.04},
        "off by 4 percent",
    ),
    (["adapter", "60 in-lb", "--wrench", "400", "--adapter", "0", "--largest", "20 N.m"], 0, {}, "off by 6 percent"),
    (["adapter", "30", "--wrench", "400", "--adapter", "0", "--largest", "200"], 1, {"in_range": False}, "outside"),
    (["preload", "82 N.m", "--bolt", "M12", "--class", "8.8", "--nut-factor", "0.2"], 0, {"class": "8.8"}, "34.17 kN"),
    (["preload", "34 kN", "--bolt", "M12", "--nut-factor", "0.2", "--scatter", "0.25"], 0, {}, "81.60 N.m"),
    (["preload", "95 N.m", "--bolt", "12", "--class", "8.8", "--nut-factor", "0.15"], 0, {}, "may pass the proof load"),
    (
        ["order", "--bolts", "12", "--pattern", "circle"],
        0,
        {"order": [1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12]},
        "1 7 4 10 2 8 5 11 3 9 6 12",
    ),
    (["order", "--bolts", "4", "--undo"], 0, {"order": [4, 2, 3, 1]}, "Loosen in this order: 4 2 3 1"),
    (["order", "--pattern", "rectangle", "--rows", "2", "--columns", "5"], 0, {}, "3 8 2 9 4 7 1 10 5 6"),
    (["order", "--given", "2,1,3"], 0, {"pattern": "given"}, "2 1 3"),
    (["order", "--bolts", "8", "--torque", "80 N.m"], 0, {}, "Pass 4: 80 N.m, round and round until no nut turns"),
    (["angle", "60", "80"], 0, {"total": "140"}, "80 degrees, 140 in all"),
    (["crank", "--before-tdc", "42"], 0, {"mark": "318", "cam": "21"}, "the 318 degree mark"),
    (["crank", "--after-tdc", "30"], 0, {"mark": "30", "before_tdc": "-30"}, "30 degrees after top dead centre"),
    (["crank", "--mark", "318"], 0, {"before_tdc": "42"}, "42 degrees before top dead centre"),
    (["crank", "--mark", "180"], 0, {}, "Bottom dead centre is the 180 degree mark"),
    (["crank", "--before-tdc", "40", "--diameter", "133.4 mm"], 0, {}, "46.57 mm"),
    (["crank", "--teeth-off", "1", "--teeth", "40"], 0, {"crank": "18"}, "18 degrees at the crank"),
    (["valves", "--inlet", "6,42", "--exhaust", "42,12"], 0, {"inlet_duration": "228", "overlap": "18"}, "centre 108"),
    (["valves", "--durations", "260,260", "--separation", "110", "--advance", "4"], 0, {}, "Inlet opens 24 before top"),
    (["chain", "--chain", "12B", "--pitches", "24", "--measured", "462.3 mm"], 0, {"limit_percent": "3"}, "+1.12"),
    (
        ["chain", "--pitch", "12.7", "--pitches", "10", "--inside", "120", "--outside", "137", "--fixed-centres"],
        0,
        {"measured_mm": "128.5", "limit_percent": "1.5"},
        "Within the limit",
    ),
    (
        ["chain", "--chain", "12B", "--pitches", "24", "--measured", "475", "--teeth", "19,100"],
        1,
        {"in_order": False},
        "Worn out: 2 percent (200 by 100 teeth)",
    ),
    (["chain", "--chain", "12B", "--pitches", "24", "--measured", "466.5", "--limit", "2"], 1, {}, "the maker's own"),
    (
        ["shim", "--float", "0.02", "--low", "0.05", "--high", "0.15", "--fitted", "0.35", "--stock", "0.05,0.10,0.20"],
        0,
        {"total_mm": "0.45"},
        "Fit 0.20 + 0.20 + 0.05 mm",
    ),
    (
        [
            "shim",
            "--pushed",
            "0.02",
            "--pulled",
            "0.32",
            "--low",
            "0.05",
            "--high",
            "0.15",
            "--stock",
            "0.2",
            "--closes",
        ],
        0,
        {"expected_mm": "0.1"},
        "measure it again",
    ),
    (
        ["shim", "--float", "0.1", "--low", "0.05", "--high", "0.15", "--stock", "0.2", "--single"],
        0,
        {},
        "Fit no shim.",
    ),
    (["flatness", "0.10 0", "0 0.10", "--limit", "0.05"], 1, {"minimum_zone_mm": "0.1"}, "More than the 0.05 mm"),
    (
        ["flatness", "0 0 -", "0 -0.09 0", "0 0 0", "--across", "30", "--down", "30", "--limit", "4 thou"],
        0,
        {"points": 8},
        "parallel planes hold all 8 points",
    ),
    (["mix", "50:1", "--of", "1", "5 l"], 0, {"parts": ["5", "0.1"]}, "Part 2 (1): 0.1 l"),
    (["mix", "1:1", "--total", "7.6"], 0, {"parts": ["3.8", "3.8"]}, "Together 7.6 l"),
    (["dilute", "8 l", "--now", "30", "--wanted", "50%"], 0, {}, "Drain 2.286 l"),
    (["fill", "--capacity", "2.0 l", "--left", "300 ml"], 0, {"fill": "1.7"}, "Fill in 1.7 l"),
    (["fill", "--box", "100", "10 cm", "100"], 0, {"fill": "1"}, "It holds 1 l"),
    (["fill", "--cylinder", "100", "100"], 0, {}, "It holds 0.7854 l"),
    (["fill", "--tank", "400", "1000", "200"], 0, {}, "It holds 62.83 l"),
    (["cure", "--row", "25, 60 min", "--row", "35, 30 min", "--at", "30"], 0, {"seconds": 2700}, "No less than 45 min"),
    (
        ["cure", "--row", "25, 60 min", "--row", "35, 30 min", "--at", "86 degF", "--maximum"],
        0,
        {},
        "No more than 42 min",
    ),
    (
        [
            "cure",
            "--row",
            "5, 50, 4 h",
            "--row",
            "5,80,3 h",
            "--row",
            "23,50,2 h",
            "--row",
            "23,80,1 h",
            "--at",
            "14",
            "--humidity",
            "65 %",
        ],
        0,
        {"seconds": 9000},
        "2 h 30 min",
    ),
    (
        ["cure", "--time", "1 h", "--reference", "25", "--valid", "15,45", "--doubling", "--at", "35"],
        0,
        {"seconds": 1800},
        "30 min",
    ),
    (
        ["cure", "--time", "1 h", "--reference", "25", "--valid", "15,45", "--energy", "52.95", "--at", "35"],
        0,
        {},
        "30 min",
    ),
    (
        ["depth", "--known", "7.5", "--after", "7 d", "--deepest", "25", "--time", "1 d"],
        0,
        {"depth_mm": "2.83"},
        "2.83 mm",
    ),
    (["depth", "--known", "2.5", "--after", "1 d", "--deepest", "6", "--time", "30 d"], 0, {}, "More than 6 mm is not"),
    (["depth", "--known", "2.5", "--after", "1 d", "--deepest", "6", "--depth", "5"], 0, {"seconds": 345600}, "4 d"),
    (
        ["judge", "25.00", "--low", "24.97", "--high", "25.03", "--uncertainty", "0.01"],
        0,
        {"verdict": "within"},
        "proven",
    ),
    (
        ["judge", "25.035", "--low", "24.97", "--high", "25.03", "--uncertainty", "0.01"],
        1,
        {"verdict": "close", "proven_high": "25.02"},
        "too close to a limit to call",
    ),
    (
        ["judge", "0.10", "--low", "0.05", "--high", "0.15", "--uncertainty", "0.06"],
        1,
        {"provable": False},
        "prove nothing",
    ),
    (["judge", "0.06 mm", "--low", "2 thou", "--high", "0.15"], 0, {"low": "0.0508", "unit": "mm"}, "within"),
    (["judge", "-0.06", "--high", "-0.1"], 1, {"verdict": "high"}, "above the upper limit"),
    (["judge", "20 degC", "--low", "64.4 degF", "--uncertainty", "1"], 0, {"low": "18"}, "proven within"),
    (
        ["limit", "shim_thickness + 0.05 mm", "--value", "shim thickness=0.35 mm"],
        0,
        {"value": "0.4", "unit": "mm"},
        "0.4 mm",
    ),
    (
        ["limit", "oil - bay", "--value", "oil=61 degC", "--value", "bay=23 degC", "--unit", "K"],
        0,
        {"value": "38"},
        "38 K",
    ),
    (["stats", "32.501", "32.502", "32.499"], 0, {"mean_as_read": "32.501", "spread": "0.003"}, "spread 0.003"),
    (["stats", "0.05", "0.06", "0.07", "--high", "0.10"], 0, {}, "Cpk 1.33"),
]


@pytest.mark.parametrize(("words", "status", "body", "said"), ASKED, ids=lambda v: v[0] if isinstance(v, list) else "")
def test_asked(words: list[str], status: int, body: dict[str, Any], said: str, capsys: Out) -> None:
    """In words, and as JSON with the same words in it."""
    assert main(["reckon", *words]) == status
    shown = capsys.readouterr()
    assert said in shown.out
    assert not shown.err
    assert main(["reckon", *words, "--json"]) == status
    found = json.loads(capsys.readouterr().out)
    assert found["subject"] == words[0]
    assert found["in_order"] == (status == 0)
    assert any(said in line for line in found["said"])
    for key, value in body.items():
        assert found[key] == value, key


def test_every_subject_is_asked_and_has_an_example(capsys: Out) -> None:
    """The help of each ends with an example, and the example works."""
    with pytest.raises(SystemExit):
        main(["reckon", "--help"])
    listed = capsys.readouterr().out
    subjects = {words[0] for words, *_ in ASKED} | {"gauge"}
    for subject in subjects:
        assert f"    {subject} " in listed
        with pytest.raises(SystemExit) as left:
            main(["reckon", subject, "--help"])
        assert left.value.code == 0
        example = capsys.readouterr().out.strip().splitlines()[-1].strip()
        assert example.startswith(f"bayvoice reckon {subject} ")
        if subject != "gauge":
            assert main(shell_words(example)[1:]) in (0, 1)
            capsys.readouterr()
    assert {line.split()[0] for line in listed.splitlines() if line.startswith("    ") and line[4] != " "} == subjects


def shell_words(line: str) -> list[str]:
    return subprocess.run(
        ["bash", "-c", f"printf '%s\\n' {line}"], capture_output=True, text=True, check=True
    ).stdout.splitlines()


REFUSED = [
    (["torque", "25", "mm"], "mm measures length; use a unit of torque"),
    (["torque", "x", "N.m"], '"x" is not a number'),
    (["torque", "25,5", "N.m"], "write it with a decimal point"),
    (["torque", "25", "furlong"], 'no unit "furlong"'),
    (["length", "25", "mil", "mm"], 'write "thou"'),
    (["torque", "25", "N.m", "mm"], "measures torque and mm length"),
    (["convert", "12", "V"], "volts have no second unit"),
    (["convert", "1", "N.m/degC", "K"], "point on a scale"),
    (["convert", "1", "N.m/deg", "mm/s"], "do not measure the same"),
    (["convert", "1", "m**9**9**9", "m"], "is not a unit"),
    (["convert", "1", "import os; m", "m"], "is not a unit"),
    (["adapter", "80 mm", "--wrench", "40", "--adapter", "5"], "give torque, in N.m say"),
    (["adapter", "80", "--wrench", "0", "--adapter", "5"], "wrench length of 0"),
    (["preload", "80", "--bolt", "twelve", "--nut-factor", "0.2"], "is not a thread"),
    (["preload", "80", "--bolt", "M12.5", "--class", "8.8", "--nut-factor", "0.2"], "not a coarse thread"),
    (["order", "--bolts", "2.5"], "not a whole number"),
    (["order"], "number of bolts is missing"),
    (["order", "--pattern", "rectangle"], "rows and columns"),
    (["order", "--pattern", "given"], "order itself is missing"),
    (["order", "--given", "1,1"], "comes twice"),
    (["order", "--bolts", "4", "--undo", "--torque", "80"], "loosening has no torque"),
    (["angle", "0"], "angle of 0 degrees"),
    (["crank", "--before-tdc", "200"], "position of 200 degrees"),
    (["crank", "--teeth-off", "1"], "number of teeth of the sprocket is missing"),
    (["valves"], "nothing to work out"),
    (["valves", "--inlet", "6"], "not two numbers"),
    (["valves", "--durations", "260,260"], "separation is missing"),
    (["chain", "--chain", "12B", "--pitches", "24"], "measured length is missing"),
    (["chain", "--chain", "12B", "--pitches", "24", "--measured", "460", "--limit", "0"], "limit of 0 percent"),
    (["shim", "--low", "0", "--high", "1", "--stock", "1"], "end float is missing"),
    (["flatness", "0 0", "0"], "not equally long"),
    (["mix", "50", "--total", "5"], "two or more parts"),
    (["dilute", "8", "--now", "30", "--wanted", "20"], "never gives 20 percent"),
    (["cure", "--at", "30"], "no table and no rate"),
    (["cure", "--at", "30", "--row", "25"], "not a line of a table"),
    (["cure", "--at", "30", "--row", "25, soon"], "not a length of time"),
    (["cure", "--at", "20", "--row", "25, 1 h"], "outside the maker's table"),
    (["cure", "--at", "20", "--time", "1 h", "--reference", "25", "--valid", "15,35"], "how the rate grows"),
    (["cure", "--at", "20", "--time", "1 h", "--reference", "25", "--valid", "15", "--doubling"], "two temperatures"),
    (["depth", "--known", "7", "--after", "1 d", "--deepest", "6", "--time", "1 d"], "deeper than"),
    (["judge", "1"], "no limit to judge by"),
    (["limit", "a + 1", "--value", "a"], "is not a value"),
    (["limit", "a + 1 mm"], 'no value "a"'),
    (["stats", "1", "1", "--high", "2"], "do not differ"),
    (["gauge", "no-such-file.csv"], "cannot be read"),
]


@pytest.mark.parametrize(("words", "said"), REFUSED, ids=lambda v: v[0] if isinstance(v, list) else "")
def test_bad_input_is_one_sentence(words: list[str], said: str, capsys: Out) -> None:
    """Exit status 2, one line on standard error, and the same as JSON."""
    assert main(["reckon", *words]) == 2
    shown = capsys.readouterr()
    assert not shown.out
    assert said in shown.err
    assert shown.err.startswith("bayvoice: ")
    assert shown.err.count("\n") == 1
    assert main(["reckon", *words, "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["what"]


@pytest.mark.parametrize(
    "words", [[], ["nonsense"], ["judge"], ["crank"], ["crank", "--mark", "1", "--before-tdc", "1"]]
)
def test_wrong_use(words: list[str], capsys: Out) -> None:
    with pytest.raises(SystemExit) as left:
        main(["reckon", *words])
    assert left.value.code == 2
    assert "see 'bayvoice reckon" in capsys.readouterr().err


def test_gauge_study_from_a_file(tmp_path: Path, capsys: Out) -> None:
    """The printed caliper sheet of test_statistics.py through a file; gaps and slips are named."""
    rows = ["9.75 10.15 9.99", "9.75 10.15 9.99", "9.75 10.14 9.99", "9.76 10.15 9.98"]
    path = tmp_path / "study.csv"
    lines = ["person,part,reading"]
    for i, row in enumerate(rows):
        lines += [f"{'AB'[i // 2]},{part},{reading}" for part, reading in enumerate(row.split(), start=1)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["reckon", "gauge", str(path), "--low", "9.5", "--high", "10.5", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["repeatability"] == pytest.approx(0.03 / 6 * 0.8862)  # ranges 0, 0, 0 and 0.01, 0.01, 0.01
    assert found["percent_of_tolerance"] == pytest.approx(600 * found["gauge"])
    path.write_text("\n".join(lines[:-1]), encoding="utf-8")
    assert main(["reckon", "gauge", str(path)]) == 2
    assert "gaps" in capsys.readouterr().err
    path.write_text("A,1\n", encoding="utf-8")
    assert main(["reckon", "gauge", str(path)]) == 2
    assert "line 1: a line is not person,part,reading" in capsys.readouterr().err


def test_free_units() -> None:
    """pint reads what our table lacks; what it reads wrongly is ours ("Nm" is no textile count here)."""
    assert convert_free(Decimal("3.5"), "N.m/deg", "lbf.in/deg") == pytest.approx(3.5 / 0.1129848290276167)
    assert convert_free(Decimal(1), "Nm/deg", "N*m/deg") == pytest.approx(1)
    assert convert_free(Decimal(1), "knot/fortnight", "m/s/d") == pytest.approx(1852 / 3600 / 14)
    assert convert_free(Decimal(1), "kg/cm^2", "kg/m2") == pytest.approx(10_000)
    for text in (
        "mil/s",
        "9**9**9",
        "(m**99",
        "m**9**9**9",
        "m**999",
        "(m)**2",
        "N.m/",
        "°C/m",
        "m" * 101,
        "__class__",
        "m; m",
    ):
        with pytest.raises(BayError):
            convert_free(Decimal(1), text, "m")


def test_reckoning_needs_no_heavy_package() -> None:
    """The real command in a process of its own: pint is loaded for free units and for nothing else."""
    code = (
        "import sys; from bayvoice.cli.main import main; main(['reckon', 'torque', '59', 'lbf.ft', 'N.m']); "
        "print([m for m in ('pint', 'numpy', 'textual', 'scipy', 'bayvoice.dialogue.session') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=os.environ)
    assert done.stdout.splitlines()[0] == "59 lbf.ft = 80.0 N.m (79.9932589516)"
    assert done.stdout.splitlines()[-1] == "[]"


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.text(max_size=20))
def test_inputs_give_a_value_or_a_complaint(text: str) -> None:
    for read in (number, lambda t: quantity(t, "N.m", "torque"), lambda t: duration(t, "time")):
        try:
            read(text)
        except BayError as error:
            assert error.what  # noqa: PT017


@given(st.decimals(-(10**9), 10**9, places=5), st.integers(1, 9))
def test_figures_round_to_so_many(value: Decimal, count: int) -> None:
    shown = Decimal(figures(value, count))
    assert abs(shown - value) <= abs(value) * Decimal(10) ** (1 - count) / 2
    assert len(shown.normalize().as_tuple().digits) <= count
