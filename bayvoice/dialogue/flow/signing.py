"""Signs of somebody else: at a hold point, now or later, and where only another person may let the job go on."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.dialogue.engine.asked import CodeAsked, OverrideAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, reasons
from bayvoice.dialogue.flow.walk import ask, leave, stopped, way_barred
from bayvoice.job import people
from bayvoice.job.people import WORKED
from bayvoice.language.intents import Intent
from bayvoice.language.wording import duration
from bayvoice.procedure.model import FOREMAN, Passing, Step

WRONG_CODES = 3
"""Wrong codes in a row after which it is recorded as trouble."""


@dataclass(frozen=True, slots=True)
class _Target:
    """What a sign would be for: `what` as in the fact "overridden", "hold", or "finding"."""

    what: str
    step: Step
    role: str
    name: str


def _target(turn: Turn) -> _Target | None:
    """What can be signed now: what the present step asks for, else the first hold left for later."""
    job, step = turn.job, turn.step
    found = next((what for where, what in job.stopped if where == step.id), "")
    if found:
        # Before the hold itself: whoever may sign that need not be who decides about a finding.
        return _Target("finding", step, FOREMAN, found)
    later = (job.procedure.steps[job.procedure.index(held)] for what, held in job.deferred if what == "hold")
    for each in (step, *later):
        wanted = kind_of(job, each).sign(job, each)
        if wanted is not None:
            return _Target(wanted.what, each, wanted.role, wanted.name)
    return None


def sign(turn: Turn, intent: Intent) -> None:
    """Someone signs: the hold in hand, one left for later, a finding, or what lets a refused step go on."""
    target = _target(turn)
    if target is None:
        turn.say("nothing_to_sign")
        return
    if _never(turn, target) or (target.what not in MEETS and way_barred(turn, target.step)):
        return
    kind = kind_of(turn.job, target.step)
    if target.what != "finding" and kind.sign_barred(turn, target.step, ""):
        return
    who = intent.slot("who")
    if who is None:
        turn.say("say_who_signs")
        return
    person, barred = _person(turn, who, target.role)
    if person is None:
        _refuse(turn, barred, who, target.role)
        return
    if target.what != "finding" and kind.sign_barred(turn, target.step, person.name):
        return
    code = intent.slot("code")
    if not person.coded:
        _sign(turn, target, person.name, "")
    elif code is None:
        turn.put(pending=CodeAsked(target.step.id, person.name, target.role))
        turn.mode(Mode.CODE)
        turn.say("ask_code", who=person.name)
    elif code == "right":
        _sign(turn, target, person.name, "right")
    else:
        wrong_code(turn, target.step.id, target.role, code)


MEETS = frozenset({"hold", "finding"})
"""What a sign meets by itself; anything else it lets pass by an override, so that nothing else may keep the step."""


def _never(turn: Turn, target: _Target) -> bool:
    """Whether nobody may let go on what a sign is to let go on; that is said and recorded."""
    if target.what == "finding":
        return passing.finding_class(turn.job, target.step.id) is Passing.NOBODY and stopped(turn, target.step)
    asked = OverrideAsked(target.what, target.step.id, target.name)
    return target.what not in MEETS and passing.nobody_may(turn, asked)


def _refuse(turn: Turn, barred: str, said: str, role: str) -> None:
    turn.ring("refused")
    turn.say(barred, who=said if barred != WORKED else role, role=role)


def allows(turn: Turn, intent: Intent, role: str) -> people.Person | None:
    """Who is to allow that a guard is passed, in `role`; None, having said why, where that person may not."""
    who = intent.slot("who")
    if who is None:
        turn.say("ask_who")
        return None
    person, barred = _person(turn, who, role)
    if person is None:
        if barred == WORKED:
            turn.ring("refused")
            turn.say("named_yourself")
        else:
            _refuse(turn, barred, who, role)
    return person


def _person(turn: Turn, said: str, role: str) -> tuple[people.Person | None, str]:
    """Who answers for it, or why not: the one check of `people.signer`. `role`: "" for any."""
    return people.signer(turn.state.roll, turn.state.people, turn.job.hands, said, role)


def _sign(turn: Turn, target: _Target, who: str, code: str) -> None:
    turn.fact("signed", step=target.step.id, who=who, role=target.role, how=turn.how, code=code)
    here = turn.step
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, here))
    turn.say("signed", who=who)
    if target.what == "hold" and target.step.id == here.id:
        leave(turn, here)
    elif target.what == "hold":
        turn.say("signed_later", look=target.name)
    elif target.what == "finding":
        turn.say("finding_signed", what=target.name)
        ask(turn, here)
    else:
        asked = OverrideAsked(target.what, here.id, target.name, who=who, code=code)
        turn.put(pending=asked)
        turn.mode(Mode.REASON)
        turn.say("ask_reason", reasons=reasons.sayable(turn, asked))


def wrong_code(turn: Turn, step: str, role: str, verdict: str) -> None:
    """A code that does not count, of somebody who wants to sign or allow something at step `step` as `role`.

    verdict: "wrong", or "wait 12" where it was not compared, because codes must wait for 12 s yet.
    """
    word, _, seconds = verdict.partition(" ")
    if word == "wait" and seconds.isdigit():
        turn.ring("refused")
        turn.say("code_waits", wait=duration(float(seconds)))
        return
    count = dict(turn.job.wrong_codes).get(step, 0) + 1
    # The role and not the name: a wrong code tells nothing of the person whose it was said to be.
    turn.fact("refused", step=step, what="code", name=role, n=count, of="tries")
    turn.ring("refused")
    turn.say("code_wrong")
    if count % WRONG_CODES == 0:
        turn.fact("trouble", part="sign", what="wrong_codes", detail="", name=role, n=count)
        drop_code(turn, Intent("no"))


def code_given(turn: Turn, intent: Intent) -> None:
    """A code was said or typed. Whether it is right was found out before it came here: the core never sees a code."""
    asked, target = turn.state.pending, _target(turn)
    assert isinstance(asked, CodeAsked), "a code without a person"
    if target is None or target.step.id != asked.step:
        drop_code(turn, intent)
    elif intent.slot("code") == "right":
        _sign(turn, target, asked.who, "right")
    else:
        wrong_code(turn, target.step.id, target.role, intent.slot("code") or "")


def drop_code(turn: Turn, intent: Intent) -> None:
    """Nobody signs."""
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
    ask(turn, turn.step)
