"""One heat balance of the loop: heat, flow, and the fluid's temperatures follow from one another.

The heat pump takes ``heat = density x heat capacity x flow x change`` from the fluid at the design
hour. Loads give the heat; of flow and change the site file states one, or the flow is assumed.
Length, freezing, Reynolds number and pressure drop all use what is worked out here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from siteplan.hydraulics.fluids import FluidState, fluid_state, known_range
from siteplan.site.energy import Energy, Fluid
from siteplan.site.model import Exchanger
from siteplan.units.heat import FAHRENHEIT
from siteplan.units.lengths import TON, parse_flow

Floats = NDArray[np.float64]
Direction = Literal["heating", "cooling"]
FlowBasis = Literal["stated", "from-change", "capacity", "loads"]
"""Where a flow comes from: the site file, the change of temperature it states, or so much a ton
of the capacity or of the greater load."""

MONTHS: Final = 12
HARDEST: Final = 6
"""Place of the hardest month in a year that is centred on it."""
KNOWN: Final = 256
"""Years of months kept, of those asked for last."""
EVEN_SHARE: Final = 1e-9
"""So near to a twelfth the year is even [-]."""
BTU_PER_WATT_HOUR: Final = 3.412
FLOW_PER_TON: Final = parse_flow("3 gpm")
"""Flow of fluid for a ton of capacity; common practice, no source [m3/s]."""
USUAL_COP: Final = 3.5
"""Of a heat pump of which only the capacity is stated; common practice, no source."""
USUAL_CHANGE_K: Final = {"heating": 6 * FAHRENHEIT, "cooling": 10 * FAHRENHEIT}
"""Across the heat pump where neither loads nor capacity give the heat, and of well water; common
practice, no source [K]."""


@dataclass(frozen=True, slots=True)
class LoopFlow:
    """Flow of all circuits together [m3/s], and where it comes from."""

    flow_m3s: float
    basis: FlowBasis


@dataclass(frozen=True, slots=True)
class HeatBalance:
    """The fluid at the design hour of one direction.

    Parameters
    ----------
    direction
        Heating or cooling.
    heat_w
        Between loop and ground; 0 where nothing tells it [W].
    flow
        Of all circuits; None where nothing tells it.
    entering_c, leaving_c
        Entering and leaving the heat pump [C].
    """

    direction: Direction
    heat_w: float
    flow: LoopFlow | None
    entering_c: float
    leaving_c: float

    @property
    def mean_c(self) -> float:
        """Mean of the fluid in the loop [C]."""
        return (self.entering_c + self.leaving_c) / 2

    @property
    def change_k(self) -> float:
        """Change across the heat pump [K]."""
        return abs(self.entering_c - self.leaving_c)

    @property
    def lowest_c(self) -> float:
        """Lowest temperature of the fluid [C]."""
        return min(self.entering_c, self.leaving_c)


def ground_share(energy: Energy, direction: Direction, *, year: bool = False) -> float:
    """Share of a load that flows between loop and ground [-].

    Heating (COP - 1)/COP; cooling (EER + 3.412)/EER, as the compressor's work goes down too.

    Examples
    --------
    At a COP of 5 four fifths of the heat come from the ground (common practice, no source).

    >>> from siteplan.site.energy import Loads
    >>> loads = Loads(10e3, 8e3, 1800, 600, 5.0, 13.648, 0.2, 0.3)
    >>> energy = Energy(loads, None, None, None, 25)
    >>> ground_share(energy, "heating"), round(ground_share(energy, "cooling"), 3)
    (0.8, 1.25)
    """
    loads = energy.loads
    if direction == "heating":
        cop = loads.cop_year if year and loads.cop_year else loads.cop
        return (cop - 1.0) / cop
    eer = loads.eer_year if year and loads.eer_year else loads.eer
    return (eer + BTU_PER_WATT_HOUR) / eer


def directions(energy: Energy) -> tuple[Direction, ...]:
    """In which directions the loop has to be sized, or the one that is asked about."""
    return tuple(way for way in _used(energy) if energy.only in (None, way))


def _used(energy: Energy) -> tuple[Direction, ...]:
    """Directions in which there is a load."""
    winter: tuple[Direction, ...] = ("heating",) if energy.loads.winter_w else ()
    summer: tuple[Direction, ...] = ("cooling",) if energy.loads.cooling_w else ()
    return winter + summer


def design_heat(energy: Energy, direction: Direction) -> float:
    """Heat flow between loop and ground in the design hour of a direction [W]."""
    loads = energy.loads
    if direction == "cooling":
        return loads.cooling_w * ground_share(energy, "cooling")
    beside = sum(side.ground_share * side.power_w for side in loads.sides)
    return loads.heating_w * ground_share(energy, "heating") + beside


def loop_flow(exchanger: Exchanger) -> LoopFlow | None:
    """Flow of all circuits together, None where nothing tells it.

    A flow stated comes first; then the flow that a stated change of temperature asks for, the
    greater of the two directions; then so much a ton.
    """
    asked, energy = exchanger.piping.circuits.flow_m3s, exchanger.energy
    if asked is not None:
        return LoopFlow(asked, "stated")
    usual = None if energy is None else usual_flow(energy)
    if usual is not None and usual.basis == "from-change":
        return usual
    if exchanger.capacity_w is not None:
        return LoopFlow(exchanger.capacity_w / TON * FLOW_PER_TON, "capacity")
    return usual


def usual_flow(energy: Energy) -> LoopFlow:
    """Flow that loads ask for where nobody states another."""
    flow = _flow_for_changes(energy)
    if flow > 0:
        return LoopFlow(flow, "from-change")
    greater = max(energy.loads.winter_w, energy.loads.cooling_w)
    return LoopFlow(greater / TON * FLOW_PER_TON, "loads")


def heat_balance(exchanger: Exchanger, direction: Direction) -> HeatBalance | None:
    """The fluid at the design hour of a direction, None where no fluid was read."""
    flow = loop_flow(exchanger)
    if exchanger.energy is not None:
        return balance_of(exchanger.energy, direction, flow)
    fluid = exchanger.piping.fluid
    if fluid is None:
        return None
    heat = 0.0
    if exchanger.capacity_w is not None and direction == "heating":
        heat = exchanger.capacity_w * (USUAL_COP - 1) / USUAL_COP
    return _balanced(fluid, direction, heat, flow)


def design_balance(exchanger: Exchanger) -> HeatBalance | None:
    """The fluid at the colder design hour: of heating, or of cooling where nothing is heated.

    Cold fluid is the more viscous, so that pressure drop and Reynolds number hold all year.
    """
    energy = exchanger.energy
    cools_only = energy is not None and _used(energy) == ("cooling",)
    return heat_balance(exchanger, "cooling" if cools_only else "heating")


def design_balances(exchanger: Exchanger) -> tuple[HeatBalance, ...]:
    """The fluid at the design hours of all directions whose heat is known."""
    energy = exchanger.energy
    ways: tuple[Direction, ...] = ("heating",) if energy is None else _used(energy)
    balances = (heat_balance(exchanger, way) for way in ways)
    return tuple(balance for balance in balances if balance is not None and balance.heat_w > 0)


def balance_of(energy: Energy, direction: Direction, flow: LoopFlow | None = None) -> HeatBalance:
    """The fluid at the design hour of a direction of loads.

    Parameters
    ----------
    energy
        Loads and fluid.
    direction
        Heating or cooling.
    flow
        Of all circuits; None: as usual for the loads.

    Examples
    --------
    10 kW at a COP of 5 take 8 kW from 0.5 l/s of water that comes at 10 C: by hand
    8000 / (0.5 x 0.9998 x 4194) = 3.82 K.

    >>> from siteplan.site.energy import Loads
    >>> loads = Loads(10e3, 0, 1800, 0, 5.0, 15.0, 0.2, 0.3)
    >>> energy = Energy(loads, None, Fluid(10.0, 30.0, mixture="water"), None, 25)
    >>> balance = balance_of(energy, "heating", LoopFlow(0.5e-3, "stated"))
    >>> round(balance.change_k, 2), round(balance.leaving_c, 2), round(balance.mean_c, 2)
    (3.82, 6.18, 8.09)
    """
    flow = flow or usual_flow(energy)
    return _balanced(energy.fluid, direction, design_heat(energy, direction), flow)


def _balanced(
    fluid: Fluid, direction: Direction, heat_w: float, flow: LoopFlow | None
) -> HeatBalance:
    entering = entering_of(fluid, direction)
    change = stated_change(fluid, direction) or USUAL_CHANGE_K[direction]
    if flow is not None and heat_w > 0 and fluid.mixture:
        state = state_near(fluid.mixture, entering)
        change = heat_w / (state.density * state.heat_capacity * flow.flow_m3s)
    sign = -1 if direction == "heating" else 1
    return HeatBalance(direction, heat_w, flow, entering, entering + sign * change)


def entering_of(fluid: Fluid, direction: Direction) -> float:
    """Temperature of the fluid that enters the heat pump at the design hour [C]."""
    return fluid.coldest_c if direction == "heating" else fluid.warmest_c


def stated_change(fluid: Fluid, direction: Direction) -> float | None:
    """Change across the heat pump that the site file states [K]."""
    return fluid.heating_drop_k if direction == "heating" else fluid.cooling_rise_k


def state_near(mixture: str, temperature_c: float) -> FluidState:
    """Properties of a fluid at a temperature, or at the nearest that its table has.

    A fluid that would freeze is an error of its own; its length is worked out all the same.
    """
    low_c, high_c = known_range(mixture)
    return fluid_state(mixture, min(max(temperature_c, low_c), high_c))


def flow_for_change(fluid: Fluid, direction: Direction, heat_w: float, change_k: float) -> float:
    """Flow with which the fluid changes by so much across the heat pump [m3/s]."""
    state = state_near(fluid.mixture, entering_of(fluid, direction))
    return heat_w / (state.density * state.heat_capacity * change_k)


def _flow_for_changes(energy: Energy) -> float:
    """Flow that the changes stated ask for; 0 where none is stated [m3/s]."""
    fluid = energy.fluid
    if not fluid.mixture:
        return 0.0
    asking = (
        flow_for_change(fluid, way, design_heat(energy, way), change)
        for way in _used(energy)
        if (change := stated_change(fluid, way)) is not None
    )
    return max(asking, default=0.0)


@lru_cache(maxsize=KNOWN)
def bell(share: float) -> Floats:
    """Twelve shares of a year's heat around month 6, whose share is the greatest and stated.

    Examples
    --------
    >>> bell(0.22).round(3).tolist()
    [0.001, 0.005, 0.019, 0.056, 0.12, 0.189, 0.22, 0.189, 0.12, 0.056, 0.019, 0.005]
    >>> bell(1 / 12).round(4).tolist()[:2]
    [0.0833, 0.0833]
    """
    even = np.full(MONTHS, 1 / MONTHS)
    found = even if share <= 1 / MONTHS + EVEN_SHARE else _bell_over(share)
    # known by its share, and handed to many
    found.flags.writeable = False
    return found


def _bell_over(share: float) -> Floats:
    """The same for a share that is more than an even one."""
    months = np.arange(MONTHS) - HARDEST

    def shares(width: float) -> Floats:
        weights = np.exp(-((months / width) ** 2))
        return np.asarray(weights / weights.sum())

    # loads slowly, and only a calculated length needs it
    from scipy.optimize import brentq  # noqa: PLC0415

    narrow, wide = 0.05, 60.0
    if share >= shares(narrow)[HARDEST]:
        return shares(narrow)
    return shares(float(brentq(lambda width: shares(width)[HARDEST] - share, narrow, wide)))
