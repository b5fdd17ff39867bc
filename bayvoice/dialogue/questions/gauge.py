"""Whether the calibration of a gauge still runs, asked before it is first used."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import GaugeAsked, Mode, State, mode_of
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import gauges
from bayvoice.dialogue.flow.walk import ask
from bayvoice.job.readings import IN_DATE, OUT_OF_DATE
from bayvoice.language.intents import Intent


class InDate(Question[GaugeAsked]):
    """Is the gauge in date?"""

    mode = Mode.GAUGE
    asks = GaugeAsked
    heading = "heading_value"

    def prompt(self, state: State, asked: GaugeAsked) -> tuple[str, ...]:
        """The gauge by its title."""
        gauge = state.job.procedure.gauge(asked.gauge)
        return (state.wording.text("ask_gauge", gauge=gauge.title if gauge else asked.gauge),)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": self.yes, "no": self.no}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """The gauge's calibration still runs."""
        self._use(turn, IN_DATE)

    def no(self, turn: Turn, intent: Intent) -> None:
        """The gauge's calibration has run out."""
        self._use(turn, OUT_OF_DATE)

    def _use(self, turn: Turn, state: str) -> None:
        asked, job = self.asked(turn), turn.job
        gauge = job.procedure.gauge(asked.gauge)
        assert gauge is not None
        turn.put(pending=None)
        gauges.use(turn, job.procedure.steps[job.procedure.index(asked.step)], gauge, state)
        turn.mode(mode_of(turn.job, turn.step))
        ask(turn, turn.step)
