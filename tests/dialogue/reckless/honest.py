"""A willing technician with a real foreman: from wherever a walk has led, they bring the job to its end."""

from __future__ import annotations

from tests.anyjob import WORKERS
from tests.dialogue.reckless.jobs import CODE, ROLES
from tests.dialogue.reckless.world import World
from tests.willing import Ways, answer
from tests.willing import finish as to_the_end

WAYS = Ways(ROLES, CODE)


def word(world: World, *, sign: bool = True) -> str:
    """What they say now; without `sign` as if no finding stopped the step."""
    return answer(world.state, world.at, WAYS, sign=sign) or "next"


def finish(world: World) -> bool:
    """Whether the job comes to its end when nobody hinders it."""

    def again() -> None:
        world.die()
        world.begin(WORKERS[0])

    return to_the_end(world, WAYS, lambda words: world.say(words, typed=True), again)
