"""Each procedure that ships is worked to its end by voice: a synthesised technician, the real ears, the real record.

The technician hears whether it was understood and says it again if not, as in the demo, which is the main job's own
spoken track. Only the minimum times of the waits are shortened, minutes to seconds; all else is the shipped file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bayvoice.host.datafiles import data_folder
from bayvoice.procedure.load import load_text
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.options import Options
from bayvoice.runtime.wiring import open_sitting
from demo.make_track import Technician
from demo.technician import Cue
from tests.noises import RATE, Sound
from tests.willing import Plan, plan_of

QUIET_BAY_DB = 25.0
LONGEST_S = 3600.0
_LEAST = re.compile(r'(at_least = ")(\d+) (?:min|h)(")')


class Willing(Technician):
    """Says what its plan says, and waits where there is nothing to say."""

    def __init__(self, plan: Plan) -> None:
        super().__init__(None, QUIET_BAY_DB)
        self._plan = plan

    def __iter__(self) -> Iterator[Sound]:
        assert self.sitting is not None
        hub, heard = self.sitting.hub, 0
        yield from self._quiet(0.7)
        while not hub.state.job.finished and heard < LONGEST_S * RATE:
            words = self._plan.words(hub.state, hub.clock.now())
            spoken = self._cue(Cue(words, gap=0.6)) if words is not None else self._wait(0.5)
            for block in spoken:
                heard += len(block)
                yield block
            yield from self._quiet(0.3)


@pytest.mark.parametrize("name", ["hub-end-float", "lift-chain", "cab-glass", "balancer-phase"])
def test_the_whole_job_by_voice(name: str, tmp_path: Path) -> None:
    """Every step of the line is done by what was heard, none left out, nothing overridden, and the record holds."""
    text = (data_folder("procedures") / f"{name}.toml").read_text(encoding="utf-8")
    path = tmp_path / f"{name}.toml"
    path.write_text(_LEAST.sub(r"\g<1>\g<2> s\g<3>", text), encoding="utf-8")
    procedure = load_text(path.read_text(encoding="utf-8"), path.name)
    technician = Willing(plan_of(procedure))
    options = Options(
        str(path),
        mic="made",
        speaker="off",
        store=tmp_path / "bay.sqlite",
        job=name,
        by="Imre",
        people=("Imre", "Dalia", "Ruth"),
        ears="phones",
    )
    sitting = open_sitting(options, technician.watch, technician)
    technician.sitting = sitting
    try:
        sitting.run()
        assert sitting.hub.state.job.finished, sitting.hub.state.job.current
    finally:
        sitting.close()
    with Store(options.store, read_only=True) as store:
        facts = store.facts(name)
        assert store.verify(name) is None
    done = {fact.body["step"] for fact in facts if fact.kind == "step_done" and fact.body["how"] == "done"}
    assert done >= {procedure.steps[i].id for i in procedure.line}
    assert not [fact for fact in facts if fact.kind == "overridden"]
    assert any(fact.kind == "branched" for fact in facts), "a remedy or a finding was on the way"
