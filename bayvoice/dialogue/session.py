"""The dialogue of a job: `handle(state, event) -> (state, effects)`. Pure; everything that affects transitions is here.

`TABLE` says what each intent does in each dialogue state. An intent that has no entry is answered with what can be
said instead; a test holds the table against the grammars, so that nothing can be heard that has no meaning here.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Final

from bayvoice import __version__
from bayvoice.dialogue.engine import alerts, talk
from bayvoice.dialogue.engine.effects import Append, Effect, Finish, Hush
from bayvoice.dialogue.engine.events import (
    Began,
    Event,
    Heard,
    Kept,
    Left,
    Mended,
    NoteTaken,
    SpeechBegan,
    Spoken,
    Trouble,
    Typed,
    Unkept,
    Woke,
)
from bayvoice.dialogue.engine.kind import StepKind, kind_of
from bayvoice.dialogue.engine.question import REMIND
from bayvoice.dialogue.engine.state import Doubt, HeardLine, Mode, State, Talk
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import asides, guards, handover, reckoning, route, signing, steer, waits, walk
from bayvoice.dialogue.questions import notes, override, parts, registry
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.clocks import away, moved
from bayvoice.job.job import Job, Kinds, opening_facts_body
from bayvoice.language.intents import Intent
from bayvoice.language.risk import AGREE_S, Verdict, weigh
from bayvoice.language.wording import duration
from bayvoice.procedure.model import Passing, Signal

STEER: Final[Mapping[str, Handler]] = {
    "repeat": steer.repeat,
    "back": steer.back,
    "where": steer.where,
    "stop": steer.stop,
    "time": steer.time,
    "pause": steer.pause,
    "note": notes.note,
    "help": steer.help_,
    "skip": guards.skip,
    "parts": parts.begin,
    "found": asides.found,
    "hand_over": handover.hand_over,
    "sign": signing.sign,
    "reckon": reckoning.reckon,
}
"""What can be said in every step, beside what kinds of step add (`StepKind.steers`)."""


def _next(turn: Turn, intent: Intent) -> None:
    walk.go_on(turn)


def _answered(turn: Turn, intent: Intent) -> None:
    """What answers a step is the business of its kind, also where several kinds are answered in one dialogue state."""
    handler = kind_of(turn.job, turn.step).answers.get(turn.state.mode, {}).get(intent.name)
    if handler is None:
        _not_here(turn)
    else:
        handler(turn, intent)


def answers_of(kinds: Kinds) -> dict[str, dict[str, Handler]]:
    """Dialogue state -> intent -> what answers a step there, for all `kinds`."""
    found: dict[str, dict[str, Handler]] = {}
    for kind in kinds.values():
        for mode, row in kind.answers.items() if isinstance(kind, StepKind) else ():
            found.setdefault(mode, {"next": _next}).update(dict.fromkeys(row, _answered))
    return found


ANSWERS: Final = answers_of(KINDS)
"""What answers a step of each kind."""

QUESTIONS: Final[dict[str, dict[str, Handler]]] = registry.rows()
"""What answers a question, a pause, the end."""


@cache
def table_of(kinds: Kinds) -> Mapping[tuple[str, str], Handler]:
    """(dialogue state, intent) -> what it does in a job that has steps of these `kinds`."""
    answers = answers_of(kinds)
    steers = [kind.steers for kind in kinds.values() if isinstance(kind, StepKind)]
    said = {name: handler for row in (STEER, *steers) for name, handler in row.items()}
    return {
        **{(mode, name): handler for mode in answers for name, handler in said.items()},
        **{(mode, name): handler for mode, row in (answers | QUESTIONS).items() for name, handler in row.items()},
    }


TABLE: Final = table_of(KINDS)
"""(dialogue state, intent) -> what it does. The one transition table."""

STOP_WORDS: Final = frozenset({"stop"})
"""Intents that count even when they were said while the product itself was speaking."""

SEEN: Final = frozenset({"stop", "time"})
"""Intents that show that a standing alert was seen; what rings falls silent at any."""

STORE_RETRY = 5.0
"""Seconds between two tries to write facts that could not be kept."""


def handle(state: State, event: Event) -> tuple[State, tuple[Effect, ...]]:
    """What `event` leads to. Pure: equal states and events give equal states and effects."""
    turn = Turn(
        state, event.at, event.how if isinstance(event, Typed) else "spoken" if isinstance(event, Heard) else ""
    )
    if not isinstance(event, Began):
        _watch_clock(turn)
    match event:
        case Began():
            _began(turn, event)
        case Heard():
            _heard(turn, event)
        case Typed():
            _typed(turn, event)
        case Woke():
            _woke(turn, event)
        case SpeechBegan():
            talk.speech_began(turn, event)
        case Spoken():
            _spoken(turn, event)
        case Kept():
            _kept(turn, event)
        case Unkept():
            _unkept(turn, event)
        case Trouble():
            _trouble(turn, event)
        case Mended():
            turn.put(troubles=tuple(t for t in turn.state.troubles if t[0] != event.part))
        case NoteTaken():
            override.note_taken(turn, event)
        case Left():
            _left(turn, event)
    return turn.state, tuple(turn.effects)


def _watch_clock(turn: Turn) -> None:
    """Whether the wall clock was set since the last event. No wait hangs on it, but times in the record do."""
    by = moved(turn.job.clock, turn.at.mono, turn.at.wall) if turn.job.seq else 0.0
    if by:
        turn.fact("clock_moved", seconds=round(by), what="running")
        turn.say("clock_forward" if by > 0 else "clock_back", by=duration(abs(by)))


def _clock_while_away(turn: Turn, before: Job) -> None:
    """What the clocks say of the time since the last sitting, and what of it has to be taken on the safe side."""
    if not before.boot:
        return
    if before.boot == turn.job.boot:
        by = moved(before.clock, turn.at.mono, turn.at.wall)
        if by:
            turn.fact("clock_moved", seconds=round(by), what="away")
    elif turn.job.waits and away(before.wall, turn.at.wall, turn.at.mono, turn.job.boot).lost:
        turn.fact("clock_moved", seconds=round(turn.at.wall - before.wall), what="unknown")
        turn.say("clock_unknown")
    elif turn.job.waits:
        turn.say("clock_restart")
        for wait in turn.job.waits:
            if wait.short(turn.at.mono) > 0 and waits.wait_step(turn.job, wait).passing is not Passing.ALONE:
                turn.say("clock_uncounted", name=wait.name)


def _began(turn: Turn, event: Began) -> None:
    before = turn.job
    fresh = before.seq == 0
    procedure = before.procedure
    if fresh:
        turn.fact("job_began", **opening_facts_body(procedure, before.name))
    turn.fact("sitting_began", by=event.by, product=__version__, boot=event.boot, mono=f"{event.at.mono:.3f}")
    if event.changed:
        turn.fact("procedure_changed", sha256=event.changed)
    for name, value, unit in event.ambient:
        turn.fact("ambient", step="", name=name, value=value, unit=unit, source="command_line")
    if fresh:
        turn.say("job_begins", title=procedure.title, machine=procedure.machine, by=event.by)
        for caution in sorted(procedure.cautions, key=lambda c: list(Signal).index(c.signal)):
            turn.say_text(walk.warning(turn, caution))
        parts.announce(turn)
        walk.go_along(turn)
        return
    waits.tidy(turn)
    waits.schedule(turn)
    lines = handover.told(turn)
    if before.by and before.by.lower() != event.by.lower() and not before.finished:
        handover.record(turn, before.by, event.by, lines)
    turn.say("job_taken_up", title=procedure.title, by=event.by)
    _clock_while_away(turn, before)
    _remind(turn)
    if event.changed:
        turn.say("procedure_changed")
    if turn.job.finished:
        turn.mode(Mode.FINISHED)
        turn.say("finished", title=procedure.title)
        return
    if turn.at.wall - before.wall >= handover.LONG:
        turn.say("away", away=duration(turn.at.wall - before.wall))
    if turn.job.paused:
        for line in lines:
            turn.say_text(line.text)
        turn.mode(Mode.PAUSED)
        turn.say("still_paused")
        return
    for line in handover.told(turn, here=False):
        turn.say_text(line.text)
    entering = route.unentered(turn.job)
    if entering is not None:
        walk.enter(turn, entering.index, entering.again)
    elif turn.job.current is None or turn.job.current.id in turn.job.done:
        # ended between leaving a step and entering the next
        walk.go_along(turn)
    else:
        walk.read(turn, turn.step)


def _remind(turn: Turn) -> None:
    """Say what the foreman returned the job with; it counts as heard once it was said to its end."""
    for remark in turn.job.remarks:
        turn.put(remarks=(*turn.state.remarks, (turn.state.next_uid, remark.seq)))
        turn.say("returned", who=remark.who, remark=remark.text)


def _heard(turn: Turn, event: Heard) -> None:
    intent, why = event.intent, event.why
    across = talk.overlapped(turn.state.talk, turn.state.tail, event)
    if intent is not None and across and intent.name not in STOP_WORDS:
        intent, why = None, turn.state.wording.text("why_own_voice")
    elif intent is not None and talk.stale(event, turn.state.mode, turn.state.asked, _means(turn.state, intent)):
        intent, why = None, turn.state.wording.text("why_changed")
    verdict = _weigh(turn, event, intent) if intent is not None else Verdict.REFUSE
    if intent is not None and verdict is not Verdict.ACT:
        why = turn.state.wording.text("why_doubtful" if verdict is Verdict.DOUBTFUL else "why_unsure")
    made = intent.name if intent is not None and verdict is Verdict.ACT else ""
    turn.put(heard=HeardLine(" ".join(event.words), made, why, event.margin, event.engine, event.sure))
    if intent is not None and verdict is Verdict.ACT:
        _act(turn, intent)
    elif intent is not None and verdict is Verdict.DOUBTFUL:
        first = turn.state.doubt is None
        turn.put(doubt=Doubt(intent, event.ended))
        if first and turn.state.mode is not Mode.NOTING:
            # Once in a row: talk in the bay that half resembles a command must not be answered all day.
            turn.say("say_again")


def _means(state: State, intent: Intent) -> bool:
    return (state.mode, intent.name) in table_of(state.job.kinds)


def _weigh(turn: Turn, event: Heard, intent: Intent) -> Verdict:
    """Whether `intent` is sure enough; what was heard in doubt just before and is heard again the same is."""
    # A trusted value is logged with no yes after it, so it takes the certainty of that yes.
    logs = turn.state.trust and intent.name == "record"
    verdict = weigh("confirm" if logs else turn.state.mode, "yes" if logs else intent.name, event.sure)
    doubt = turn.state.doubt
    if verdict is Verdict.DOUBTFUL and doubt is not None and doubt.intent == intent:
        return Verdict.ACT if event.began - doubt.ended <= AGREE_S else verdict
    return verdict


def _typed(turn: Turn, event: Typed) -> None:
    words = " ".join(event.words)
    if event.intent is None:
        why = turn.state.wording.text("why_not_here")
        turn.put(heard=HeardLine(words, "", why, None, "typed"))
        alerts.silence(turn, standing=False)
        guards.say_help(turn)
        return
    turn.put(heard=HeardLine(words, event.intent.name, "", None, "typed"))
    _act(turn, event.intent)


def _act(turn: Turn, intent: Intent) -> None:
    turn.hush()
    alerts.silence(turn, standing=intent.name in SEEN)
    turn.put(doubt=None)
    handler = table_of(turn.job.kinds).get((turn.state.mode, intent.name))
    if handler is None:
        _not_here(turn)
        return
    if intent.name not in ("skip", "yes", "no", "repeat", "stop", "time", "where", "help"):
        turn.put(gate="")
    handler(turn, intent)


def _not_here(turn: Turn) -> None:
    turn.say("not_now")
    guards.say_help(turn)


def _woke(turn: Turn, event: Woke) -> None:
    what, _, key = event.key.partition(":")
    if what == talk.WATCHDOG:
        talk.watchdog(turn, event)
    elif what == REMIND:
        registry.woke(turn, key)
    elif what == "store":
        for fact in turn.state.unkept:
            turn.effects.append(Append(fact))
    elif what == "clock":
        pass  # the clock was looked at already: only that there is an event matters
    elif what == "note":
        lost = notes.woke(turn, key)
        if lost is not None:
            override.note_taken(turn, lost)
    else:
        waits.woke(turn, what, key, event.due)


def _spoken(turn: Turn, event: Spoken) -> None:
    known = event.uid in turn.state.talk.queued
    talk.spoken(turn, event)
    if known and not event.cut and event.uid == turn.state.counting:
        turn.put(counting=0)
        if turn.job.current is not None:
            kind_of(turn.job, turn.step).spoken(turn, turn.step)
    for uid, seq in turn.state.remarks if known and not event.cut else ():
        if uid == event.uid:
            turn.fact("remark_heard", seq=seq)


def _kept(turn: Turn, event: Kept) -> None:
    unkept = tuple(f for f in turn.state.unkept if f.seq > event.seq)
    ready = [say for seq, say in turn.state.held if seq <= event.seq]
    turn.put(unkept=unkept, held=tuple((seq, say) for seq, say in turn.state.held if seq > event.seq))
    turn.effects.extend(ready)
    if not unkept:
        turn.put(troubles=tuple(t for t in turn.state.troubles if t[0] != "store"))
        if turn.state.left:
            turn.effects.append(Finish())


def _unkept(turn: Turn, event: Unkept) -> None:
    known = any(part == "store" for part, _, _ in turn.state.troubles)
    mend = turn.state.wording.text("store_mend")
    troubles = tuple(t for t in turn.state.troubles if t[0] != "store")
    turn.put(troubles=(*troubles, ("store", event.why, mend)))
    turn.wake("store", turn.at.mono + STORE_RETRY)
    if not known:
        # said at once, not held back: nothing will be kept until it is mended
        held, unkept = turn.state.held, turn.state.unkept
        turn.put(unkept=())
        turn.say("store_failed")
        turn.put(unkept=unkept, held=held)
    if turn.state.left:
        turn.effects.append(Finish())


def _trouble(turn: Turn, event: Trouble) -> None:
    others = tuple(t for t in turn.state.troubles if t[0] != event.part)
    turn.put(troubles=(*others, (event.part, event.what, event.mend)))
    turn.fact("trouble", part=event.part, what="failed", detail=event.what, name="", n=0)
    if event.part != "voice":
        turn.say("trouble", what=event.what, mend=event.mend)


def _left(turn: Turn, event: Left) -> None:
    if turn.state.left:
        return
    turn.effects.append(Hush())
    turn.put(talk=Talk(), held=())
    turn.fact("sitting_left", why=event.why)
    turn.put(left=True)
