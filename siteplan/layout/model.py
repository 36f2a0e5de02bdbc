"""What a layout is, independent of how it was found: frozen values in local metres."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import ClassVar, Final, Literal

from shapely import LinearRing, LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason
from siteplan.geometry.memory import Memory
from siteplan.layout.piping_model import Circuit, Crossing, Joint, Piping
from siteplan.rule_books.model import Part
from siteplan.site.machines import MachineKind
from siteplan.site.model import (
    Entry,
    Feature,
    System,
)
from siteplan.site.trench_kinds import USUAL, trench_kinds
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US

SHALLOW_M: Final = 3.0
"""Drilled depth down to which an inclined bore keeps every distance, as pipes and footings lie
there; common practice, no source [m]."""


@dataclass(frozen=True, slots=True)
class Bore:
    """A bore: the centre of its collar, its diameter and drilled depth [m].

    An inclined bore leans from the vertical by ``tilt_deg`` towards ``azimuth_deg``, clockwise
    from the y axis [deg]; its depth is measured along the bore.
    """

    kind: ClassVar[str] = "bore"
    id: str
    x_m: float
    y_m: float
    diameter_m: float
    depth_m: float
    tilt_deg: float = 0.0
    azimuth_deg: float = 0.0

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "bore"

    @property
    def footprint(self) -> BaseGeometry:
        """Centre of the collar; the ground it takes reaches ``reach_m`` around it."""
        return Point(self.x_m, self.y_m)

    @property
    def toe(self) -> tuple[float, float, float]:
        """Lower end: easting, northing, and depth below the collar [m]."""
        out = self.depth_m * math.sin(math.radians(self.tilt_deg))
        turn = math.radians(self.azimuth_deg)
        down = self.depth_m * math.cos(math.radians(self.tilt_deg))
        return self.x_m + out * math.sin(turn), self.y_m + out * math.cos(turn), down

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
    def reach_m(self) -> float:
        """How far the element reaches beyond its footprint [m]."""
        return self.diameter_m / 2

    @property
    def length_m(self) -> float:
        """Exchanger length it provides: its depth [m]."""
        return self.depth_m


@dataclass(frozen=True, slots=True)
class Trench:
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
    def length_m(self) -> float:
        """Exchanger length it provides: its own length [m]."""
        return float(self.line.length)


@dataclass(frozen=True, slots=True)
class Coil:
    """A pond coil: its centre, outer diameter, and the pipe on it [m]."""

    kind: ClassVar[str] = "coil"
    id: str
    x_m: float
    y_m: float
    diameter_m: float
    pipe_m: float
    water_depth_m: float
    pond: str

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "coil"

    @property
    def footprint(self) -> BaseGeometry:
        """Centre point; the coil reaches ``reach_m`` around it."""
        return Point(self.x_m, self.y_m)

    @property
    def reach_m(self) -> float:
        """How far the element reaches beyond its footprint [m]."""
        return self.diameter_m / 2

    @property
    def length_m(self) -> float:
        """Exchanger length it provides: its pipe [m]."""
        return self.pipe_m


@dataclass(frozen=True, slots=True)
class Well:
    """A supply or return well: its centre, casing diameter and depth [m].

    ``existing`` is the id of the feature that it is; the depth of such a well is not known, 0.
    """

    kind: ClassVar[str] = "well"
    id: str
    x_m: float
    y_m: float
    diameter_m: float
    depth_m: float
    role: Literal["supply", "return"]
    existing: str = ""

    @property
    def part(self) -> Part:
        """Which rules bind it."""
        return "supply well" if self.role == "supply" else "return well"

    @property
    def footprint(self) -> BaseGeometry:
        """Centre point; the casing reaches ``reach_m`` around it."""
        return Point(self.x_m, self.y_m)

    @property
    def reach_m(self) -> float:
        """How far the element reaches beyond its footprint [m]."""
        return self.diameter_m / 2

    @property
    def length_m(self) -> float:
        """An open loop's measure is flow, not length [m]."""
        return 0.0


Element = Bore | Trench | Coil | Well


@dataclass(frozen=True, slots=True)
class Header:
    """The pipe run that joins all elements to the entry.

    Parameters
    ----------
    runs
        Pieces of the header trench, each from one branching point to the next; together a tree.
    entry
        The entry it reaches.
    crossings
        Utilities and drives it crosses.
    """

    runs: tuple[LineString, ...]
    entry: Entry
    crossings: tuple[Crossing, ...] = ()

    @property
    def length_m(self) -> float:
        """Length of header trench [m]."""
        return float(sum(run.length for run in self.runs))


@dataclass(frozen=True, slots=True)
class Access:
    """How the rig or the digger gets from the street to where it works.

    Parameters
    ----------
    path
        Centre line of the way in, from the street frontage to the field; empty where the machine
        gets to no element.
    width_m
        Width that must be clear along it [m].
    lost
        How many more bores or wells the lot would hold if a rig could stand everywhere.
    because
        What the machine cannot get past, in the trade's words; empty where nothing is lost.
    decisive
        Whether the lot would hold what is required if the machine got everywhere, and only then.
    machine
        Which one.
    lost_m
        How much more trench the lot would hold if a digger got everywhere [m].
    """

    path: LineString
    width_m: float
    lost: int = 0
    because: Reason | None = None
    decisive: bool = False
    machine: MachineKind = "rig"
    lost_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Layout:
    """One loop type laid out on one lot.

    Parameters
    ----------
    system
        Loop type.
    elements
        Bores, trenches, coils or wells, in staking order; may be empty.
    header
        Pipe run to the entry; None where there is nothing to join or no way.
    spacing_m
        Least distance the elements keep: centres of bores and trenches, edges of coils,
        centres of wells [m].
    capacity_m
        The most exchanger length the lot was found to hold [m].
    obstacle
        What stops the loop type; None where nothing does.
    most
        Number of elements that no arrangement can exceed, proven; None where not known.
    most_m
        Exchanger length that no arrangement can exceed, proven; None where not known [m].
    by_hand
        Whether the places were typed by somebody: a broken rule is then a finding about the
        wish, not a fault of the engine.
    access
        Way of the drill rig or digger; None where none is needed or known.
    circuits
        Circuits of the pipe; every element in one, or each of its loops; empty for wells.
    piping
        Header pipes and flow; None where there is no header.
    joints
        Trenches that join others at their far ends.
    evened
        Whether more or other trenches than the cheapest were taken to make circuits even.
    """

    system: System
    elements: tuple[Element, ...]
    header: Header | None
    spacing_m: float
    capacity_m: float
    obstacle: Reason | None = None
    most: int | None = None
    by_hand: bool = False
    access: Access | None = None
    circuits: tuple[Circuit, ...] = ()
    piping: Piping | None = None
    most_m: float | None = None
    joints: tuple[Joint, ...] = ()
    evened: bool = False

    @property
    def length_m(self) -> float:
        """Exchanger length provided by the elements [m]."""
        return float(sum(element.length_m for element in self.elements))


@dataclass(frozen=True, slots=True)
class Ground:
    """What an engine gets to see of a site.

    Parameters
    ----------
    area
        Where element centres and trench centre lines may lie (polygon or multipolygon, may be
        empty): every distance of every rule is already taken off.
    passable
        Where the header may run; reaches every entry.
    entries
        Candidate entries, each on the edge of or inside ``passable``.
    marked
        Features the header may cross at a cost and with a mark: utilities, drives, easements.
    unit
        Unit in which an engine words what stops it.
    whole
        Ground that a trench may open, sloped sides aside: ``area`` before it was inset by half a
        trench's width. None where there are no trenches.
    memory
        What engines have worked out already, for this ground or for another of the same lot.
    """

    area: BaseGeometry
    passable: BaseGeometry
    entries: tuple[Entry, ...]
    marked: tuple[Feature, ...] = ()
    unit: UnitSystem = US
    whole: BaseGeometry | None = None
    memory: Memory = field(default_factory=Memory, compare=False, repr=False)
