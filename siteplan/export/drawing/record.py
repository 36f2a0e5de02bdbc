"""What a drawing tells programs of the plan beside what it shows: elements, and where it lies."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from siteplan.export.xdata import STRING, shortened
from siteplan.layout.elements import Element
from siteplan.layout.outfall import called
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import XY, Ring
from siteplan.sheet.style.hatching import rings_of
from siteplan.units.lengths import to_unit
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import made_of

ELEMENT_DATA: Final = "SITEPLAN_ELEMENT"
"""Application id of what is told of an element."""
DISTANCE: Final = 1041
"""Group code of a length, which a program scales together with the drawing."""
MAJOR_M, FLATTENING = 6378137.0, 1 / 298.257223563
"""Of the ellipsoid of WGS 84 [m] (EPSG 7030)."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of an element: its id and kind, its circuits, its depth, and what binds it.

    Parameters
    ----------
    depth_m
        How deep it goes [m].
    rules
        Book and id of each rule measured for elements of its kind.
    """

    id: str
    kind: str
    circuits: tuple[str, ...]
    depth_m: float
    rules: tuple[str, ...]

    def xdata(self, unit: UnitSystem) -> list[tuple[int, str | float]]:
        """Tags of it; the depth is in the unit of the drawing."""
        names = [f"element={self.id}", f"kind={self.kind}"]
        names += [f"circuit={circuit}" for circuit in self.circuits]
        names += [f"rule={rule}" for rule in self.rules]
        depth = (DISTANCE, to_unit(self.depth_m, unit))
        return [*((STRING, shortened(name)) for name in names), depth]


@dataclass(frozen=True, slots=True)
class Place:
    """A point of the model and where it lies on the earth.

    Parameters
    ----------
    at
        In the model, whose y axis is true north [m].
    latitude, longitude
        WGS 84 [deg].
    """

    at: XY
    latitude: float
    longitude: float

    @property
    def mercator(self) -> XY:
        """Easting and northing in World Mercator, EPSG 3395 [m].

        Formulas of EPSG guidance note 7-2, Mercator variant A (method 9804).
        """
        phi, lam = math.radians(self.latitude), math.radians(self.longitude)
        e = math.sqrt(FLATTENING * (2.0 - FLATTENING))
        lost = ((1.0 - e * math.sin(phi)) / (1.0 + e * math.sin(phi))) ** (e / 2.0)
        return MAJOR_M * lam, MAJOR_M * math.log(math.tan(math.pi / 4.0 + phi / 2.0) * lost)

    @property
    def grid_scale(self) -> float:
        """Length on that grid of a metre on the ground."""
        phi = math.radians(self.latitude)
        squared = FLATTENING * (2.0 - FLATTENING)
        return math.sqrt(1.0 - squared * math.sin(phi) ** 2) / math.cos(phi)


@dataclass(frozen=True, slots=True)
class Record:
    """What a drawing tells beside what it shows.

    Parameters
    ----------
    elements
        By id.
    lines
        Id of the element that a line draws, by its points.
    place
        None where nobody knows where on the earth the lot lies.
    """

    elements: Mapping[str, Told]
    lines: Mapping[Ring, str]
    place: Place | None = None

    def of_line(self, points: Ring) -> Told | None:
        """The element that a line draws; None where it draws none."""
        name = self.lines.get(_rounded(points))
        return None if name is None else self.elements[name]


NOTHING: Final = Record({}, {})


def record_of(content: PlanContent) -> Record:
    """What the drawing of a plan tells."""
    elements = content.layout.elements if content.layout is not None else ()
    told = {element.id: _told(element, content) for element in elements}
    lines = {_rounded(path): element.id for element in elements for path in _paths(element)}
    return Record(told, lines, _place(content))


def _told(element: Element, content: PlanContent) -> Told:
    circuits = content.layout.circuits if content.layout is not None else ()
    rules = (
        rule
        for row in content.separations
        if row.part == element.kind
        for rule in (row.rule, *row.others)
    )
    return Told(
        element.id,
        called(element),
        tuple(circuit.id for circuit in circuits if element.id in circuit.elements),
        element.depth_m,
        tuple(dict.fromkeys(f"{rule.book}/{rule.id}" for rule in rules)),
    )


def _paths(element: Element) -> Iterator[Iterable[tuple[float, ...]]]:
    """Lines that draw an element beside its symbol."""
    if made_of(element.kind).lines:
        yield element.axis.coords
        yield from rings_of(element.footprint)
    if element.tilt_deg:
        yield element.course.coords


def _rounded(points: Iterable[tuple[float, ...]]) -> Ring:
    return tuple((round(point[0], 6), round(point[1], 6)) for point in points)


def _place(content: PlanContent) -> Place | None:
    """The middle of the parcel, where its y axis is true north."""
    reference = content.site.georeference
    if reference is None:
        return None
    west, south, east, north = content.site.parcel.bounds
    x, y = (west + east) / 2, (south + north) / 2
    latitude, longitude = reference.latitude_longitude(x, y)
    return Place((x, y), latitude, longitude)
