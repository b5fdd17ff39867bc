"""What the product itself records passes the audit, whatever is said in whatever procedure: no false alarm."""

from __future__ import annotations

from random import Random

import pytest

from bayvoice.report.proof import Proof
from bayvoice.report.summary import loaded
from tests.dialogue.anytalk import AnyTalk


@pytest.mark.parametrize("seed", range(60))
def test_random_talk_in_random_procedures_passes(seed: int) -> None:
    """Skips, overrides, corrections, asides, breaks and restarts, as the tests of the core play them."""
    rng, walk = Random(seed), AnyTalk()
    walk.begin(seed=seed)
    for _ in range(rng.randint(3, 12)):
        walk.talk(seed=rng.randrange(2**32), diligence=rng.choice((0.1, 0.3, 0.6)))
        if not walk.done and rng.random() < 0.3:
            walk.restart(by=rng.choice(("Imre", "Dalia")))
        if rng.random() < 0.3:
            walk.wait(minutes=rng.choice((1, 5, 30)))
    walk.teardown()
    proof = Proof("job-1", loaded)
    found = [(f.seq, f.kind, *proof.take(f.seq, f.wall, f.kind, f.body)) for f in walk.stage.facts]
    wrong = [one for one in found if one[3]]
    assert not proof.unread
    assert wrong == [], [(f.seq, f.kind, f.body) for f in walk.stage.facts[1 : wrong[0][0]]][-12:]
