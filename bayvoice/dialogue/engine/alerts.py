"""Alerts: they ring in bursts until someone answers, all that ring at one time together, the most urgent first.

An alert nobody answers falls silent after `RINGS` bursts, is recorded, and stands on until its wait ends or someone
says "stop" or presses a key. Between two bursts there is room to be heard.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from bayvoice.dialogue.engine.effects import Hush
from bayvoice.dialogue.engine.state import Alert
from bayvoice.dialogue.engine.turn import Turn

RING_EVERY: Final = 12.0
"""Seconds between two bursts of unanswered alerts: a gap in which an answer can be heard."""
RINGS: Final = 5
"""Bursts after which an alert counts as unanswered."""
BURST_S: Final = {"due": 0.6, "soon": 0.83, "over": 2.515}
"""How long a burst sounds that rings for the first time, seconds; each unanswered time it is a tenth shorter. While it
sounds it speaks for every alert that is no more urgent."""
FASTEST: Final = 4
"""Unanswered times after which a burst gets no faster."""
MOST_NAMED: Final = 3
"""How many alerts are named at one ringing; of more, the number is said."""

URGENCY: Final = {"due": 1, "soon": 2, "over": 3}
"""Tone -> how urgent it is; with it goes the rank of what is said (see `effects.Say`)."""
RANKS: Final = {"due": 1, "soon": 1, "over": 2}


def sound(turn: Turn, step: str, name: str, tone: str) -> None:
    """An alert begins: its burst at once, then what the caller says."""
    alert = Alert(step, name, tone, since=turn.at.mono)
    others = [a for a in turn.state.alerts if a.step != step]
    turn.put(alerts=_ordered([*others, alert]))
    _burst(turn, tone, 0)
    turn.wake("ring:", turn.at.mono + RING_EVERY)


def _ordered(alerts: list[Alert]) -> tuple[Alert, ...]:
    """Ringing before standing, the more urgent first, then the older."""
    return tuple(sorted(alerts, key=lambda a: (a.standing, -URGENCY[a.tone], a.since)))


def _burst(turn: Turn, tone: str, urgency: int) -> None:
    until, rank = turn.state.rang
    if turn.at.mono < until and URGENCY[tone] <= rank:
        return
    lasts = BURST_S[tone] * 0.9 ** min(urgency, FASTEST)
    turn.put(rang=(turn.at.mono + lasts, URGENCY[tone]))
    turn.ring(tone, urgency)


def ring_again(turn: Turn) -> None:
    """Nobody has answered: once more, more urgent; or, after `RINGS` bursts, let it stand."""
    ringing = [a for a in turn.state.alerts if not a.standing]
    if not ringing:
        return
    given_up = [a for a in ringing if a.rung >= RINGS]
    again = [replace(a, rung=a.rung + 1) for a in ringing if a.rung < RINGS]
    standing = [a for a in turn.state.alerts if a.standing] + [replace(a, standing=True) for a in given_up]
    turn.put(alerts=_ordered([*again, *standing]))
    if again:
        first = _ordered(again)[0]
        _burst(turn, first.tone, first.rung - 1)
    for alert in given_up:
        turn.fact("alert_unanswered", step=alert.step, name=alert.name, tone=alert.tone)
    for alert in _ordered(again)[:MOST_NAMED]:
        turn.say_ranked(RANKS[alert.tone], f"ring_{alert.tone}", name=alert.name)
    if len(again) > MOST_NAMED:
        turn.say_ranked(1, "ring_more", n=len(again) - MOST_NAMED)
    if again:
        turn.wake("ring:", turn.at.mono + RING_EVERY)


def silence(turn: Turn, standing: bool) -> None:
    """Someone is there: what rings falls silent and that is recorded; with `standing`, what stands goes too."""
    if any(not alert.standing for alert in turn.state.alerts) and Hush() not in turn.effects:
        turn.effects.append(Hush())
    turn.put(rang=(turn.at.mono, 0))
    for alert in turn.state.alerts:
        if not alert.standing:
            turn.fact("alert_silenced", step=alert.step, name=alert.name, tone=alert.tone, rung=alert.rung)
    turn.put(alerts=() if standing else tuple(a for a in turn.state.alerts if a.standing))


def drop(turn: Turn, step: str) -> None:
    """The wait of `step` is over with: so is its alert."""
    turn.put(alerts=tuple(a for a in turn.state.alerts if a.step != step))
