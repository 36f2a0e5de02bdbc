"""Lots beside the lot: drawn as a plat draws them, and nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import Polygon

OWN: Final = 0.9
"""Share of the lot that another outline covers where it is the lot itself."""


@dataclass(frozen=True, slots=True)
class AdjoiningParcel:
    """A lot beside the lot. No rule speaks of it: nothing keeps off it, nothing is measured to it.

    Parameters
    ----------
    shape
        Its outline as the county's file has it [m].
    number
        Its number or label there; empty: none.
    """

    shape: Polygon
    number: str = ""


def is_lot_itself(shape: Polygon, parcel: Polygon) -> bool:
    """Whether an outline of a county's file is that of the lot.

    Examples
    --------
    >>> lot = shapely.box(0, 0, 10, 10)
    >>> is_lot_itself(shapely.box(0, 0, 10, 11), lot), is_lot_itself(shapely.box(9, 0, 20, 9), lot)
    (True, False)
    """
    if not shape.is_valid:
        return False
    return bool(shapely.intersection(shape, parcel).area >= OWN * parcel.area)


def lots_beside(lots: Iterable[AdjoiningParcel], parcel: Polygon) -> Iterator[AdjoiningParcel]:
    """The lots without the lot itself, which a county's layer holds as well."""
    return (each for each in lots if not is_lot_itself(each.shape, parcel))
