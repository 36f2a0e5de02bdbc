"""Whether a plan is too small for what it has to name, so that parts of it are drawn larger."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.header_flow import ordered_pieces, piece_name
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.kept import kept
from siteplan.sheet.model import Polyline, Sheet, View
from siteplan.sheet.plan_view.element_names import led_away, tells_circuits
from siteplan.sheet.style.paper import paper
from siteplan.sheet.style.styles import layer

CROWDED_MM: Final = 8.0
"""Trenches nearer to each other than this on paper have no room for names beyond their ends; common
practice, no source [mm]."""
FEW: Final = 4
"""So many names may be led away in any case."""
MOST_AWAY: Final = 0.125
"""Share of the names of elements that may be led away."""


def wants_parts(content: PlanContent, plan: Sheet) -> bool:
    """Whether the plan is too small for what it has to name, or parts were asked for."""
    layout, sheet = content.layout, content.site.sheet
    if needs_parts(content, plan.view):
        return True
    if layout is None or not layout.elements or sheet.parts == "never":
        return False
    too_small = sheet.scale is None and crowded(layout, plan)
    return too_small or bool(unnamed(layout, plan))


def needs_parts(content: PlanContent, view: View) -> bool:
    """Whether a view as plotted asks for parts, wherever the names on it find a place.

    Parts were asked for, or at a scale that nobody asked for nothing can be read, trenches lie too
    near to each other, or too many names have no place beside their own element.
    """
    layout, sheet = content.layout, content.site.sheet
    if layout is None or not layout.elements or sheet.parts == "never":
        return False
    if sheet.parts == "always":
        return True
    if sheet.scale is not None:
        return False
    readable = content.site.unit.drawing.readable
    return view.ratio > readable or is_tight(content, view, view.ratio)


def is_tight(content: PlanContent, view: View, ratio: float) -> bool:
    """Whether names of elements have no room at them at a scale, turned as a view is."""
    layout, enlargement = content.layout, paper(content.site.sheet.size).enlargement
    if layout is None:
        return False
    # the names of enlarged paper are as much larger
    if layout.circuits and not tells_circuits(layout, ratio * enlargement):
        return True
    seen = replace(view, ratio=ratio)
    if layout.loop.lines:
        return _narrow(layout, seen, enlargement)
    return _too_many(led_away(seen.enlarged(1.0 / enlargement), layout), layout)


def crowded(layout: Layout, sheet: Sheet) -> bool:
    """Whether names of elements have no room at what they name.

    Those of trenches stand between them, those of others have to be led away; a reader follows a
    few leaders, not as many as there are bores. Without the circuits they are no whole names.
    """
    if layout.circuits and not tells_circuits(layout, sheet.view.ratio * sheet.paper.enlargement):
        return True
    if layout.loop.lines:
        return _narrow(layout, sheet.view, sheet.paper.enlargement)
    ids = layer("ids")
    away = sum(item.style == "leader" and item.layer == ids for item in sheet.of_type(Polyline))
    return _too_many(away, layout)


def _too_many(away: int, layout: Layout) -> bool:
    """Whether more names are led away than a reader follows."""
    return away > most_led(layout)


def most_led(layout: Layout) -> float:
    """How many names of elements a reader follows to their ends."""
    return max(FEW, MOST_AWAY * len(layout.elements))


def _narrow(layout: Layout, view: View, enlargement: float) -> bool:
    """Whether trenches lie too near to each other on paper for names between them."""
    pitch = layout.spacing_m * 1000.0 / view.ratio
    return len(layout.elements) > FEW and pitch < CROWDED_MM * enlargement


def unnamed(layout: Layout, sheet: Sheet) -> tuple[str, ...]:
    """What is built and has a name in the tables, but found no place for it on a sheet."""
    names = tabled_names(layout)
    return tuple(name for name in sheet.unplaced if name in names)


@kept
def tabled_names(layout: Layout) -> frozenset[str]:
    """What is built, as the tables call it: elements, crossovers, pieces and points of header."""
    return frozenset(
        {
            *(point.name for point in header_points(layout)),
            *(piece_name(piece, layout) for piece in ordered_pieces(layout)),
            *(element.id for element in layout.elements),
            *(crossover.id for crossover in layout.crossovers),
        }
    )
