"""What the screen shows of a state, as frozen text: pure, so that it can be tested and compared without a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import Final

from bayvoice.dialogue.engine.kind import BAD, GOOD, LATER, NOW, Shown, kind_of
from bayvoice.dialogue.engine.state import HeardLine, Mode, State, ValueAsked
from bayvoice.dialogue.flow.passing import taught
from bayvoice.dialogue.flow.steer import expects
from bayvoice.dialogue.questions.registry import open_question
from bayvoice.job.limits import Limits, limits_text
from bayvoice.job.readings import Reading
from bayvoice.language.sayable import Sayable
from bayvoice.language.wording import amount
from bayvoice.procedure.model import Signal, Step
from bayvoice.screen.bolts import Mark, pattern_of
from bayvoice.screen.keys import answers, keys_of
from bayvoice.screen.signs import Signs

READINGS: Final = 4
"""How many of the last logged values are shown."""

VERDICTS: Final = {"within": "within limits", "low": "too low", "high": "too high", "close": "too close to call"}
TONES: Final = {"due": "TIME REACHED", "soon": "SOON OVER", "over": "TIME IS OVER"}


@dataclass(frozen=True, slots=True)
class View:
    """Everything but the waits, which move by themselves (see `bars`), and the level.

    Attributes:
        title, place, sitting: job and machine; "STEP 3 OF 30"; who works.
        cautions: (signal word, text), worst first.
        lead: a line over the large text, "" if none.
        large: what is drawn in the largest letters.
        detail: lines below it: what the step's kind brings, longer text.
        expected: the one thing expected now.
        inside: opening and what is in it; readings: last values, newest first; said, heard, after: one line each.
        bolts, pattern: fasteners of the step and how they sit, as `bolts.placed` takes them; none in other steps.
        troubles: one line each; alerts: (tone, its word, the rest).
    """

    mode: str
    title: str
    place: str
    sitting: str
    cautions: tuple[tuple[str, str], ...]
    lead: str
    large: str
    detail: tuple[str, ...]
    expected: str
    inside: tuple[str, ...]
    readings: tuple[str, ...]
    heard: str
    said: str
    after: str
    troubles: tuple[str, ...]
    alerts: tuple[tuple[str, str, str], ...]
    bolts: tuple[Mark, ...] = ()
    pattern: tuple[str, int] = ("list", 0)


def view(state: State, signs: Signs) -> View:
    """What `state` looks like."""
    job, procedure = state.job, state.job.procedure
    step = job.current
    lead, large, detail = _centre(state, step, signs)
    marks, pattern = _bolts(state)
    following = procedure.steps[job.step + 1].say if 0 <= job.step < len(procedure.steps) - 1 else ""
    return View(
        mode=state.mode,
        title=f"{procedure.title}, {procedure.machine}",
        place=_place(state, step),
        sitting=job.by,
        cautions=_cautions(state, step),
        lead=lead,
        large=large,
        detail=detail,
        expected=expects(state),
        inside=_inside(state),
        readings=tuple(_reading(r, job.readings, signs) for r in reversed(job.readings[-READINGS:])),
        heard=heard_text(state.heard, signs),
        said=state.last_said,
        after=following or ("the end of the job" if step is not None else ""),
        troubles=tuple(f"{part.upper()}: {what}. {mend}." for part, what, mend in state.troubles),
        alerts=tuple((a.tone, TONES[a.tone], f"{a.name}. Any key answers.") for a in state.alerts if a.tone in TONES),
        bolts=marks,
        pattern=pattern,
    )


def _bolts(state: State) -> tuple[tuple[Mark, ...], tuple[str, int]]:
    """The fasteners of the current step as the picture takes them; none in a step of another kind."""
    step = state.job.current
    order = () if step is None else kind_of(state.job, step).order(step)
    if step is None or len(order) < 2:
        return (), ("list", 0)
    marks = tuple(Mark(number, being) for number, being in state.job.bolts(step.id))
    return marks, pattern_of(order)


def phrase_rows(state: State, found: Sequence[Sayable]) -> tuple[tuple[str, str], ...]:
    """(key and intent, what may be said for it), answers first, at the end what the blanks stand for."""
    wanted = answers(state.mode)
    by_intent = {key.intent: key for key in keys_of(state.mode)}
    rows = []
    # How a step is left out is told only to whom may leave it out alone; as the answer to "why" it is a reason.
    hidden = "" if state.mode is Mode.REASON or taught(state) else "skip"
    found = [one for one in found if one.intent != hidden]
    for one in sorted(found, key=lambda one: one.intent not in wanted):
        key = by_intent.get(one.intent)
        rows.append((f" {key.key if key else ' '}  {key.label if key else one.intent:<10}", " / ".join(one.forms)))
    forms = " ".join(form for one in found for form in one.forms)
    if "THING" in forms:
        rows.append((" THING         ", ", ".join(state.job.procedure.things())))
    if " NAME" in forms and state.people:
        rows.append((" NAME          ", ", ".join(state.people)))
    return tuple(rows)


def _place(state: State, step: Step | None) -> str:
    total = len(state.job.procedure.steps)
    if state.job.finished:
        return f"ALL {total} STEPS DONE"
    if step is None:
        return f"{total} STEPS"
    return f"STEP {state.job.step + 1} OF {total}" + (" PAUSED" if state.mode is Mode.PAUSED else "")


def _cautions(state: State, step: Step | None) -> tuple[tuple[str, str], ...]:
    """Cautions of the step; with the first one, those of the whole job."""
    found = () if step is None else step.cautions
    if state.job.step <= 0 and not state.job.finished:
        found += state.job.procedure.cautions
    worst = list(Signal)
    return tuple((c.signal.value, c.text) for c in sorted(found, key=lambda c: worst.index(c.signal)))


def _centre(state: State, step: Step | None, signs: Signs) -> tuple[str, str, tuple[str, ...]]:
    """(lead, large text, lines below): the question that is open, or the step."""
    text, asked = state.wording.text, state.pending
    if state.mode is Mode.CONFIRM and isinstance(asked, ValueAsked):
        mark = signs.good if asked.verdict == "within" else signs.bad
        limits = limits_text(Limits(asked.target.low, asked.target.high), asked.unit)
        which = f", {asked.target.nth} of {asked.target.of}" if asked.target.of > 1 else ""
        judged = asked.target.low is not None or asked.target.high is not None
        verdict = f"{mark} {VERDICTS[asked.verdict]}{f' ({limits})' if limits else ''}. " if judged else ""
        heading = f"{asked.name}{which}, read back"
        return heading, amount(asked.said_value, asked.said_unit), (f"{verdict}Not logged yet.",)
    open_question = _question(state)
    if open_question is not None:
        return open_question
    if state.mode is Mode.FINISHED or (step is None and state.job.finished):
        return "", text("finished", title=state.job.procedure.title), ()
    if step is None:
        return "", state.job.procedure.title, ()
    longer = (step.show,) if step.show != step.say else ()
    kind = kind_of(state.job, step)
    lines = (*(_drawn(line, signs) for line in kind.lines(state, step)), *longer)
    now = kind.large(state, step)
    return (step.say, now, lines) if now else ("", step.say, lines)


def _question(state: State) -> tuple[str, str, tuple[str, ...]] | None:
    """The question that is open beside the step, as `_centre` gives it; None where the step itself is in hand."""
    question = open_question(state)
    if question is None or not question.heading:
        return None
    large, lines = question.shown(state, state.pending)
    return state.wording.text(question.heading), large, lines


def _drawn(line: Shown, signs: Signs) -> str:
    """A line of a kind of step, its marks as signs."""
    sign = {GOOD: signs.good, BAD: signs.bad, LATER: signs.later, NOW: signs.now}
    return "".join(f"{sign[piece.mark]} {piece.text}" if piece.mark else piece.text for piece in line)


def _inside(state: State) -> tuple[str, ...]:
    """One line for each opening and each kind of thing in it."""
    lines: list[str] = []
    for opening in state.job.openings:
        rows = state.job.left_inside(opening)
        lines.append(f"{opening}: {'in it now' if rows else 'nothing in it'}")
        lines += [f"  {n} {thing}" for thing, n in rows]
    return tuple(lines)


def _reading(reading: Reading, readings: tuple[Reading, ...], signs: Signs) -> str:
    """A logged value with its verdict; of several for one step the last one counts."""
    later = (r for r in readings if r.seq > reading.seq and (r.step, r.nth) == (reading.step, reading.nth))
    if any(later):
        return f"{signs.later} {reading.name} {amount(reading.value, reading.unit)}, replaced"
    sign = signs.good if reading.verdict == "within" else signs.bad
    return f"{sign} {reading.name} {amount(reading.value, reading.unit)}, {VERDICTS[reading.verdict]}"


def heard_text(line: HeardLine | None, signs: Signs) -> str:
    """The last words, what was made of them or why nothing was, and by how much they won."""
    if line is None:
        return "nothing yet"
    words = f'"{line.words}"' if line.words else "something"
    typed = ", typed" if line.engine == "typed" else ""
    sure = f", {_sureness(line)}" if line.sure is not None or line.margin is not None else ""
    if line.made:
        return f"{words} {signs.good} taken as {line.made.replace('_', ' ')}{typed}{sure}"
    return f"{words} {signs.bad} not taken: {line.why or 'no meaning here'}{typed}{sure}"


def _sureness(line: HeardLine) -> str:
    """How sure the ears are, as chances where they know them; certainty itself is never claimed."""
    if line.sure is None:
        return f"margin {line.margin:+.1f}"
    return f"{min(99, round(100 / (1 + exp(-max(-50.0, min(50.0, line.sure))))))} % sure"
