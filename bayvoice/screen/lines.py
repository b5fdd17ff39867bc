"""A sitting without a screen: one line for each thing that happens, for people or (JSON) for programs."""

from __future__ import annotations

import json
import sys
from typing import Any, TextIO

from bayvoice.dialogue.engine.effects import Append, Effect, Hush, Ring, Say
from bayvoice.dialogue.engine.events import Event, Heard, Kept, Left, Mended, Spoken, Trouble, Typed, Unkept
from bayvoice.dialogue.engine.state import State
from bayvoice.job.facts import Fact


class Lines:
    """Watches a hub and prints. Lines are flushed at once: what was printed has happened."""

    def __init__(self, as_json: bool = False, out: TextIO | None = None) -> None:
        self._json = as_json
        self._out = sys.stdout if out is None else out
        self._facts: dict[int, Fact] = {}
        self._began: float | None = None

    def watch(self, event: Event | None, effects: tuple[Effect, ...], state: State) -> None:
        """See `hub.Watch`."""
        if event is not None:
            self._event(event, state)
        for effect in effects:
            match effect:
                case Append(fact):
                    self._facts[fact.seq] = fact
                case Say(_, text, _):
                    self._line(state.now, "says", text, text=text)
                case Ring(tone):
                    self._line(state.now, "rings", tone, tone=tone)
                case Hush():
                    self._line(state.now, "quiet", "")

    def notice(self, text: str) -> None:
        """Something about this sitting that is not an event."""
        # Time counts from the first event, by a clock of which nothing is known before.
        began = self._began
        self._line(0.0 if began is None else began, "note", text, text=text)
        self._began = began

    def _event(self, event: Event, state: State) -> None:
        now = event.at.mono
        match event:
            case Heard() | Typed():
                name = "heard" if isinstance(event, Heard) else "typed"
                line = state.heard
                made, why = (line.made, line.why) if line else ("", "")
                words = " ".join(event.words)
                margin, odds = (event.margin, event.sure) if isinstance(event, Heard) else (None, None)
                sure = "" if margin is None else f" (margin {margin:.1f})"
                result = f"-> {made}" if made else f"not taken: {why}"
                self._line(
                    now,
                    name,
                    f'"{words}" {result}{sure}',
                    words=words,
                    intent=made or None,
                    why=why,
                    margin=margin,
                    sure=odds,
                )
            case Kept(_, seq):
                fact = self._facts.pop(seq, None)
                if fact is not None:
                    self._line(
                        now, "kept", f"{seq} {fact.kind} {_brief(fact)}", seq=seq, fact=fact.kind, body=fact.body
                    )
            case Unkept(_, seq, why):
                self._line(now, "not kept", f"{seq}: {why}", seq=seq, why=why)
            case Trouble(_, part, what, mend):
                self._line(now, "trouble", f"{part}: {what}; {mend}", part=part, text=what, mend=mend)
            case Mended(_, part):
                self._line(now, "mended", part, part=part)
            case Spoken():
                if not state.talk.queued:
                    self._line(now, "listens", "")
            case Left(_, why):
                self._line(now, "ends", why, why=why)
            case _:
                pass

    def _line(self, now: float, what: str, line: str, /, **fields: Any) -> None:
        if self._began is None:
            self._began = now
        at = now - self._began
        if self._json:
            print(
                json.dumps({"at_s": round(at, 3), "what": what, **fields}, ensure_ascii=False),
                file=self._out,
                flush=True,
            )
            return
        minutes, seconds = divmod(round(max(0.0, at), 1), 60)
        print(f"{int(minutes):3d}:{seconds:04.1f}  {what:<8} {line}".rstrip(), file=self._out, flush=True)


def _brief(fact: Fact) -> str:
    """The body on one line, without the procedure's text."""
    return " ".join(f"{k}={v}" for k, v in fact.body.items() if k != "text" and v not in ("", None))[:160]
