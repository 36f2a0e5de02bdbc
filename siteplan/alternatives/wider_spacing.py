"""Bores farther apart than is usual, where that saves more drilling than it takes header."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from siteplan.available.prepared import PreparedLot
from siteplan.demand.neighbours import neighbours_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.errors import SitePlanError
from siteplan.findings.model import Finding
from siteplan.layout.elements import Bore
from siteplan.layout.header.least import least_header
from siteplan.layout.model import Layout
from siteplan.preferences.table import count_of, figure_of, figures_of
from siteplan.site.model import System

LEAST_BORES = count_of("alternatives.wider_spacing.least_bores")
TIMES = figures_of("alternatives.wider_spacing.times")
SAVES = figure_of("alternatives.wider_spacing.saves")


def spacing_findings(lot: PreparedLot, drawn: Trial) -> Iterator[Finding]:
    """That bores farther apart, drilled less in all, would save much of a calculated length.

    Nothing is said where the site file states how far apart bores stand, how many there are or
    how they stand, and of few bores, which hardly feel one another.
    """
    wanted, layout, required = lot.site.exchanger, drawn.layout, drawn.required
    if layout is None or required is None or layout.header is None or not drawn.fits:
        return
    vertical, bores = wanted.vertical, layout.of(Bore)
    stated = "vertical.spacing" not in wanted.unsaid or vertical.count or vertical.as_typed
    if required.basis != "calculated" or stated or vertical.pad or len(bores) < LEAST_BORES:
        return
    best, best_m = None, SAVES * layout.length_m
    for times in TIMES:
        widest_m = times * vertical.spacing_m
        # laying out takes long: only where bores so far apart could save that much at all
        if _spared(lot, layout, widest_m) <= best_m:
            continue
        wide = replace(vertical, spacing_most_m=widest_m)
        there = _laid(lot.with_exchanger(replace(wanted, vertical=wide)), drawn.system)
        if there is None or there.header is None:
            continue
        more_m = max(there.header.length_m - layout.header.length_m, 0.0)
        saved_m = layout.length_m - there.length_m - more_m
        if saved_m > best_m:
            best, best_m = there, saved_m
    if best is None or best.header is None:
        return
    yield Finding(
        "spread-bores",
        measured_m=best.length_m,
        values={
            "bores": len(best.of(Bore)),
            "spacing_m": best.spacing_m,
            "saved_m": layout.length_m - best.length_m,
            "header_m": best.header.length_m,
            "now_m": layout.header.length_m,
        },
    )


def _spared(lot: PreparedLot, layout: Layout, widest_m: float) -> float:
    """What the same bores would need less if they stood so far apart, less header dug for it [m].

    Rather more than less: header is counted as the least that joins them.
    """
    near = lot.memory.of(neighbours_of, lot.site.exchanger)
    if near is None:
        return 0.0
    points = np.array([[bore.x_m, bore.y_m] for bore in layout.of(Bore)])
    apart = max(widest_m / layout.spacing_m, 1.0)
    least = [least_header([(float(x), float(y)) for x, y in at]) for at in (points, apart * points)]
    return near.of(points) - near.of(apart * points) - (least[1] - least[0])


def _laid(lot: PreparedLot, system: System) -> Layout | None:
    """What a trial lays out that fits; what cannot be tried costs no plan."""
    try:
        trial = try_system(lot, system, short=True)
    except SitePlanError:
        return None
    return trial.layout if trial.fits else None
