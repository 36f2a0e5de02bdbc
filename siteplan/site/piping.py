"""What is wanted of the pipes: circuits, header and fluid; frozen values in SI units."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from siteplan.site.energy import Fluid
from siteplan.units.lengths import INCH

HeaderLayout = Literal["reverse return", "direct return", "home run", "header pit"]
"""How supply and return are led: through a header whose return runs past all circuits before it
goes home, through one whose return goes the way of the supply, a pair for each circuit, or such
pairs to a pit near the field and two pipes on from there."""
HEADER_LAYOUTS: tuple[HeaderLayout, ...] = get_args(HeaderLayout)

BEDDING_M: Final = 6 * INCH
"""Between a pipe and the side of the trench on each side; common practice, no source [m]."""


@dataclass(frozen=True, slots=True)
class CircuitOptions:
    """Circuits of the exchanger.

    Parameters
    ----------
    pipe
        Nominal size; empty: the usual one of the loop type.
    flow_m3s
        Flow of all circuits together [m3/s]; None: from the capacity or the loads.
    longest_m
        Longest circuit [m]; None: common practice for the size.
    bores
        Bores joined in series to one circuit.
    count
        Circuits wanted; None: as many as suit.
    test_pa
        Pressure at which they are tested [Pa]; None: as the rule books ask.
    """

    pipe: str = ""
    flow_m3s: float | None = None
    longest_m: float | None = None
    bores: int = 1
    count: int | None = None
    test_pa: float | None = None


@dataclass(frozen=True, slots=True)
class HeaderOptions:
    """Header pipes.

    Parameters
    ----------
    layout
        How supply and return are led; None: by the number of circuits and their distance.
    separation_m
        Between supply and return in the header trench, centre to centre [m].
    depth_m
        Of the header trench [m]; the least where nobody states it.
    below_m
        Where nobody states it, how deep all pipe lies at least: below frost [m].
    step_m
        Step in which the trench is dug as much deeper as the layers of pipe take [m].
    shallow_by
        Who answers for less cover than is common; empty: nobody.
    group
        Circuits that hang on one pair of pipes at most; more are divided into groups.
    """

    layout: HeaderLayout | None = None
    separation_m: float = 0.3048
    depth_m: float = 1.2192
    below_m: float = 0.0
    step_m: float = 0.0
    shallow_by: str = ""
    group: int = 12

    @property
    def width_m(self) -> float:
        """Width of the header trench [m]."""
        return self.separation_m + 2 * BEDDING_M


@dataclass(frozen=True, slots=True)
class GroutOptions:
    """Grout of the bores, as it is bought.

    Parameters
    ----------
    material
        What it is.
    extra
        Share that is bought beyond the volume to be filled [-].
    yield_m3
        Mixed grout from one bag of the product [m3]; None: nobody has said.
    sand_kg
        Sand that goes with each bag [kg].
    """

    material: str = "bentonite and sand"
    extra: float = 0.1
    yield_m3: float | None = None
    sand_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class HeatPump:
    """What the fluid loses in the heat pump.

    Parameters
    ----------
    head_m
        Loss at its flow, as height of water [m].
    flow_m3s
        That flow [m3/s]; None: the flow of the circuits.
    """

    head_m: float
    flow_m3s: float | None = None


@dataclass(frozen=True, slots=True)
class PipingOptions:
    """All of it; ``fluid`` is None where nothing was read."""

    circuits: CircuitOptions = field(default_factory=CircuitOptions)
    header: HeaderOptions = field(default_factory=HeaderOptions)
    fluid: Fluid | None = None
    grout: GroutOptions = field(default_factory=GroutOptions)
    heat_pump: HeatPump | None = None
