"""What a technician says of waits: go, begun earlier, begun anew, longer, called off; which one; the surroundings.

Nothing here starts, moves or ends a wait before a yes, except the plain "go". Two limits never move: a maximum is the
maker's, and a minimum only grows.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from bayvoice.dialogue.engine.asked import BatchAsked, OverrideAsked
from bayvoice.dialogue.engine.state import Mode, WaitAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, reasons, supplies, waits
from bayvoice.dialogue.steps.windows import SENSIBLE, UNITS, Window, astray, needs, window
from bayvoice.errors import BayError, sentence
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount, duration
from bayvoice.procedure.model import Passing, Step, Wait

SECONDS: Final = {"s": 1, "min": 60, "h": 3600}
FRESH_S: Final = 3600.0
"""How long a value of the surroundings holds, seconds; one given on the command line holds for its sitting."""
LONGEST: Final = 1000 * 3600


def detail_of(step: Step) -> Wait:
    """The wait a step describes."""
    assert isinstance(step.detail, Wait)
    return step.detail


def begin(turn: Turn, step: Step) -> None:
    """The wait of `step` begins now; if its length is still to be asked for, the moment is kept."""
    turn.put(armed=(step.id, turn.at.mono))
    ready(turn, step)


def ready(turn: Turn, step: Step) -> None:
    """Start the wait that has begun if all it is worked out from is known, else ask for the next value."""
    if ask_batch(turn, step) or ask_ambient(turn, step):
        return
    found = _window(turn, step)
    if found is None:
        turn.mode(Mode.AMBIENT)
        detail = detail_of(step)
        turn.say("ambient_again", name=astray(detail, ambient(turn)) or needs(detail)[0])
        return
    armed = turn.state.armed
    if armed is None or armed[0] != step.id:
        turn.mode(Mode.WAIT)
        turn.say("ask_wait_go", name=detail_of(step).name)
        return
    turn.put(armed=None)
    turn.mode(Mode.WAIT)
    _start(turn, step, found, armed[1])


def _start(turn: Turn, step: Step, found: Window, began: float) -> None:
    """Start the wait of `step` at mono time `began`; a run that it replaces ends with that."""
    running = turn.job.wait_of(step.id)
    anew = step.id in turn.job.answered and (running is None or began > running.since)
    if running is not None:
        waits.end(turn, running, "restarted", "begun_anew" if anew else "start_corrected")
    start(turn, step, found, turn.at.mono - began, anew)


def start(turn: Turn, step: Step, window: Window, ago: float = 0.0, restart: bool = False) -> None:
    """Start the wait of `step`, `ago` seconds back (below zero: that far ahead)."""
    wait = detail_of(step)
    turn.fact(
        "wait_started",
        step=step.id,
        name=wait.name,
        wait=wait.wait.value,
        at_least=window.at_least,
        at_most=window.at_most,
        mono=f"{turn.at.mono - ago:.3f}",
        ago=round(ago),
        model=window.model,
        from_=window.from_,
        restart=restart,
    )
    least, most = window.at_least, window.at_most
    key = "wait_started_" + ("both" if least and most else "min" if least else "max")
    turn.say(key, name=wait.name, at_least=duration(least or 0), at_most=duration(most or 0))
    waits.schedule(turn)


def _window(turn: Turn, step: Step) -> Window | None:
    """How long the wait of `step` takes in these surroundings; None, with the reason said, where nobody knows."""
    try:
        return window(detail_of(step), ambient(turn))
    except BayError as error:
        turn.ring("refused")
        turn.say_text(f"{sentence(error.what)}. {sentence(error.mend)}.")
        return None


def ambient(turn: Turn) -> dict[str, Decimal]:
    """Values of the surroundings that still hold."""
    return {
        one.name: one.value
        for one in turn.job.ambient
        if one.source == "command_line" or abs(turn.at.wall - one.wall) <= FRESH_S
    }


def ask_batch(turn: Turn, step: Step) -> bool:
    """Ask for the batch of what the wait of `step` uses, before it counts; False where nothing is owed."""
    item = supplies.batch_owed(turn.job, step)
    if item is None:
        return False
    if not isinstance(turn.state.pending, BatchAsked):
        supplies.ask_batch(turn, item)
    return True


def ask_ambient(turn: Turn, step: Step) -> bool:
    """Ask for the next value that the wait of `step` is worked out from; False where all are known."""
    known = ambient(turn)
    missing = next((name for name in needs(detail_of(step)) if name not in known), "")
    if not missing:
        return False
    turn.mode(Mode.AMBIENT)
    turn.say(f"ask_{missing}")
    return True


def ask(turn: Turn, step: Step) -> None:
    """Say what is expected in a wait step now."""
    job, detail = turn.job, detail_of(step)
    if job.wait_of(step.id):
        turn.say("ask_wait_running", name=detail.name)
    elif step.id in job.answered:
        turn.say("ask_wait_done", name=detail.name)
    elif ask_batch(turn, step) or ask_ambient(turn, step):
        pass
    elif detail.on_go:
        turn.say("ask_wait_go", name=detail.name)


def go(turn: Turn, intent: Intent) -> None:
    """Start the wait that is armed."""
    step = turn.step
    running = turn.job.wait_of(step.id)
    if running is not None:
        turn.say("already_running", name=running.name)
        return
    begin(turn, step)


def value(turn: Turn, intent: Intent) -> None:
    """A value of the surroundings was said; it is read back."""
    step = turn.step
    detail, known = detail_of(step), ambient(turn)
    wanted = needs(detail)
    missing = next((name for name in wanted if name not in known), "")
    of_unit = [name for name in wanted if UNITS[name] == intent.unit]
    name = of_unit[0] if of_unit else missing or astray(detail, known) or wanted[0]
    said = intent.unit or UNITS[name]
    if name == "temperature" and said == "deg":
        said = UNITS[name]
    low, high = SENSIBLE[name]
    try:
        meant = [v if said == UNITS[name] else units.convert(v, said, UNITS[name]) for v in intent.readings]
    except BayError:
        turn.ring("refused")
        turn.say("wrong_unit", name=name, unit=units.spoken(UNITS[name], True), said=units.spoken(said, True))
        return
    likely = [v for v in meant if low <= v <= high]
    if len(likely) != 1 or (name == "depth" and not likely[0]):
        turn.ring("refused")
        turn.say("ambient_again", name=name)
        return
    found = likely[0]
    question = turn.state.wording.text("sure_ambient", name=name, value=amount(found, UNITS[name]))
    _ask_sure(turn, WaitAsked("ambient", step.id, name, question, value=found, unit=UNITS[name]))


def started(turn: Turn, intent: Intent) -> None:
    """The wait of this step began earlier than it was said, or will begin later."""
    step, seconds = turn.step, _seconds(intent)
    if seconds is None or not isinstance(step.detail, Wait):
        turn.say("help_wait")
        return
    ahead = intent.slot("when") == "ahead"
    name = detail_of(step).name
    if not ahead and _before_entered(turn, step, seconds):
        return
    question = turn.state.wording.text("sure_ahead" if ahead else "sure_ago", name=name, by=duration(seconds))
    _ask_sure(turn, WaitAsked("start", step.id, name, question, -seconds if ahead else seconds))


def _before_entered(turn: Turn, step: Step, seconds: int) -> bool:
    """Whether the wait would have begun before its step did, on the word of one person where its minimum takes another
    to be passed; that is said and recorded."""
    if passing.class_of(turn.job, "wait", step.id) is Passing.ALONE:
        return False
    here = turn.at.mono - dict(turn.job.entered).get(step.id, turn.at.mono)
    if seconds <= here:
        return False
    name = detail_of(step).name
    turn.fact("refused", step=step.id, what="started", name=name, n=seconds, of="seconds")
    turn.ring("refused")
    turn.say("started_too_early", name=name, here=duration(int(here)))
    return True


def restart(turn: Turn, intent: Intent) -> None:
    """A wait begins anew: it was sprayed, filled, heated again."""
    _concerning(turn, intent, "restart")


def extend(turn: Turn, intent: Intent) -> None:
    """A minimum grows."""
    _concerning(turn, intent, "extend", _seconds(intent) or 0)


def cancel(turn: Turn, intent: Intent) -> None:
    """A wait is called off: after a yes and with a reason it holds nothing back any more."""
    _concerning(turn, intent, "cancel")


def _seconds(intent: Intent) -> int | None:
    """The span that was said, in whole seconds, None where it is none."""
    unit = SECONDS.get(intent.unit or "")
    if intent.value is None or unit is None:
        return None
    seconds = int(intent.value * unit)
    return seconds if 0 < seconds <= LONGEST else None


def _concerning(turn: Turn, intent: Intent, what: str, seconds: int = 0) -> None:
    """Find out which wait is meant: the named one, the only one, else ask."""
    found = {wait.step: wait.name for wait in turn.job.waits}
    current = turn.job.current
    over = current is not None and current.id in turn.job.answered
    if what == "restart" and over and current is not None and isinstance(current.detail, Wait):
        found.setdefault(current.id, current.detail.name)
    name = intent.slot("name")
    if name is not None:
        found = {step: each for step, each in found.items() if each.lower() == name}
    if not found:
        turn.say("no_such_wait" if name else "no_wait")
        return
    if len(found) > 1:
        text = turn.state.wording.text
        lines = [text("which_row", number=i, name=each) for i, each in enumerate(found.values(), 1)]
        question = text("which", rows=" ".join(lines))
        turn.put(pending=WaitAsked(what, "", "", question, seconds, choices=tuple(found)))
        turn.mode(Mode.WHICH)
        turn.say_text(question)
        return
    _put(turn, what, next(iter(found)), seconds)


def choose(turn: Turn, intent: Intent) -> None:
    """Which of several waits is meant."""
    asked = _asked(turn)
    name, number = intent.slot("name"), intent.slot("count")
    named = {step: detail_of(_step(turn, step)).name.lower() for step in asked.choices}
    if number is not None and 1 <= int(number) <= len(asked.choices):
        found = [asked.choices[int(number) - 1]]
    else:
        found = [step for step, each in named.items() if each == name]
    if len(found) != 1:
        turn.say_text(asked.question)
        return
    _put(turn, asked.what, found[0], asked.seconds)


def _put(turn: Turn, what: str, step_id: str, seconds: int) -> None:
    """Ask for the yes."""
    step, wait = _step(turn, step_id), turn.job.wait_of(step_id)
    name, text = detail_of(step).name, turn.state.wording.text
    if what == "cancel":
        passing.ask_override(turn, OverrideAsked("cancel", step_id, name))
        return
    if what == "restart":
        _ask_sure(turn, WaitAsked("restart", step_id, name, text("sure_restart", name=name)))
        return
    refusal = ""
    if not seconds:
        refusal = "extend_how_long"
    elif wait is None or wait.at_least is None:
        refusal = "extend_no_minimum"
    elif wait.at_most is not None and wait.at_least + seconds > wait.at_most:
        refusal = "extend_too_long"
    if refusal or wait is None or wait.at_least is None:
        _back(turn)
        turn.say(refusal, name=name, most=duration(wait.at_most or 0) if wait else "")
        return
    question = text("sure_extend", name=name, by=duration(seconds), at_least=duration(wait.at_least + seconds))
    _ask_sure(turn, WaitAsked("extend", step_id, name, question, seconds))


def _ask_sure(turn: Turn, asked: WaitAsked) -> None:
    turn.put(pending=asked)
    turn.mode(Mode.SURE)
    turn.say_text(asked.question)


def sure_yes(turn: Turn, intent: Intent) -> None:
    """What was asked is right: do it."""
    asked, said = _asked(turn), turn.state.asked
    step = _step(turn, asked.step)
    turn.put(pending=None)
    if asked.what == "ambient":
        turn.fact("ambient", step=step.id, name=asked.name, value=f"{asked.value:f}", unit=asked.unit, source=turn.how)
        turn.say("logged_value", name=asked.name, value=amount(asked.value, asked.unit))
        ready(turn, step)
    elif asked.what == "start":
        turn.put(armed=(step.id, said - asked.seconds))
        ready(turn, step)
    elif asked.what == "restart":
        if step.id == turn.step.id:
            turn.put(armed=(step.id, said))
            ready(turn, step)
            return
        turn.mode(mode_of(turn.job, turn.step))
        missing = next((name for name in needs(detail_of(step)) if name not in ambient(turn)), "")
        found = None if missing else _window(turn, step)
        if missing:
            turn.say("ambient_old", name=missing, number=turn.job.procedure.index(step.id) + 1)
        elif found is not None:
            _start(turn, step, found, said)
    else:
        _extend(turn, step, asked.seconds)


def _extend(turn: Turn, step: Step, seconds: int) -> None:
    wait = turn.job.wait_of(step.id)
    _back(turn)
    if wait is None or wait.at_least is None:
        turn.say("no_wait")
        return
    least = wait.at_least + seconds
    turn.fact("wait_changed", step=step.id, name=wait.name, at_least=least, at_most=wait.at_most, reason="extended")
    turn.say("extended", name=wait.name, at_least=duration(least))
    waits.schedule(turn)


def cancelled(turn: Turn, asked: OverrideAsked) -> None:
    """A yes and a reason were given: the wait ends and holds nothing back."""
    wait = turn.job.wait_of(asked.step)
    if wait is not None:
        waits.end(turn, wait, "cancelled", asked.reason)
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("cancelled", name=asked.name, reason=reasons.words(turn.state.wording, asked.reason))
    if isinstance(turn.step.detail, Wait):
        ask(turn, turn.step)


def sure_no(turn: Turn, intent: Intent) -> None:
    """Nothing changes."""
    turn.say("sure_dropped")
    _back(turn)


def _back(turn: Turn) -> None:
    """To the step in hand."""
    step = turn.step
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, step))
    if isinstance(step.detail, Wait):
        ask(turn, step)


def _step(turn: Turn, step_id: str) -> Step:
    return turn.job.procedure.steps[turn.job.procedure.index(step_id)]


def _asked(turn: Turn) -> WaitAsked:
    assert isinstance(turn.state.pending, WaitAsked), "a question about a wait that was not put"
    return turn.state.pending
