"""Ground that what is built may lie on, and what the rules leave of it."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.vocabulary.loop_types import IN_PONDS


def lies_in_ponds(layout: Layout | None) -> bool:
    """Whether what is laid out lies in the water of ponds."""
    return layout is not None and IN_PONDS in layout.loop.parts


def whole_ground(content: PlanContent) -> BaseGeometry:
    """The parcel; of what lies in water the ponds on it."""
    parcel = content.site.parcel
    if not lies_in_ponds(content.layout):
        return parcel
    ponds = [pond.shape for pond in content.site.of_kind("pond")]
    return shapely.union_all(ponds).intersection(parcel)


def ground_left(content: PlanContent) -> BaseGeometry:
    """What no rule takes of it."""
    taken = shapely.union_all([keep_out.shape for keep_out in content.keep_outs])
    return whole_ground(content).difference(taken)
