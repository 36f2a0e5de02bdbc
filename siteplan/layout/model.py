"""What a layout is, independent of how it was found: frozen values in local metres."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason
from siteplan.geometry.memory import Memory
from siteplan.layout.elements import Coil, Element, facts_of
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping_model import Circuit, Crossing, Crossover, Piping
from siteplan.layout.pit import HeaderPit
from siteplan.site.machines import MachineKind
from siteplan.site.model import (
    Entry,
    Feature,
    System,
)
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US
from siteplan.vocabulary.loop_types import LoopType, loop_type
from siteplan.vocabulary.pond_bodies import pond_body

Kind = TypeVar("Kind")


@dataclass(frozen=True, slots=True)
class Landing:
    """Where the header comes through the shore of a pond.

    Parameters
    ----------
    at
        Where.
    stated
        Whether the site says so; otherwise it was chosen for a short trench.
    """

    at: tuple[float, float]
    stated: bool


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
    pit
        Where the pipes of all circuits come together; None where there is no such pit.
    landings
        Where it comes through the shore of a pond.
    """

    runs: tuple[LineString, ...]
    entry: Entry
    crossings: tuple[Crossing, ...] = ()
    pit: HeaderPit | None = None
    landings: tuple[Landing, ...] = ()

    @property
    def length_m(self) -> float:
        """Length of header trench [m]."""
        return float(sum(run.length for run in self.runs))


@dataclass(frozen=True, slots=True)
class Access:
    """How the rig or the excavator gets from the street to where it works.

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
        How much more trench the lot would hold if an excavator got everywhere [m].
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
    kept
        Ids of those whose places were, where the plan has found those of the others.
    access
        Way of the drill rig or excavator; None where none is needed or known.
    circuits
        Circuits of the pipe; every element in one, or each of its loops; empty for wells.
    piping
        Header pipes and flow; None where there is no header.
    crossovers
        Trenches that join others at their far ends.
    evened
        Whether more or other trenches than the cheapest were taken to make circuits even.
    kept_off
        What it keeps off at the price of a longer header; None where its header is the shortest
        found.
    body
        What is laid in a pond, where that is known before any element is.
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
    crossovers: tuple[Crossover, ...] = ()
    evened: bool = False
    kept_off: KeptOff | None = None
    body: str = ""
    kept: tuple[str, ...] = ()

    @property
    def length_m(self) -> float:
        """Exchanger length provided by the elements [m]."""
        return float(sum(element.length_m for element in self.elements))

    @property
    def loop(self) -> LoopType:
        """Facts of its loop type, called as what is laid."""
        if self.body:
            return loop_type(self.system).called_as(pond_body(self.body))
        laid = self.elements[0] if self.elements else None
        return facts_of(laid) if isinstance(laid, Coil) else loop_type(self.system)

    @property
    def leans(self) -> bool:
        """Whether an element leans."""
        return any(element.tilt_deg > 0 for element in self.elements)

    @property
    def new(self) -> tuple[Element, ...]:
        """Elements that its machine still has to make; an outfall is pipe alone."""
        return tuple(
            element
            for element in self.elements
            if not element.existing and not isinstance(element, Outfall)
        )

    def of(self, kind: type[Kind]) -> tuple[Kind, ...]:
        """Elements of one kind, in staking order."""
        return tuple(element for element in self.elements if isinstance(element, kind))


@dataclass(frozen=True, slots=True)
class Spared:
    """Ground that a field keeps off where that takes little more.

    Parameters
    ----------
    name
        What it is: "front yard", "drive" or "utilities".
    shape
        The ground.
    """

    name: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class KeptOff:
    """That a field lies elsewhere than where its header is shortest, to spare ground.

    Parameters
    ----------
    names
        Ground on which it would lie with the shortest header, and does not.
    more_m
        By how much its header is longer [m]; negative where it is shorter.
    """

    names: tuple[str, ...]
    more_m: float


@dataclass(frozen=True, slots=True)
class Strip:
    """Ground beside a line that a header may cross and along which it may not run.

    Parameters
    ----------
    feature
        Id of the line.
    line
        The line.
    reach_m
        What the header's centre line keeps from the line as it runs beside it [m].
    leaving_m
        Length of header on which it may lie nearer, on each side of a crossing and from the place
        where it begins or joins something [m].
    allowance_m
        Of what it keeps, what stands on top of the rule, for staking [m].
    """

    feature: str
    line: BaseGeometry
    reach_m: float
    leaving_m: float
    allowance_m: float = 0.0


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
    strips
        Ground beside lines along which the header may not run.
    spared
        Ground that a field keeps off where that takes little more.
    entered
        What the header enters and no header pit is dug in, such as the pond of its coils.
    shore_entries
        Where the header shall come through the shore of what it enters.
    memory
        What engines have worked out already, for this ground or for another of the same lot.
    """

    area: BaseGeometry
    passable: BaseGeometry
    entries: tuple[Entry, ...]
    marked: tuple[Feature, ...] = ()
    unit: UnitSystem = US
    whole: BaseGeometry | None = None
    strips: tuple[Strip, ...] = ()
    entered: BaseGeometry | None = None
    spared: tuple[Spared, ...] = ()
    shore_entries: tuple[tuple[float, float], ...] = ()
    memory: Memory = field(default_factory=Memory, compare=False, repr=False)
