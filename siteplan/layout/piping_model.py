"""What circuits, crossovers, header pipes and their flow are, however they were found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from shapely import LineString

from siteplan.findings.model import Reason
from siteplan.heat_balance import FlowBasis, HeatBalance
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
    """

    id: str
    elements: tuple[str, ...]
    pipe: str
    length_m: float
    passes: int
    connecting_m: float = 0.0


@dataclass(frozen=True, slots=True)
class HeaderPipe:
    """One pipe in a piece of header trench; no size and no flow where the flow is not known."""

    role: Role
    size: str
    flow_m3s: float


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
    """

    start: tuple[float, float]
    end: tuple[float, float]
    length_m: float
    bends: int
    pipes: tuple[HeaderPipe, ...]
    own: tuple[OwnPipes, ...] = ()

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
class Hydraulics:
    """What flows, and what it takes; pipe friction alone, no fittings and no heat pump.

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
    circuit_drop_pa, header_drop_pa
        Pressure drop of the worst path: in its circuit, in the header there and back [Pa].
    easiest_drop_pa
        Pressure drop of the easiest path [Pa].
    head_m
        Of the worst path, as height of the fluid [m].
    purge_m3s
        Flow that carries air out of all pipes [m3/s].
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
    circuit_drop_pa: float
    header_drop_pa: float
    easiest_drop_pa: float
    head_m: float
    purge_m3s: float
    balances: tuple[HeatBalance, ...]
    lowest_c: float

    @property
    def power_w(self) -> float:
        """Hydraulic power of the worst path: flow times pressure, no pump's losses [W]."""
        return self.flow_m3s * (self.circuit_drop_pa + self.header_drop_pa)


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

    @property
    def lengths_m(self) -> dict[str, float]:
        """Header pipe by nominal size; an empty size is one that is not known [m]."""
        lengths: dict[str, float] = {}
        for piece in self.pieces:
            for pipe in piece.pipes:
                lengths[pipe.size] = lengths.get(pipe.size, 0.0) + piece.length_m
        return lengths
