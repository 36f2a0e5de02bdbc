"""What elements of a layout are: bores, trenches, coils, wells, and what they all answer."""

from __future__ import annotations

import math
from dataclasses import Field, dataclass
from typing import Any, ClassVar, Final, Literal, Protocol

from shapely import LinearRing, LineString
from shapely.geometry.base import BaseGeometry

from siteplan.layout.centred import Centred, Usual
from siteplan.rule_books.model import Part
from siteplan.site.trench_kinds import USUAL, trench_kinds
from siteplan.vocabulary.loop_types import LoopType, made_of
from siteplan.vocabulary.pond_bodies import pond_body

XY = tuple[float, float]
SHALLOW_M: Final = 3.0
"""Drilled depth down to which an inclined bore keeps every distance, as pipes and footings lie
there; common practice, no source [m]."""


class Element(Protocol):
    """What every element answers, of whatever loop type it is."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]
    kind: ClassVar[str]

    @property
    def id(self) -> str:
        """Name of it on the sheet, unique in a layout."""

    @property
    def part(self) -> Part:
        """Which rules bind it."""

    @property
    def x_m(self) -> float:
        """Easting of its first stake [m]."""

    @property
    def y_m(self) -> float:
        """Northing of its first stake [m]."""

    @property
    def ends(self) -> tuple[XY, ...]:
        """Places of its stakes; at one of them the header joins [m]."""

    @property
    def axis(self) -> BaseGeometry:
        """Its centre, or its centre line: the distance between elements is measured from there."""

    @property
    def footprint(self) -> BaseGeometry:
        """Ground it takes, or the middle of that: it reaches ``reach_m`` around it."""

    @property
    def course(self) -> BaseGeometry:
        """Footprint down to the lower end, seen from above."""

    @property
    def near_surface(self) -> BaseGeometry:
        """What of the course lies near the surface."""

    @property
    def reach_m(self) -> float:
        """How far it reaches beyond its footprint [m]."""

    @property
    def depth_m(self) -> float:
        """Depth along it, of what lies in water that of the water; 0 where it is not known [m]."""

    @property
    def bottom_m(self) -> float | None:
        """Vertical depth of its lower end; None where it is not known [m]."""

    @property
    def length_m(self) -> float:
        """Exchanger length it provides [m]."""

    @property
    def listed_m(self) -> float:
        """The size that tables list of it [m]."""

    @property
    def pipe_m(self) -> float:
        """Pipe lying in it [m]."""

    @property
    def tilt_deg(self) -> float:
        """How far it leans from the vertical [deg]."""

    @property
    def existing(self) -> str:
        """Id of the feature that it is already; empty: it is new."""

    @property
    def water(self) -> str:
        """Id of the feature in whose water it lies; empty: it lies in the ground."""

    @property
    def symbol(self) -> str:
        """Symbol that stands for it on the plan."""


@dataclass(frozen=True, slots=True)
class Bore(Centred):
    """A bore: the centre of its collar, its diameter and drilled depth [m].

    An inclined bore leans from the vertical by ``tilt_deg`` towards ``azimuth_deg``, clockwise
    from the y axis [deg]; its depth is measured along the bore.
    """

    kind: ClassVar[str] = "bore"
    depth_m: float
    tilt_deg: float = 0.0
    azimuth_deg: float = 0.0

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "bore"

    @property
    def toe(self) -> tuple[float, float, float]:
        """Lower end: easting, northing, and depth below the collar [m]."""
        tilt, turn = math.radians(self.tilt_deg), math.radians(self.azimuth_deg)
        out, down = self.depth_m * math.sin(tilt), self.depth_m * math.cos(tilt)
        return self.x_m + out * math.sin(turn), self.y_m + out * math.cos(turn), down

    @property
    def bottom_m(self) -> float | None:
        """Depth of its toe below the collar [m]."""
        return self.toe[2]

    @property
    def course(self) -> BaseGeometry:
        """The whole bore seen from above: a line from collar to toe, a point where vertical."""
        return self._seen_down_to(self.depth_m)

    @property
    def near_surface(self) -> BaseGeometry:
        """Its uppermost part seen from above, down to ``SHALLOW_M``."""
        return self._seen_down_to(min(SHALLOW_M, self.depth_m))

    def _seen_down_to(self, drilled_m: float) -> BaseGeometry:
        if not self.tilt_deg:
            return self.footprint
        x, y, _ = self.toe
        share = drilled_m / self.depth_m
        end = (self.x_m + share * (x - self.x_m), self.y_m + share * (y - self.y_m))
        return LineString([(self.x_m, self.y_m), end])

    @property
    def length_m(self) -> float:
        """Exchanger length it provides: its depth [m]."""
        return self.depth_m

    @property
    def pipe_m(self) -> float:
        """Pipe lying in it: down and up [m]."""
        return 2 * self.depth_m


@dataclass(frozen=True, slots=True)
class Trench(Usual):
    """A trench: its centre line, width and depth [m], and the pipes lying in it.

    ``kind_name`` is one of ``trench_kinds.toml``.
    """

    kind: ClassVar[str] = "trench"
    id: str
    line: LineString
    width_m: float
    depth_m: float
    pipes: int
    kind_name: str = USUAL

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "trench"

    @property
    def pipe_m(self) -> float:
        """Pipe lying in it [m]."""
        kind = trench_kinds()[self.kind_name]
        per_m = kind.pipe_per_m if kind.pipes == self.pipes else self.pipes
        return float(per_m * self.line.length)

    @property
    def x_m(self) -> float:
        """Easting of the start of the centre line [m]."""
        return float(self.line.coords[0][0])

    @property
    def y_m(self) -> float:
        """Northing of the start of the centre line [m]."""
        return float(self.line.coords[0][1])

    @property
    def ends(self) -> tuple[XY, ...]:
        """Start and end of the centre line [m]."""
        (x, y, *_), *_, (to_x, to_y, *_) = self.line.coords
        return (x, y), (to_x, to_y)

    @property
    def axis(self) -> BaseGeometry:
        """Its centre line."""
        return self.line

    @property
    def is_ring(self) -> bool:
        """Whether the trench ends where it begins."""
        return self.line.is_ring

    @property
    def bends(self) -> tuple[tuple[float, float], ...]:
        """Points between start and end at which the centre line turns [m]."""
        return tuple((float(x), float(y)) for x, y in self.line.coords[1:-1])

    @property
    def footprint(self) -> BaseGeometry:
        """The ground the trench opens, square at both ends; without ends where it is a ring."""
        course = LinearRing(self.line.coords) if self.is_ring else self.line
        return course.buffer(self.width_m / 2, cap_style="flat", join_style="round")

    @property
    def reach_m(self) -> float:
        """Nothing reaches beyond the opened ground [m]."""
        return 0.0

    @property
    def bottom_m(self) -> float | None:
        """Depth of its bottom [m]."""
        return self.depth_m

    @property
    def length_m(self) -> float:
        """Exchanger length it provides: its own length [m]."""
        return float(self.line.length)

    @property
    def symbol(self) -> str:
        """Symbol at its start, which carries its attributes."""
        return "trench-mark"


@dataclass(frozen=True, slots=True)
class Coil(Centred):
    """What lies in a pond: its centre, outer diameter, and the pipe on it [m].

    A coil of pipe, or what ``body`` says, within the circle around it; ``plate_m``, ``fluid_m3``:
    length of the hollow plates in a frame, whose pipe only joins them, and what they hold [m, m3].
    """

    kind: ClassVar[str] = "coil"
    pipe_m: float
    water_depth_m: float
    pond: str
    body: str = "coil"
    plate_m: float = 0.0
    fluid_m3: float = 0.0

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "coil"

    @property
    def depth_m(self) -> float:
        """Depth of the water over it [m]."""
        return self.water_depth_m

    @property
    def bottom_m(self) -> float | None:
        """Depth of the water over it [m]."""
        return self.water_depth_m

    @property
    def length_m(self) -> float:
        """Exchanger length it provides: its pipe, or its plates [m]."""
        return self.plate_m or self.pipe_m

    @property
    def symbol(self) -> str:
        """Symbol that stands for it on the plan."""
        return pond_body(self.body).symbol

    @property
    def water(self) -> str:
        """Id of its pond."""
        return self.pond


def facts_of(element: Element) -> LoopType:
    """Facts of the loop type that an element belongs to, called as the element is.

    Examples
    --------
    >>> facts_of(Coil("F1", 0.0, 0.0, 2.0, 3.0, 3.0, "pond", "plate frame", 12.0)).noun
    'plate frame'
    """
    loop = made_of(element.kind)
    return loop.called_as(pond_body(element.body)) if isinstance(element, Coil) else loop


@dataclass(frozen=True, slots=True)
class Well(Centred):
    """A supply or return well: its centre, casing diameter and depth [m].

    ``existing`` is the id of the feature that it is; the depth of such a well is not known, 0.
    """

    kind: ClassVar[str] = "well"
    depth_m: float
    role: Literal["supply", "return"]
    existing: str = ""

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "supply well" if self.role == "supply" else "return well"

    @property
    def bottom_m(self) -> float | None:
        """Its depth; None where it was there before [m]."""
        return None if self.existing else self.depth_m

    @property
    def listed_m(self) -> float:
        """The size that tables list of it: its depth [m]."""
        return self.depth_m

    @property
    def pipe_m(self) -> float:
        """No circuit runs through it [m]."""
        return 0.0

    @property
    def symbol(self) -> str:
        """Symbol that stands for it on the plan."""
        return f"{self.role}-well"
