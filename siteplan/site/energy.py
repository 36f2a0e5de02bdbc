"""What heat an exchanger has to move, and through what: frozen values in SI units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Loads:
    """What the building wants of the heat pump.

    Parameters
    ----------
    heating_w, cooling_w
        Design loads [W]; 0 for none.
    heating_hours, cooling_hours
        Equivalent full-load hours of a year [h].
    cop
        Coefficient of performance in heating at the design entering temperature [-].
    eer
        Energy efficiency ratio in cooling [Btu/(W h)].
    heating_month, cooling_month
        Share of the year's energy that falls into the hardest month [-].
    """

    heating_w: float
    cooling_w: float
    heating_hours: float
    cooling_hours: float
    cop: float
    eer: float
    heating_month: float
    cooling_month: float


@dataclass(frozen=True, slots=True)
class Earth:
    """The ground as heat sees it.

    Parameters
    ----------
    temperature_c
        Undisturbed, averaged over the depth of a bore [C].
    conductivity
        [W/(m K)].
    diffusivity_m2s
        [m2/s].
    """

    temperature_c: float
    conductivity: float
    diffusivity_m2s: float


@dataclass(frozen=True, slots=True)
class Fluid:
    """Temperatures of the fluid for which is sized.

    Parameters
    ----------
    coldest_c, warmest_c
        Entering the heat pump at the design hour of heating, of cooling [C].
    heating_drop_k, cooling_rise_k
        Change across the heat pump [K].
    mixture
        Water or antifreeze, as in ``flow/fluids.toml``; empty: not read.
    """

    coldest_c: float
    warmest_c: float
    heating_drop_k: float
    cooling_rise_k: float
    mixture: str = ""


@dataclass(frozen=True, slots=True)
class BoreLoop:
    """U-bend and grout of a bore.

    Parameters
    ----------
    pipe_diameter_m
        Outer diameter of the pipe [m].
    dimension_ratio
        Outer diameter over wall thickness [-].
    pipe_conductivity
        [W/(m K)].
    film_resistance
        Between fluid and pipe wall, of one pipe [m K/W].
    shank_m
        Distance between the centres of the two pipes [m].
    grout
        Conductivity of the grout [W/(m K)].
    top_m
        Depth at which the exchanging part begins: where the header lies [m].
    """

    pipe_diameter_m: float
    dimension_ratio: float
    pipe_conductivity: float
    film_resistance: float
    shank_m: float
    grout: float
    top_m: float


@dataclass(frozen=True, slots=True)
class Energy:
    """All of it, where a site file states loads and ground.

    ``years`` is the time for which is sized.
    """

    loads: Loads
    earth: Earth
    fluid: Fluid
    loop: BoreLoop
    years: float


@dataclass(frozen=True, slots=True)
class GroundYear:
    """Frost, and the year at the surface of the ground; None: not stated.

    Parameters
    ----------
    frost_m
        Depth to which the ground freezes [m].
    temperature_c
        Mean temperature of the year [C].
    swing_k
        Half of the difference between the warmest and the coldest day at the surface [K].
    coldest_day
        Day of the year on which the surface is coldest, 1 to 365.
    diffusivity_m2s
        [m2/s].
    """

    frost_m: float | None = None
    temperature_c: float | None = None
    swing_k: float | None = None
    coldest_day: float | None = None
    diffusivity_m2s: float | None = None
