"""A step that is done when "next" is said."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import StepKind
from bayvoice.job.job import Job
from bayvoice.procedure.forms.do import DoForm
from bayvoice.procedure.model import Step


class DoKind(DoForm, StepKind):
    """Work without an answer of its own."""

    def lacking(self, job: Job, step: Step) -> str:
        """Nothing."""
        return ""


DO = DoKind()
