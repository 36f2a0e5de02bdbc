"""Names of what goes in the ground, and the places beside its symbols that they may have."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial import cKDTree

from siteplan.layout.elements import Element, facts_of
from siteplan.layout.model import Layout
from siteplan.sheet.content.facts import circuits_by_element
from siteplan.sheet.marks import LABEL, Mark
from siteplan.sheet.model import XY, View
from siteplan.sheet.place.candidates import (
    CLEARANCE_MM,
    Among,
    Candidate,
    are_nearest_own,
    around,
)
from siteplan.sheet.place.label import Label
from siteplan.sheet.style.styles import layer

ID_HEIGHT_MM: Final = 2.3
NEAR_MM: Final = 6.0
"""Elements nearer to each other than this on paper are named without their circuits [mm]."""


def id_label(
    name: str, kind: str, style: str = "text", *, small: str = "", inline: bool = False
) -> Label:
    """The name of an element, crossover or tie point, which programs find whatever it says."""
    mark, where = Mark(LABEL, name, kind), layer("ids")
    return Label(
        (name,), ID_HEIGHT_MM, style, where, bold=True, mark=mark, small=small, inline=inline
    )


def tells_circuits(layout: Layout, ratio: float) -> bool:
    """Whether names at a scale have room for their circuits."""
    apart = layout.spacing_m
    if not layout.loop.lines and len(layout.elements) > 1:
        # the spacing of what has an extent may be that of its edges
        spots = np.array([(element.x_m, element.y_m) for element in layout.elements])
        near = np.asarray(cKDTree(spots).query(spots, k=2)[0])
        apart = float(near[:, 1].min())
    return apart * 1000.0 / ratio >= NEAR_MM


def led_away(view: View, layout: Layout) -> int:
    """How many names of elements have no place beside their own that is not nearer to another."""
    if layout.loop.lines:
        return 0
    return sum(not any(own) for own in own_places(list(named_beside(view, layout))))


@dataclass(frozen=True, slots=True)
class Beside:
    """A name of an element with the places around its symbol, and the other symbols [mm]."""

    label: Label
    spot: XY
    gap: float
    places: Sequence[Candidate]
    others: Sequence[XY]


def own_places(named: Sequence[Beside]) -> list[list[bool]]:
    """Of each name which places are nearer to its own symbol than to any other."""
    none = (0.0, 0.0)
    return are_nearest_own(
        [
            Among(
                one.places,
                [
                    ((one.label.width, one.label.height), none),
                    *(one.label.parts() if one.label.small else ()),
                ],
                one.spot,
                one.others,
            )
            for one in named
        ]
    )


def named_beside(view: View, layout: Layout, unnamed: Sequence[Element] = ()) -> Iterator[Beside]:
    """Names of elements that are no lines; ``unnamed`` are others, whose names stand elsewhere."""
    if not layout.elements:
        return
    elements = (*layout.elements, *unnamed)
    paper = view.to_paper([(element.x_m, element.y_m) for element in elements])
    spots, tree = [(float(x), float(y)) for x, y in paper], cKDTree(paper)
    for number, label in enumerate(element_labels(view, layout)):
        spot, gap = spots[number], _gap(view, elements[number])
        places = around(spot, label.width, label.height, gap)
        farthest = max(math.dist(place.center, spot) for place in places)
        # what is farther than this from its own symbol is nearer to none of its places
        reach = 2 * (farthest + math.hypot(label.width, label.height) / 2) + CLEARANCE_MM
        near = sorted(tree.query_ball_point(spot, reach))
        yield Beside(label, spot, gap, places, [spots[k] for k in near if k != number])


def element_labels(view: View, layout: Layout) -> list[Label]:
    """Ids of all elements with their circuits, these not where elements stand near each other."""
    # then a larger scale has them, or the table
    circuits = circuits_by_element(layout) if tells_circuits(layout, view.ratio) else {}
    return [
        id_label(
            one.id, one.kind, small=circuits.get(one.id, ""), inline=layout.loop.lines
        )
        for one in layout.elements
    ]  # fmt: skip


def _gap(view: View, element: Element) -> float:
    """Radius that the symbol of an element takes [mm]."""
    loop = facts_of(element)
    return loop.size_mm * loop.keep_off or element.reach_m * 1000.0 / view.ratio
