"""The step kinds that are built in, one module each. A reader of procedures takes these unless it is given others."""

from __future__ import annotations

from typing import Final

from bayvoice.procedure.forms.check import CheckForm
from bayvoice.procedure.forms.do import DoForm
from bayvoice.procedure.forms.fasten import FastenForm
from bayvoice.procedure.forms.hold import HoldForm
from bayvoice.procedure.forms.measure import MeasureForm
from bayvoice.procedure.forms.replace import ReplaceForm
from bayvoice.procedure.forms.tally import TallyForm
from bayvoice.procedure.forms.together import TogetherForm
from bayvoice.procedure.forms.wait import WaitForm
from bayvoice.procedure.kind import Form, Kinds

FORMS: Final[Kinds[Form]] = Kinds(
    (
        DoForm(),
        CheckForm(),
        MeasureForm(),
        FastenForm(),
        WaitForm(),
        ReplaceForm(),
        TallyForm(),
        HoldForm(),
        TogetherForm(),
    )
)
"""In the order in which they are named to a reader."""
