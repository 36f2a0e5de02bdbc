"""What heat an exchanger has to move, and through what: frozen values in SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.site.frost import Freezing


@dataclass(frozen=True, slots=True)
class SideLoad:
    """A load that the loop carries in winter beside the heating of the house.

    Parameters
    ----------
    name
        In words: hot water, radiant floor, snow melt.
    power_w
        What it adds in the design hour [W].
    year_wh
        Heat of a year [Wh].
    hardest
        Share of it that falls into the hardest month [-].
    cop
        Coefficient of performance of the heat pump at it; None: the fluid goes there itself.
    basis
        What it was worked out from, in words.
    """

    name: str
    power_w: float
    year_wh: float
    hardest: float
    cop: float | None
    basis: str = ""

    @property
    def ground_share(self) -> float:
        """Share of it that comes from the ground [-]."""
        return 1.0 if self.cop is None else (self.cop - 1.0) / self.cop


@dataclass(frozen=True, slots=True)
class Melting:
    """Snow and ice melted on a paved feature of the lot; its area is known with the lot.

    Parameters
    ----------
    feature
        Id of the feature.
    flux_w_m2
        Heat for a square metre [W/m2].
    hours
        Of a year [h].
    hardest
        Share of the year that falls into the hardest month [-].
    cop
        Of the heat pump at it; None: the fluid goes there itself.
    """

    feature: str
    flux_w_m2: float
    hours: float
    hardest: float
    cop: float | None


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
    cop_year, eer_year
        The same over the year, where known by entering temperature; None: as at the design hour.
    sides
        What the loop carries in winter beside.
    melting
        Snow melting whose area is not known yet.
    months
        Whether the year's energy was given month by month.
    """

    heating_w: float
    cooling_w: float
    heating_hours: float
    cooling_hours: float
    cop: float
    eer: float
    heating_month: float
    cooling_month: float
    cop_year: float | None = None
    eer_year: float | None = None
    sides: tuple[SideLoad, ...] = ()
    melting: Melting | None = None
    months: bool = False

    @property
    def winter_w(self) -> float:
        """Heating and all that the loop carries beside it in the design hour [W]."""
        return self.heating_w + sum(side.power_w for side in self.sides)


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
    basis, diffusivity_basis
        Where conductivity and diffusivity come from, in words.
    most_conductivity
        Highest of such ground, where no more is known of it than its name [W/(m K)].
    """

    temperature_c: float
    conductivity: float
    diffusivity_m2s: float
    basis: str = "as stated"
    diffusivity_basis: str = "as stated"
    most_conductivity: float | None = None


@dataclass(frozen=True, slots=True)
class Fluid:
    """Temperatures of the fluid for which is sized.

    Parameters
    ----------
    coldest_c, warmest_c
        Entering the heat pump at the design hour of heating, of cooling [C].
    heating_drop_k, cooling_rise_k
        Change across the heat pump; None: it follows from the flow [K].
    mixture
        Water or antifreeze, as in ``hydraulics/fluids.toml``; empty: not read.
    """

    coldest_c: float
    warmest_c: float
    heating_drop_k: float | None = None
    cooling_rise_k: float | None = None
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

    ``years`` is the time for which is sized, ``only`` the one direction asked about; None: both.
    """

    loads: Loads
    earth: Earth
    fluid: Fluid
    loop: BoreLoop
    years: float
    only: Literal["heating", "cooling"] | None = None


@dataclass(frozen=True, slots=True)
class GroundYear:
    """Frost, and the year at the surface of the ground; None: not stated.

    Parameters
    ----------
    frost_m
        Depth to which the ground freezes [m].
    freezing
        What that depth was calculated from; None where somebody states it.
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
    freezing: Freezing | None = None
    temperature_c: float | None = None
    swing_k: float | None = None
    coldest_day: float | None = None
    diffusivity_m2s: float | None = None
