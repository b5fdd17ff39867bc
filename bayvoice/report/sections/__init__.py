"""The sections of a report. Adding one: a module here with its object, and its line in `SECTIONS`."""

from __future__ import annotations

from typing import Any, Final

from bayvoice.report.base.section import Section
from bayvoice.report.sections.alerts import ALERTS
from bayvoice.report.sections.ambient import AMBIENT
from bayvoice.report.sections.branches import BRANCHES
from bayvoice.report.sections.checks import CHECKS
from bayvoice.report.sections.deferred import DEFERRED
from bayvoice.report.sections.deviations import DEVIATIONS
from bayvoice.report.sections.facts import FACTS
from bayvoice.report.sections.fasteners import FASTENERS
from bayvoice.report.sections.foreman import WORDS
from bayvoice.report.sections.gaps import GAPS
from bayvoice.report.sections.gauges import GAUGES
from bayvoice.report.sections.handovers import HANDOVERS
from bayvoice.report.sections.helped import HELPED
from bayvoice.report.sections.measurements import MEASUREMENTS
from bayvoice.report.sections.notes import NOTES
from bayvoice.report.sections.particulars import PARTICULARS
from bayvoice.report.sections.parts import PARTS
from bayvoice.report.sections.reckoned import RECKONED
from bayvoice.report.sections.refusals import REFUSALS
from bayvoice.report.sections.remarks import REMARKS
from bayvoice.report.sections.repeated import REPEATED
from bayvoice.report.sections.searches import SEARCHES
from bayvoice.report.sections.signatures import SIGNATURES
from bayvoice.report.sections.sittings import SITTINGS
from bayvoice.report.sections.steps import STEPS
from bayvoice.report.sections.supplies import SUPPLIES
from bayvoice.report.sections.tally import TALLY
from bayvoice.report.sections.trouble import TROUBLE
from bayvoice.report.sections.waits import WAITS

SECTIONS: Final[tuple[Section[Any], ...]] = (
    WORDS,
    DEVIATIONS,
    REMARKS,
    MEASUREMENTS,
    REPEATED,
    FASTENERS,
    WAITS,
    CHECKS,
    PARTICULARS,
    PARTS,
    SUPPLIES,
    TALLY,
    SEARCHES,
    SIGNATURES,
    DEFERRED,
    BRANCHES,
    NOTES,
    STEPS,
    HELPED,
    SITTINGS,
    HANDOVERS,
    GAPS,
    GAUGES,
    AMBIENT,
    RECKONED,
    ALERTS,
    REFUSALS,
    TROUBLE,
    FACTS,
)
"""All sections, in the order in which page, text, CSV, JSON and PDF show them."""
