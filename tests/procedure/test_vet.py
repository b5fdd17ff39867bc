"""What vetting tells about a procedure that is in order."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from bayvoice.language.units import UNITS
from bayvoice.procedure import sense
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Kind, Signal
from bayvoice.procedure.vet import MOST_SPOKEN, vet

SHIPPED = sorted((Path(__file__).parents[2] / "procedures").glob("*.toml"))
HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'
LAST = '[[step]]\nid = "z"\nkind = "do"\nsay = "End."\n'


def remarks(body: str) -> list[tuple[str, str, str]]:
    found = vet(load_text(HEAD + body + LAST, "x.toml")).warnings
    return [(each.step, each.key, str(each)) for each in found]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_procedures_are_clean(path: Path) -> None:
    """What ships with the product has no mistake and no warning, and is called after its file."""
    vetting = vet(load_text(path.read_text(encoding="utf-8"), path.name), path.name)
    assert vetting.warnings == ()
    assert vetting.procedure.id == path.stem
    assert vetting.lines()[0].startswith(f"{path.name}: in order. ")


def test_there_are_the_five_jobs() -> None:
    """The main demo uses every kind of step and of wait, and all four signal words are used somewhere."""
    made = {path.stem: load_text(path.read_text(encoding="utf-8"), path.name) for path in SHIPPED}
    assert {"k40-transfer-cover", "hub-end-float", "lift-chain", "cab-glass", "balancer-phase"} <= set(made)
    main = made["k40-transfer-cover"]
    assert len(main.steps) >= 25
    assert {step.kind for step in main.steps} == set(Kind)
    assert {wait["wait"] for wait in vet(main).as_dict()["waits"]} == {"act", "open", "cure", "settle"}
    cautions = [c for each in made.values() for c in (*each.cautions, *(c for s in each.steps for c in s.cautions))]
    assert {each.signal for each in cautions} == set(Signal)


def test_summary_of_the_main_demo() -> None:
    """The numbers of the summary are those of the file, counted in its text."""
    path = next(path for path in SHIPPED if path.stem == "k40-transfer-cover")
    text = path.read_text(encoding="utf-8")
    summary = vet(load_text(text, path.name), str(path)).as_dict()
    assert json.loads(json.dumps(summary)) == summary
    assert summary["ok"] is True
    markers = text.count('kind = "way_back"')
    assert summary["steps"] == text.count("[[step]]") + text.count("[[step.back]]") - markers
    assert summary["kinds"] == {kind: text.count(f'kind = "{kind}"') for kind in summary["kinds"]}
    assert len(summary["measurements"]) == text.count('kind = "measure"')
    assert [each["part"] for each in summary["one_use"]] == ["cover-seal", "drain-washer", "cover-bolt"]
    act = next(wait for wait in summary["waits"] if wait["wait"] == "act")
    assert act == {
        "at": 14,
        "step": "remover-works",
        "wait": "act",
        "name": "remover on the cover",
        "at_least_s": 180,
        "at_most_s": 480,
        "gates": ["scrape"],
        "closes": "scrape",
        "recovery": "apply-remover",
        "starts": "go",
        "model": "fixed",
        "worked_out": "",
    }


def test_long_speech() -> None:
    """Up to the limit is fine, one more is not."""
    body = '[[step]]\nid = "a"\nkind = "do"\nsay = "{}"\n'
    long = ("a" * 49 + " ") * (MOST_SPOKEN // 50) + "a"
    assert remarks(body.format(long[:MOST_SPOKEN])) == []
    ((step, key, said),) = remarks(body.format(long))
    assert (step, key) == ("a", "say")
    assert "301 characters" in said


MEASURE = '[[step]]\nid = "{}"\nkind = "measure"\nsay = "M."\nname = "{}"\nunit = "mm"\nlow = {}\nhigh = 2\n'
WAIT = '[[step]]\nid = "w"\nkind = "wait"\nsay = "W."\nname = "w"\n'


@pytest.mark.parametrize(
    ("body", "step", "key", "said"),
    [
        (MEASURE.format("a", "gap 1", 1), "a", "name", "said aloud"),
        (MEASURE.format("a", "gap", 1) + MEASURE.format("b", "Gap", 1), "b", "name", "measures"),
        (MEASURE.format("a", "gap", 2), "a", "low", "the same"),
        ('[[step]]\nid = "c"\nkind = "check"\nsay = "C."\nask = "Is it."\n', "c", "ask", "question mark"),
        (WAIT + 'wait = "act"\nat_least = "1 min"\n', "w", "at_most", "too long"),
        (WAIT + 'wait = "act"\nat_least = "1 min"\nat_most = "2 min"\n', "w", "recovery", "run out"),
        (WAIT + 'wait = "act"\nat_least = "2 min"\nat_most = "2 min"\nrecovery = "z"\n', "w", "at_most", "the same"),
        (
            '[[part]]\nid = "p"\nname = "O-ring 3"\none_use = true\n[[step]]\nid = "r"\nkind = "replace"\nsay = "R."\n'
            'part = "p"\n',
            "",
            "part p name",
            "said aloud",
        ),
        (
            '[[part]]\nid = "p"\nname = "ring"\none_use = true\n'
            + "".join(f'[[step]]\nid = "r{i}"\nkind = "replace"\nsay = "R."\npart = "p"\n' for i in (1, 2)),
            "",
            "part p quantity",
            "2 steps fit one",
        ),
        ('[[caution]]\nsignal = "NOTICE"\ntext = "' + "aaaaaaa " * 50 + '"\n', "", "caution 1 text", "in the head"),
    ],
)
def test_each_warning(body: str, step: str, key: str, said: str) -> None:
    """One unwise thing gives one warning at its step and key."""
    ((at, where, text),) = remarks(body)
    assert (at, where) == (step, key)
    assert said in text


def test_limits_in_the_lines() -> None:
    """One limit, the other, or both."""
    text = HEAD + MEASURE.format("a", "gap", "0.10") + LAST
    assert "    1. gap: 0.10 to 2 mm" in vet(load_text(text, "x.toml")).lines()
    assert "    1. gap: 2 mm or less" in vet(load_text(text.replace("low = 0.10\n", ""), "x.toml")).lines()
    assert "    1. gap: 0.10 mm or more" in vet(load_text(text.replace("high = 2\n", ""), "x.toml")).lines()


@pytest.mark.parametrize("code", UNITS)
def test_every_unit_has_its_likely_figures(code: str) -> None:
    """A limit within what is measured in a bay is no warning, one beyond it is, whatever the unit."""
    low, high = sense.SPAN[code]
    assert low < high
    body = MEASURE.format("a", "gap", "{}").replace('"mm"', f'"{code}"').replace("\nhigh = 2", "")
    assert remarks(body.format(f'"{max(low, Decimal(1)):f}"')) == []
    ((step, key, said),) = remarks(body.format(f'"{high + 1:f}"'))
    assert (step, key) == ("a", "low")
    assert "is not what is measured in a bay" in said


@pytest.mark.parametrize("code", [unit.code for unit in UNITS.values() if unit.dimension == "torque"])
def test_every_unit_of_torque_may_be_a_stage(code: str) -> None:
    """Beyond hand tools in each of them."""
    body = '[[step]]\nid = "a"\nkind = "fasten"\nsay = "T."\ncount = 4\norder = "star"\nstages = ["{} {}"]\n'
    assert remarks(body.format(10, code)) == []
    ((_, key, said),) = remarks(body.format(50_000, code))
    assert key == "stages"
    assert "beyond hand tools" in said


@pytest.mark.parametrize(("code", "figure"), [("degC", "-274"), ("degF", "-460")])
def test_below_absolute_zero(code: str, figure: str) -> None:
    """Outside check: 0 K is -273.15 degC (SI brochure, 9th edition, 2019, section 2.3.1), hence -459.67 degF."""
    body = MEASURE.format("a", "heat", f'"{figure}"').replace('"mm"', f'"{code}"')
    assert any("absolute zero" in said for _, _, said in remarks(body))
