"""A field that is hopelessly short is not drawn as a plan: what is drawn is the ground there is."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.advisories.remarks import remarks_on
from siteplan.advisories.requirements import missing_on_the_plan
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Finding
from siteplan.layout.model import Layout

LEAST_SHARE: Final = 0.5
"""Share of the length required below which a field is not drawn: nobody would dig it; common
practice, no source [-]."""
NOT_DRAWN: Final = "field-not-drawn"
"""Code of the finding that says so."""


def without_hopeless_field(lot: PreparedLot, drawn: Trial) -> Trial:
    """The trial, its field left out where that holds less than half of what is required.

    What the lot holds and why stays said; what a crossing, a circuit or a machine's way would be
    is not.
    """
    layout, required = drawn.layout, drawn.required
    if layout is None or required is None or drawn.fits or layout.by_hand:
        return drawn
    if layout.length_m >= LEAST_SHARE * required.length_m:
        return drawn
    # what a machine cannot get to is a part of what cuts the ground
    access = layout.access if layout.access is not None and layout.access.because else None
    bare = replace(
        layout, elements=(), header=None, access=access, circuits=(), piping=None, crossovers=()
    )
    return replace(
        drawn,
        layout=bare,
        separations=(),
        findings=(
            _told(layout, required.length_m),
            *remarks_on(lot, bare, required, ()),
            *missing_on_the_plan(lot.site, lot.rules),
        ),
    )


def _told(layout: Layout, required_m: float) -> Finding:
    return Finding(
        NOT_DRAWN,
        measured_m=layout.length_m,
        required_m=required_m,
        values={"measure": layout.loop.measure},
    )
