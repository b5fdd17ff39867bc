"""No talk leads past what must hold: random procedures, random things said, breaks and restarts in between.

The judge below reads the facts alone and shares no code with the core.
"""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from hypothesis import HealthCheck, settings

from tests.dialogue.anytalk import AnyTalk

TestAnyTalk = pytest.mark.slow(AnyTalk.TestCase)
TestAnyTalk.settings = settings(
    max_examples=40, stateful_step_count=8, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)

WALKS = 250


@pytest.mark.slow
def test_long_random_walks_end_with_nothing_undone_and_pass_every_guard_there_is() -> None:
    """Hypothesis looks for short ways; these are long ones. Together they must have met every kind of guard."""
    met: Counter[str] = Counter()
    for seed in range(WALKS):
        rng = Random(seed)
        machine = AnyTalk()
        machine.begin(seed)
        for _ in range(3):
            machine.talk(rng.getrandbits(64), rng.choice((0.1, 0.3, 0.6)))
            machine.what_must_hold()
            if not machine.done and rng.random() < 0.5:
                machine.restart(rng.choice(("Imre", "Dalia")))
        met["ended by talk"] += machine.done
        machine.teardown()
        for fact in machine.stage.facts:
            met[fact.kind] += 1
            if fact.kind in ("overridden", "refused"):
                met[f"{fact.kind} {fact.body['what']}"] += 1
            if fact.kind == "step_entered":
                met[f"entered {fact.body['again']}"] += 1
    wanted = ["ended by talk", "searched", "signed", "deferred", "branched", "found", "handed_over", "batch", "listed"]
    wanted += [f"overridden {what}" for what in ("skip", "wait", "check", "measure", "tally", "part", "hold", "batch")]
    wanted += [f"refused {what}" for what in ("wait", "tally", "hold", "part", "finding", "nobody")]
    wanted += [f"entered {again}" for again in ("aside", "return", "owed", "back")]
    assert not [kind for kind in wanted if met[kind] < 3], {kind: met[kind] for kind in wanted}
