"""What a plan sheet has to show."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.available import KeepOut
from siteplan.checks.model import Finding, Separation
from siteplan.demand.model import Required
from siteplan.layout.model import Layout
from siteplan.sensitivity import Change
from siteplan.site.model import Site


@dataclass(frozen=True, slots=True)
class PlanContent:
    """Everything the sheet speaks of, decided before the sheet begins.

    Parameters
    ----------
    layout
        What goes in the ground; None where nothing could be laid out.
    keep_outs
        What was taken off the parcel for the parts on the sheet.
    separations
        One row each in the table, one dimension string each on the plan.
    fits
        Whether the length required is provided and every check passes.
    verdict
        The same in one sentence.
    changes
        What a calculated length does when conductivity, load or spacing moves by a tenth.
    titles
        Titles of all sheets of the set, the plan first.
    """

    site: Site
    layout: Layout | None
    keep_outs: tuple[KeepOut, ...]
    separations: tuple[Separation, ...]
    required: Required
    fits: bool
    verdict: str
    findings: tuple[Finding, ...] = ()
    changes: tuple[Change, ...] = ()
    titles: tuple[str, ...] = ("PLAN",)
