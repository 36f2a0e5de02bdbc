"""The first stage of a plan by itself: what the rules leave of a lot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from shapely.geometry.base import BaseGeometry

from siteplan.available.area import AvailableArea
from siteplan.available.prepared import PreparedLot, lot_of, reach_of
from siteplan.rule_books.model import Part
from siteplan.site.model import Site
from siteplan.vocabulary.loop_types import element_parts


class Earlier(Protocol):
    """A stage done before, whose lot knows what it worked out: areas, or a plan."""

    @property
    def lot(self) -> PreparedLot:
        """The lot, with what was worked out for it."""


@dataclass(frozen=True, slots=True)
class AvailableAreas:
    """What the rules leave of a lot for each part, and for the header.

    Where rig or excavator gets to is not taken off: that is asked with each loop type.

    Parameters
    ----------
    parts
        For each part that is laid, where its centre or centre line may lie, and the keep-outs
        that took the rest; trench, coil, bore, supply well, return well.
    header
        Where the header may run.
    lot
        The lot, with what was worked out for it.
    """

    parts: tuple[AvailableArea, ...]
    header: BaseGeometry
    lot: PreparedLot

    def of(self, part: Part) -> AvailableArea:
        """Area of one part that is laid."""
        return self.parts[element_parts().index(part)]


def available_areas(site: Site, *, earlier: Earlier | None = None) -> AvailableAreas:
    """Where each part may lie under the rules of a site, with its keep-outs, and the header.

    Parameters
    ----------
    site
        The lot, as read.
    earlier
        Areas or plan of this lot before something moved on it: keep-outs that did not change are
        taken over as they are.

    Raises
    ------
    RuleError
        A rule book that does not exist or has faults.

    Examples
    --------
    A lot of 30 by 40 m. A bore keeps 10 ft (3.048 m) from its line as common practice, this one's
    radius of 3 in (0.0762 m), and 6 in (0.1524 m) for staking beside:
    (30 - 2 x 3.2766) x (40 - 2 x 3.2766) = 784.2 m2.

    >>> from datetime import date
    >>> import siteplan
    >>> site = siteplan.site_from({
    ...     "project": {"title": "t", "owner": "o", "date": date(2026, 1, 31), "units": "m"},
    ...     "geometry": {"parcel": [[0, 0], [30, 0], [30, 40], [0, 40]]},
    ...     "exchanger": {"length": {"given": "300 m", "by": "a designer"}, "entry": [[15, 20]]},
    ... })
    >>> areas = siteplan.available_areas(site)
    >>> round(areas.of("bore").shape.area, 1), [k.feature for k in areas.of("bore").keep_outs]
    (784.2, ['parcel'])
    """
    areas = areas_of(lot_of(site, earlier=None if earlier is None else earlier.lot.memory))
    areas.lot.memory.let_go()
    return areas


def areas_of(lot: PreparedLot) -> AvailableAreas:
    """Where each part may lie on a prepared lot; what its memory takes over it goes on to."""
    wanted = lot.site.exchanger
    parts = tuple(lot.area(part, reach_m=reach_of(part, wanted)) for part in element_parts())
    return AvailableAreas(parts, lot.header_area(), lot)
