"""What circuits, crossovers, header pipes and their flow are, however they were found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from shapely import LineString

from siteplan.findings.model import Reason
from siteplan.heat_balance import FlowBasis, HeatBalance
from siteplan.hydraulics.friction import GRAVITY
from siteplan.site.piping import HeaderLayout

Role = Literal["supply", "return", "return home", "pair"]
"""What a header pipe does; ``return home`` is the third run of a reverse return, ``pair`` one
pipe of a circuit led to the entry."""


LOOP_TRENCH: Final = "loop trench"
"""Kind of a crossing where a header passes over a trench of the loop."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a header or a crossover crosses something that is allowed but must be marked.

    ``angle_deg`` is the angle at which it crosses a line, 90 where it does so squarely; None
    where what it crosses has no direction [deg].
    """

    feature: str
    kind: str
    x_m: float
    y_m: float
    angle_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Crossover:
    """A trench with one pipe that joins the far ends of two trenches.

    Parameters
    ----------
    line
        Centre line, from the far end of the first trench to that of the second.
    trenches
        Their ids.
    width_m, depth_m
        Of the crossover [m].
    crossings
        What it crosses that must be marked.
    """

    id: str
    line: LineString
    trenches: tuple[str, str]
    width_m: float
    depth_m: float
    crossings: tuple[Crossing, ...] = ()

    @property
    def length_m(self) -> float:
        """Length of its centre line [m]."""
        return float(self.line.length)


@dataclass(frozen=True, slots=True)
class Circuit:
    """Pipe that leaves the header and comes back to it.

    Parameters
    ----------
    id
        Its name.
    elements
        Ids of the elements it runs through, in its order; a trench of several loops may stand in
        several circuits, and more than once in one.
    pipe
        Nominal size.
    length_m
        All of its pipe, from the header and back to it [m].
    passes
        How often it runs along an element.
    connecting_m
        Of its length: pipe from element to element, in the header trench and where two trenches
        are joined at their far ends [m].
    group
        Id of its group; empty where the field is not divided.
    """

    id: str
    elements: tuple[str, ...]
    pipe: str
    length_m: float
    passes: int
    connecting_m: float = 0.0
    group: str = ""


@dataclass(frozen=True, slots=True)
class HeaderPipe:
    """One pipe in a piece of header trench; no size and no flow where the flow is not known.

    ``group`` is the id of the group that it serves; empty where the field is not divided.
    """

    role: Role
    size: str
    flow_m3s: float
    group: str = ""


@dataclass(frozen=True, slots=True)
class OwnPipes:
    """Pipes of one circuit that run along a header from one of its elements to the next."""

    circuit: str
    size: str
    count: int


@dataclass(frozen=True, slots=True)
class HeaderPiece:
    """A piece of header trench in which nothing branches.

    Parameters
    ----------
    start, end
        Its ends, the one nearer to the entry first, x and y [m].
    length_m
        Of the trench [m].
    bends
        Turns that take an elbow.
    pipes
        Header pipes lying in it.
    own
        Pipes of circuits lying beside them, or alone.
    width_m
        Of its trench where it is dug wider than the rest, for its many pipes; else 0 [m].
    """

    start: tuple[float, float]
    end: tuple[float, float]
    length_m: float
    bends: int
    pipes: tuple[HeaderPipe, ...]
    own: tuple[OwnPipes, ...] = ()
    width_m: float = 0.0

    @property
    def count(self) -> int:
        """Number of all pipes lying in it."""
        return len(self.pipes) + sum(own.count for own in self.own)


@dataclass(frozen=True, slots=True)
class Fittings:
    """Fittings of the header, supply and return together.

    Parameters
    ----------
    tees
        One for each branch and circuit but the last of a header.
    elbows
        At bends, and where a reverse return turns.
    reducers
        Changes of size along the header and to the circuits, where the flow is known.
    """

    tees: int = 0
    elbows: int = 0
    reducers: int = 0


@dataclass(frozen=True, slots=True)
class Balance:
    """How well the circuits are balanced.

    Parameters
    ----------
    share
        Longest less shortest circuit, over the longest [-].
    proven
        Whether no other choice for so many circuits brings their whole lengths nearer to equal,
        to the percent.
    limit_m
        Longest circuit allowed of its size [m].
    left_over
        Trenches with a pipe that finds no way home.
    why
        How their number was chosen.
    lacking
        Why the number asked for cannot be had; None where it can, or none is asked for.
    """

    share: float
    proven: bool
    limit_m: float
    left_over: tuple[str, ...] = ()
    why: Reason | None = None
    lacking: Reason | None = None


@dataclass(frozen=True, slots=True)
class Drop:
    """Pressure drop of one path by part [Pa].

    Parameters
    ----------
    circuit, header
        Friction of the pipe in the circuit, and in the header there and back.
    fittings
        All fittings on the path.
    heat_pump
        Heat pump; 0 where the site file does not give it.
    """

    circuit: float
    header: float
    fittings: float
    heat_pump: float = 0.0

    @property
    def total(self) -> float:
        """All parts together [Pa]."""
        return self.circuit + self.header + self.fittings + self.heat_pump


@dataclass(frozen=True, slots=True)
class Group:
    """Circuits that hang on run-outs of their own.

    Parameters
    ----------
    circuits
        Ids of its circuits.
    pipe
        Size of its run-outs at the manifold; empty where the flow is not known.
    length_m, run_out_m
        Header pipe of it; of that its run-outs: supply and return from the manifold to where the
        first flow leaves them [m].
    flow_m3s, drop, head_m, easiest_drop_pa, purge_m3s
        Flow, drop and head of its worst path, drop of its easiest one, flow that purges it alone
        [m3/s, Pa, m]; None where the flow is not known.
    """

    id: str
    circuits: tuple[str, ...]
    pipe: str
    length_m: float
    run_out_m: float
    flow_m3s: float | None = None
    drop: Drop | None = None
    head_m: float | None = None
    easiest_drop_pa: float | None = None
    purge_m3s: float | None = None


@dataclass(frozen=True, slots=True)
class Hydraulics:
    """What flows, and what it takes.

    Parameters
    ----------
    flow_m3s
        All circuits together [m3/s].
    basis
        Where the flow comes from.
    mixture, temperature_c
        The fluid, and the mean temperature for which friction is worked out [C].
    circuit_flow_m3s
        Of each circuit [m3/s].
    reynolds
        In the circuits [-].
    drop
        Pressure drop of the worst path, by part [Pa].
    easiest_drop_pa
        Pressure drop of the easiest path [Pa].
    density
        Of the fluid at that temperature [kg/m3].
    purge_m3s
        Flow that carries air out of all pipes, of a divided field out of one group at a time
        [m3/s].
    balances
        The fluid at the design hours of heating and cooling.
    lowest_c
        Lowest temperature of the fluid at the design hour [C].
    """

    flow_m3s: float
    basis: FlowBasis
    mixture: str
    temperature_c: float
    circuit_flow_m3s: float
    reynolds: float
    drop: Drop
    easiest_drop_pa: float
    density: float
    purge_m3s: float
    balances: tuple[HeatBalance, ...]
    lowest_c: float

    @property
    def power_w(self) -> float:
        """Hydraulic power of the worst path: flow times pressure, no pump's losses [W]."""
        return self.flow_m3s * self.drop.total

    @property
    def head_m(self) -> float:
        """Head of the worst path, all parts, as height of the fluid [m]."""
        return self.height_m(self.drop.total)

    def height_m(self, pressure_pa: float) -> float:
        """A pressure as height of the fluid [m]."""
        return pressure_pa / (self.density * GRAVITY)


@dataclass(frozen=True, slots=True)
class Piping:
    """Pipes from the circuits to the entry.

    Parameters
    ----------
    layout
        How supply and return are led.
    why
        By which rule.
    pieces
        Header trench, piece by piece, with the pipes in it.
    width_m, depth_m
        Of the header trench [m].
    fittings
        Of the header.
    balance
        Of the circuits; None where there are none.
    hydraulics
        None where the flow is not known, or the fluid not at the temperature wanted.
    unknown
        Why there are no hydraulics; None where there are.
    oversize
        Whether a flow is too much for the largest pipe known.
    groups
        Groups of circuits, each with run-outs of its own; empty where the field is not divided.
    """

    layout: HeaderLayout
    why: Reason
    pieces: tuple[HeaderPiece, ...]
    width_m: float
    depth_m: float
    fittings: Fittings
    balance: Balance | None
    hydraulics: Hydraulics | None
    unknown: Reason | None = None
    oversize: bool = False
    groups: tuple[Group, ...] = ()

    @property
    def lengths_m(self) -> dict[str, float]:
        """Header pipe by nominal size; an empty size is one that is not known [m]."""
        return self.lengths_of(None)

    def lengths_of(self, group: str | None) -> dict[str, float]:
        """The same of one group; None: of all together [m]."""
        lengths: dict[str, float] = {}
        for piece in self.pieces:
            for pipe in piece.pipes:
                if group in (None, pipe.group):
                    lengths[pipe.size] = lengths.get(pipe.size, 0.0) + piece.length_m
        return lengths
