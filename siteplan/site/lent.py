"""Ground on which a machine may stand and drive: the lot, and what neighbours lend beside it."""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.site.model import Feature
from siteplan.vocabulary.kinds import kinds


def lent_ground(features: Iterable[Feature]) -> BaseGeometry:
    """Ground of neighbours on which the machine may stand; empty where none is lent."""
    return shapely.union_all([feature.shape for feature in features if kinds()[feature.kind].lent])


def ground_to_drive(parcel: BaseGeometry, features: Iterable[Feature]) -> BaseGeometry:
    """The lot with the lent ground that touches it."""
    lent = lent_ground(features)
    return parcel if lent.is_empty else joined_polygons(shapely.union_all([parcel, lent]))
