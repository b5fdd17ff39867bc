"""The core as a machine: its table, its purity, what it holds back until it is kept."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, is_dataclass
from typing import get_args

import pytest

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.kind import StepKind
from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.session import ANSWERS, TABLE, handle
from bayvoice.dialogue.steps import KINDS
from bayvoice.host.datafiles import read_procedure
from bayvoice.job import facts
from bayvoice.job.job import Job, fold_all
from bayvoice.language.grammar import Grammars
from tests.stage import SCRIPTS, Stage, new_state, play, wording


@pytest.fixture
def stage() -> Stage:
    """The main job, just begun."""
    stage = Stage(read_procedure("k40-transfer-cover"), ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    return stage


def reachable(grammars: Grammars, mode: Mode) -> set[str]:
    """Intents that some utterance of a dialogue state's grammar means."""
    return {grammars.state(mode.value).match(p.split()).name for p in grammars.state(mode.value).phrases()}  # type: ignore[union-attr]


@pytest.mark.slow
@pytest.mark.parametrize("mode", list(Mode), ids=lambda m: m.value)
def test_what_can_be_heard_has_a_meaning_and_the_other_way_round(mode: Mode, stage: Stage) -> None:
    """Grammar and transition table name the same intents in every dialogue state."""
    assert reachable(stage.grammars, mode) == {name for m, name in TABLE if m is mode}


def test_every_dialogue_state_has_a_grammar(stage: Stage) -> None:
    """And the grammars have no state that neither the core nor a kind of step knows."""
    own = {state for kind in KINDS.values() if isinstance(kind, StepKind) for state in kind.answers}
    assert set(stage.grammars.states()) - {"any"} == {m.value for m in Mode} | own


def test_events_and_effects_are_frozen() -> None:
    """Nothing that was handed over can be changed afterwards."""
    for kind in (*get_args(ev.Event), *get_args(fx.Effect)):
        assert is_dataclass(kind)
        assert vars(kind)["__dataclass_params__"].frozen, kind
    with pytest.raises(FrozenInstanceError):
        fx.Ring("due").tone = "over"  # type: ignore[misc]


def test_replay_of_the_same_events_gives_the_same_record_and_speech() -> None:
    """A whole job replayed, byte for byte."""
    played = play(SCRIPTS / "transfer_case.script")
    state = new_state("job-1", played.procedure, wording(), ("Imre", "Dalia", "Ruth"))
    effects: list[fx.Effect] = []
    for event in played.events:
        state, more = handle(state, event)
        effects.extend(more)
    assert effects == played.effects
    assert [e.fact for e in effects if isinstance(e, fx.Append)] == played.facts
    assert state == played.state


def test_the_job_is_what_its_facts_fold_to() -> None:
    """The live job and the one folded from the record are equal: nothing is stored beside the facts."""
    played = play(SCRIPTS / "transfer_case.script")
    assert fold_all(Job("job-1", played.procedure, KINDS), played.facts) == played.state.job


PLAYED = sorted(path.stem for path in SCRIPTS.glob("*.script"))


@pytest.mark.parametrize("name", PLAYED)
def test_every_dialogue_replays_and_folds_to_the_same(name: str) -> None:
    """Each sitting of each script: same events, same effects; at the end the facts fold to the live job, and every
    fact is declared with its keys."""
    played = play(SCRIPTS / f"{name}.script")
    for sitting in played.sittings:
        state, effects = sitting.begins, list[fx.Effect]()
        for event in sitting.events:
            state, more = handle(state, event)
            effects.extend(more)
        assert effects == sitting.effects
    assert fold_all(Job("job-1", played.procedure, KINDS), played.facts) == played.state.job
    for fact in played.facts:
        assert set(fact.body) == set(KINDS.facts[fact.kind]), fact.kind


def test_the_dialogues_record_every_kind_of_fact_of_people_parts_and_detours() -> None:
    """So that the replay above is one of all of them."""
    kinds = {fact.kind for name in PLAYED for fact in play(SCRIPTS / f"{name}.script").facts}
    wanted = {
        "listed",
        "batch",
        "branched",
        "deferred",
        "found",
        "foreign_part",
        "searched",
        "handed_over",
        "moved_together",
        "noted",
        "signed",
        "overridden",
        "helped",
        "replaced",
    }
    assert not wanted - kinds


def test_every_fact_recorded_is_declared_with_its_keys() -> None:
    """`facts.KINDS` is the list of what a record can hold."""
    for fact in play(SCRIPTS / "transfer_case.script").facts:
        assert set(fact.body) == set(facts.KINDS[fact.kind])


def test_nothing_is_said_before_it_is_kept(stage: Stage) -> None:
    """Speech asked for after a fact comes with the fact's `Kept`, not before."""
    stage.hear("next")
    at = stage.at
    intent = stage.grammars.state("check").match(["yes"])
    state, effects = handle(stage.state, ev.Typed(at, ("yes",), intent))
    assert next(e.fact.kind for e in effects if isinstance(e, fx.Append)) == "checked"
    assert not [e for e in effects if isinstance(e, fx.Say)]
    appended = [e.fact.seq for e in effects if isinstance(e, fx.Append)]
    said = []
    for seq in appended:
        state, more = handle(state, ev.Kept(at, seq))
        said += [e.text for e in more if isinstance(e, fx.Say)]
        if seq == appended[0]:
            assert said == ["Logged: yes."]
    assert any("Let the oil cool" in text for text in said)


def test_an_intent_that_does_not_fit_is_answered_with_what_can_be_said(stage: Stage) -> None:
    """A missing entry of the table is not silence."""
    from bayvoice.language.intents import Intent

    stage.forget()
    stage.take(ev.Typed(stage.at, ("yes",), Intent("yes")))
    assert stage.said[0] == "That does not fit here."
    assert stage.said[1].startswith("Say next")


def test_while_the_product_speaks_only_stop_counts(stage: Stage) -> None:
    """Half duplex: what began while the loudspeaker spoke may be the product's own voice."""
    stage.slow_voice = True
    stage.hear("repeat")
    stage.mono += 2
    facts = len(stage.facts)
    stage.hear("next")
    assert len(stage.facts) == facts
    assert stage.state.heard is not None
    assert stage.state.heard.why == "said while I was speaking"
    stage.hear("stop")
    assert isinstance(stage.effects[-1], fx.Hush)
    assert not stage.state.talk.queued


def test_a_lost_end_of_speech_does_not_leave_the_bay_deaf(stage: Stage) -> None:
    """The watchdog ends speech that nobody reported as ended."""
    stage.slow_voice = True
    stage.hear("repeat")
    stage.speaking.clear()
    stage.wait(600)
    stage.hear("next")
    assert stage.state.job.step == 1


def test_every_step_kind_can_be_answered() -> None:
    """Each mode that belongs to a step has at least one answer of its own."""
    assert all(row for row in ANSWERS.values())


def test_trouble_is_shown_until_it_is_mended(stage: Stage) -> None:
    """A microphone that fails is said, recorded and shown; and gone from the screen once it is back."""
    stage.forget()
    stage.take(ev.Trouble(stage.at, "microphone", "The microphone gives no sound", "Plug it in again"))
    assert stage.said == ["The microphone gives no sound. Plug it in again."]
    assert stage.state.troubles
    stage.take(ev.Mended(stage.at, "microphone"))
    assert not stage.state.troubles
