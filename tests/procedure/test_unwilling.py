"""The procedures that ship, worked by somebody who wants on: each guard of `procedures/HAZARDS.md` holds.

What a guard is for stands in that table; facts of the trade in it are common practice, no source, unless one is named.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from bayvoice.dialogue.engine.state import Mode
from bayvoice.host.datafiles import procedure_names
from bayvoice.procedure.model import Fasten, Measure, Passing, Replace, Wait
from tests.hazards import Guard, rows
from tests.stage import Stage, shipped
from tests.unwilling import at, begun, left, onward, overridden, pass_it, to_step, tries, waits_for
from tests.willing import Plan, plan_of

GUARDS = sorted({row.guard for row in rows() if row.guard.kind not in ("said", "finding")}, key=str)
FINDINGS = sorted({row.guard for row in rows() if row.guard.kind == "finding"}, key=str)


def brought(guard: Guard) -> Stage:
    """The job of `guard`, willingly brought to its step, and long enough there for no other wait to hold it."""
    stage = to_step(shipped(guard.job), guard.name, roundabout(guard.job))
    holding = [one for one in stage.state.job.waits if one.at_most is None and one.step != guard.name]
    stage.wait(max((one.short(stage.mono) for one in holding), default=0.0))
    return stage


def keeps(guard: Guard) -> Wait | None:
    """The wait of `guard`, None where it is no wait."""
    procedure = shipped(guard.job)
    detail = procedure.steps[procedure.index(guard.name)].detail if guard.kind == "wait" else None
    return detail if isinstance(detail, Wait) else None


GATES = [guard for guard in GUARDS if (wait := keeps(guard)) and wait.gates]
WINDOWS = [guard for guard in GUARDS if (wait := keeps(guard)) and wait.at_most is not None]


def roundabout(job: str) -> Plan:
    """The usual way, by every aside of the job."""
    plan = plan_of(shipped(job))
    if job == "balancer-phase":
        plan.said["phase-set"] = ["two degrees"] * 3
    return plan


@pytest.mark.parametrize("guard", [g for g in GUARDS if g in GATES or not keeps(g)], ids=str)
def test_nobody_gets_past_alone(guard: Guard) -> None:
    """Next, a no, a value that is out, leaving it out, allowing it oneself: the step is not left by any of these.

    Of a guard that the technician may pass alone: by none of them without a yes and a reason.
    """
    stage = brought(guard)
    step = stage.procedure.steps[stage.procedure.index(guard.name)]
    tries(stage, step)


@pytest.mark.parametrize("guard", GATES, ids=str)
def test_a_wait_keeps_what_it_gates(guard: Guard) -> None:
    """Begun, and the next steps done at once: none of the gated steps begins before the time, by Imre alone."""
    stage = brought(guard)
    waits_for(stage, stage.procedure.steps[stage.procedure.index(guard.name)])


@pytest.mark.parametrize("guard", WINDOWS, ids=str)
def test_a_window_that_ran_out_is_begun_anew(guard: Guard) -> None:
    """Too late: the work goes back to where the file says, and what should have been done in time is not done."""
    stage, plan = brought(guard), roundabout(guard.job)
    wait = keeps(guard)
    assert wait is not None
    assert wait.at_most is not None
    onward(stage, plan, lambda: stage.state.job.wait_of(guard.name) is not None)
    stage.wait(wait.at_most + 60)
    before = len(stage.facts)
    onward(stage, plan, lambda: at(stage) == wait.recovery)
    assert wait.closes not in {f.body["step"] for f in stage.facts[before:] if f.kind == "step_done"}


@pytest.mark.parametrize("guard", [g for g in GUARDS if g.passing is Passing.SECOND and g.kind != "tally"], ids=str)
def test_a_second_person_may_let_it_go(guard: Guard) -> None:
    """What keeps Imre is that he is alone: with Ruth's word, who has not worked on the job, it goes on, recorded."""
    stage = brought(guard)
    pass_it(stage, "skip step", "Ruth")
    assert (guard.name, "Ruth") in overridden(stage), stage.said


@pytest.mark.parametrize("guard", FINDINGS, ids=str)
def test_a_finding_stops_or_leads_to_its_remedy(guard: Guard) -> None:
    """Found at the step where the table says: by next, or leaving it out, nobody alone gets on from there."""
    row = next(row for row in rows() if row.guard == guard)
    stage = to_step(shipped(guard.job), row.step, roundabout(guard.job))
    stage.hear(f"found {guard.name}")
    finding = next(one for one in stage.procedure.findings if one.say == guard.name)
    if finding.to:
        assert stage.state.job.current is not None
        assert stage.state.job.current.aside == finding.to
        return
    for words in ("next", "yes", "no", "skip step", "sign imre"):
        if stage.grammars.state(stage.state.mode).match(words.split()) is not None:
            stage.hear(words)
    assert at(stage) == row.step
    assert not left(stage, row.step)


@pytest.mark.parametrize("job", procedure_names())
def test_cautions_are_said_before_the_act(job: str) -> None:
    """On entering each step, and again on repeat: every caution before the step's own words."""
    procedure, plan = shipped(job), roundabout(job)
    stage, seen = begun(procedure), set[str]()

    def watch() -> bool:
        step = stage.state.job.current
        if step is not None and step.id not in seen and stage.state.mode not in (Mode.LIST, Mode.FINISHED):
            seen.add(step.id)
            stage.forget()
            stage.hear("repeat")
            told = " ".join(stage.said)
            for caution in step.cautions:
                assert f"{caution.signal.value.capitalize()}. {caution.text}" in told, (step.id, told)
                assert told.index(caution.text) < told.index(step.say), step.id
        return stage.state.job.finished

    onward(stage, plan, watch)
    assert seen >= {step.id for step in procedure.steps if step.cautions}


@pytest.mark.parametrize("job", procedure_names())
def test_what_is_turned_by_an_angle_is_new_and_turned_once(job: str) -> None:
    """A bolt tightened by an angle is stretched: a one-use part, fitted new before, and no other step turns it again
    by an angle, in the line or in an aside."""
    procedure = shipped(job)
    parts = {part.id: part.name for part in procedure.parts if part.one_use}
    turned: list[str] = []
    for index, step in enumerate(procedure.steps):
        if not isinstance(step.detail, Fasten) or all(stage.unit != "deg" for stage in step.detail.stages):
            continue
        assert not step.aside, step.id
        new = [s for s in procedure.steps[:index] if isinstance(s.detail, Replace)]
        assert step.detail.name in {parts[s.detail.part] for s in new if isinstance(s.detail, Replace)}, step.id
        turned.append(step.detail.name)
    assert len(turned) == len(set(turned))
    assert bool(turned) == (job in ("balancer-phase", "k40-transfer-cover"))


def test_stretched_cover_bolts_do_not_go_back() -> None:
    """No new cover bolts: the cover is not tightened, by no word of the technician's."""
    stage = to_step(shipped("k40-transfer-cover"), "new-bolts")
    stage.hear("no")
    stage.hear("next")
    pass_it(stage, "skip step", "Imre")
    assert at(stage) == "new-bolts"
    assert not left(stage, "new-bolts")


def test_wheel_nuts_get_their_final_torque_on_the_ground() -> None:
    """In the air a quarter of it at most; the final torque only once the answer is that the weight is on the wheels."""
    procedure = shipped("hub-end-float")
    ids = [step.id for step in procedure.steps]
    stages = {s.id: s.detail.stages for s in procedure.steps if isinstance(s.detail, Fasten)}
    final = max(stage.amount for stage in stages["nuts-final"])
    assert max(stage.amount for stage in stages["nuts-off-back"]) <= final / 4
    order = ["wheel-off-back-2", "nuts-off-back", "lowered", "nuts-final", "first-drive", "nuts-again", "sign"]
    assert sorted(order, key=ids.index) == order
    stage = to_step(procedure, "lowered")
    for words in ("no", "next", "no"):
        stage.hear(words)
    pass_it(stage, "next", "Imre")
    pass_it(stage, "skip step", "Imre")
    entered = {fact.body["step"] for fact in stage.facts if fact.kind == "step_entered"}
    assert not entered & {"nuts-final", "first-drive", "nuts-again", "sign"}


def test_a_nut_that_turns_after_the_first_drive_is_not_good() -> None:
    """The round is made again, as often as one turned; only a round in which none turned ends it."""
    stage = to_step(shipped("hub-end-float"), "nuts-again")
    stage.hear("next")
    for _ in range(3):
        stage.hear("yes")
        assert at(stage) == "nuts-again"
    stage.hear("no")
    assert at(stage) == "sign"


def test_a_charged_capacitor_is_not_touched() -> None:
    """Twelve volts: to the resistor, and again, and after the last try nobody, Ruth included, may go on with it."""
    plan = Plan(said={"voltage-gone": ["twelve volts"] * 5})
    procedure = shipped("balancer-phase")
    stage = begun(procedure)
    for _ in range(200):
        words = plan.words(stage.state, stage.at)
        if any("No more tries" in text for text in stage.said):
            break
        if words is None:
            stage.wait(60)
        else:
            stage.hear(words)
    assert at(stage) == "voltage-gone"
    assert [f.body["value"] for f in stage.facts if f.kind == "measured"] == ["12"] * 4
    for who in ("Imre", "Ruth"):
        for opening in ("next", "skip step"):
            pass_it(stage, opening, who)
    stage.hear("next")
    assert at(stage) == "voltage-gone"
    assert not overridden(stage)
    entered = {fact.body["step"] for fact in stage.facts if fact.kind == "step_entered"}
    assert entered == {"isolate", "discharge", "meter-before", "voltage-gone", "bridge", "bridged"}


def test_the_time_alone_does_not_prove_a_capacitor_empty() -> None:
    """After the wait come a meter that is proved, the measurement, and the meter again, before anything is opened."""
    procedure = shipped("balancer-phase")
    ids = [step.id for step in procedure.steps]
    first = ["isolate", "discharge", "meter-before", "voltage-gone", "meter-after"]
    assert ids[:5] == first
    wait, gone = procedure.steps[1].detail, procedure.steps[3]
    assert isinstance(wait, Wait)
    assert isinstance(gone.detail, Measure)
    assert {"meter-before", "voltage-gone"} <= set(wait.gates)
    assert gone.passing is Passing.NOBODY
    # Between its terminals either way round, and far below what can burn (60 V DC is the bound for shock alone).
    assert gone.detail.low == -2
    assert gone.detail.high == 2


def test_a_patch_cures_by_the_sheet_of_its_adhesive() -> None:
    """The same adhesive, the same table; at 10 degrees and 30 % fourteen hours, and not an hour."""
    procedure = shipped("cab-glass")
    glass, patch = (procedure.steps[procedure.index(each)].detail for each in ("glass-cures", "leak-cures"))
    assert isinstance(glass, Wait)
    assert isinstance(patch, Wait)
    assert patch.rows == glass.rows
    assert patch.rows
    stage = to_step(procedure, "leak-cures")
    for words in ("ten degrees celsius", "yes", "thirty percent", "yes", "start the clock"):
        if stage.grammars.state(stage.state.mode).match(words.split()) is not None:
            stage.hear(words)
    assert at(stage) == "leak-cures"
    (running,) = stage.state.job.waits
    assert running.at_least == 14 * 3600
    stage.wait(3600)
    stage.hear("next")
    pass_it(stage, "skip step", "Imre")
    assert at(stage) == "leak-cures"
    stage.wait(13 * 3600)
    if stage.state.mode in (Mode.NAMED, Mode.REASON, Mode.OVERRIDE):
        stage.hear("no")
    stage.hear("next")
    assert at(stage) == "water-test"


def test_nothing_presses_on_the_pane_before_it_has_cured() -> None:
    """Trim and sprung wiper arms go back, and water comes, only after the adhesive's own time."""
    procedure = shipped("cab-glass")
    cure = procedure.steps[procedure.index("glass-cures")].detail
    assert isinstance(cure, Wait)
    stage = to_step(procedure, "glass-cures")
    waits_for(stage, procedure.steps[procedure.index("glass-cures")])
    later = [step.id for step in procedure.steps if step.origin]
    assert later[0] in cure.gates
    assert min(procedure.index(each) for each in later) == procedure.index("glass-cures") + 1


def test_anchors_are_tightened_with_slack_chains_and_forks_are_raised_again_to_measure() -> None:
    """The finding leads to the floor first; and what is measured with raised forks is not measured on the floor."""
    procedure = shipped("lift-chain")
    aside = [procedure.steps[i].id for i in procedure.aside("tighten the anchors")]
    assert aside == ["anchors-slack", "anchors-tight"]
    assert [procedure.steps[i].id for i in procedure.aside("level the forks")][-1] == "forks-up"
    stage = to_step(procedure, "anchors-slack")
    stage.hear("no")
    stage.hear("next")
    pass_it(stage, "next", "Imre") if stage.state.mode is Mode.CHECK else pass_it(stage, "no", "Imre")
    assert not left(stage, "anchors-slack")


@pytest.mark.parametrize("step", ["left-chain", "right-chain"])
def test_a_worn_chain_is_not_one_persons_to_pass(step: str) -> None:
    """2.6 % where 2.0 % is the most: Imre alone does not get on; no text of the job gives leave to stand under it."""
    procedure = shipped("lift-chain")
    stage = to_step(procedure, step)
    detail = procedure.steps[procedure.index(step)].detail
    assert isinstance(detail, Measure)
    assert detail.high == Decimal("2.0")
    stage.hear("two point six percent")
    stage.hear("yes")
    pass_it(stage, "next", "Imre")
    assert at(stage) == step
    assert "for no reason" not in procedure.text
