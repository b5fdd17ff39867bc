"""Where nothing is asked of the step: the job is paused, or at its end."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler
from bayvoice.dialogue.flow import handover, steer


class Paused(Question[object]):
    """The job waits for "resume". The screen shows the step."""

    mode = Mode.PAUSED
    asks = object
    repeats = False

    def prompt(self, state: State, asked: object) -> tuple[str, ...]:
        """That it is paused."""
        return (state.wording.text("still_paused"),)

    def answers(self) -> Mapping[str, Handler]:
        """Go on, hand over, and what asks for nothing but words."""
        return {
            "resume": handover.resume,
            "hand_over": handover.hand_over,
            "where": steer.where,
            "time": steer.time,
            "help": steer.help_,
        }


class Finished(Question[object]):
    """The job is done."""

    mode = Mode.FINISHED
    asks = object

    def prompt(self, state: State, asked: object) -> tuple[str, ...]:
        """That all steps are done."""
        return (state.wording.text("finished", title=state.job.procedure.title),)

    def answers(self) -> Mapping[str, Handler]:
        """What asks for nothing but words."""
        return {"where": self.repeat, "help": steer.help_}
