"""A step that is done when "next" is said."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import StepKind
from bayvoice.job.job import Job
from bayvoice.procedure.model import Step


class DoKind(StepKind):
    """Work without an answer of its own."""

    word = "do"

    def lacking(self, job: Job, step: Step) -> str:
        """Nothing."""
        return ""


DO = DoKind()
