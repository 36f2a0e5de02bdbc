"""Heat flow between exchanger and ground: of the design hours, the hardest month, the year."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.bore_length import Pulses
from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import MONTHS, Direction, bell, design_heat, ground_share
from siteplan.site.energy import Earth, Energy, Loads

Floats = NDArray[np.float64]

HOURS_A_YEAR = 8760.0
HOURS_A_MONTH = 730.0


SEASON_YEARS = 0.5
"""From the first start to the hardest month of the first season; common practice, no source."""


def pulses_of(energy: Energy, direction: Direction, *, first: bool = False) -> Pulses:
    """Heat flows of the design hours, the hardest month and the year, one direction positive [W].

    The month and the year follow from the design load and its equivalent full-load hours; the
    year is what is drawn in the direction sized for, less what is given back in the other. What
    the loop carries beside the heating is drawn in winter with it.

    Parameters
    ----------
    energy
        Loads.
    direction
        Heating or cooling.
    first
        Of the first season: nothing has come back yet. Half of what a year draws is drawn in the
        half year before the hardest month, so that its mean is that of the year's.
    """
    loads = energy.loads
    share = {way: ground_share(energy, way, year=True) for way in ("heating", "cooling")}
    house = loads.heating_w * share["heating"] * loads.heating_hours
    beside = [(side.ground_share * side.year_wh, side.hardest) for side in loads.sides]
    drawn = house + sum(year for year, _ in beside)
    given = loads.cooling_w * share["cooling"] * loads.cooling_hours
    peak = design_heat(energy, direction)
    back = 0.0 if first else 1.0
    if direction == "heating":
        hardest = house * loads.heating_month + sum(year * part for year, part in beside)
        net = drawn - back * given
    else:
        hardest, net = given * loads.cooling_month, given - back * drawn
    return Pulses(peak, min(hardest / HOURS_A_MONTH, peak), net / HOURS_A_YEAR)


def month_flows(energy: Energy, direction: Direction, *, first: bool = False) -> Floats:
    """Mean flow of the months of a year around the hardest, month 6, one direction positive [W].

    Parameters
    ----------
    energy
        Loads.
    direction
        Heating or cooling.
    first
        Of the first season: nothing comes in from the other direction.
    """
    drawn, given = month_heats(energy)
    own, other = (drawn, given) if direction == "heating" else (given, drawn)
    # half a year apart: the one season's hardest month is the other's least
    net = own - (0.0 if first else 1.0) * np.roll(other, MONTHS // 2)
    return np.asarray(np.minimum(net / HOURS_A_MONTH, design_heat(energy, direction)))


def month_heats(energy: Energy) -> tuple[Floats, Floats]:
    """Heat drawn and given in the months of a year, each around its own hardest, month 6 [Wh]."""
    loads = energy.loads
    share = {way: ground_share(energy, way, year=True) for way in ("heating", "cooling")}
    house = loads.heating_w * share["heating"] * loads.heating_hours
    drawn = house * bell(loads.heating_month)
    for side in loads.sides:
        drawn = drawn + side.ground_share * side.year_wh * bell(side.hardest)
    given = loads.cooling_w * share["cooling"] * loads.cooling_hours * bell(loads.cooling_month)
    return drawn, given


def earth_figures(earth: Earth) -> tuple[Reason, ...]:
    """What the ground conducts, figure by figure."""
    return (
        reason("figure-conductivity", conductivity=earth.conductivity, of=earth.basis),
        reason(
            "figure-diffusivity",
            diffusivity_m2s=earth.diffusivity_m2s,
            of=earth.diffusivity_basis,
        ),
    )


def load_figures(energy: Energy, direction: Direction) -> tuple[Reason, ...]:
    """From the house's load to the heat flows in the ground, figure by figure."""
    pulses, heating = pulses_of(energy, direction), direction == "heating"
    share = reason("share-of-heating" if heating else "share-of-cooling")
    net = "more-comes-back"
    if pulses.year_w >= 0:
        net = "drawn-less-return" if heating else "given-less-return"
    year_wh = abs(pulses.year_w) * HOURS_A_YEAR
    return (
        *(_heating_figures(energy.loads) if heating else _cooling_figures(energy.loads)),
        reason("figure-design-hours", power_w=pulses.peak_w, share=share),
        reason("figure-hardest-month", power_w=pulses.month_w),
        reason("figure-net-of-year", energy_wh=year_wh, net=reason(net)),
    )


def _heating_figures(loads: Loads) -> Iterator[Reason]:
    if loads.heating_w:
        hours = loads.heating_hours
        yield reason("figure-heating-load", power_w=loads.heating_w, hours=hours, cop=loads.cop)
    for side in loads.sides:
        through = reason("no-heat-pump") if side.cop is None else reason("with-cop", cop=side.cop)
        yield reason(
            "figure-other-load",
            name=side.name,
            power_w=side.power_w,
            of=side.basis,
            through=through,
        )


def _cooling_figures(loads: Loads) -> Iterator[Reason]:
    hours = loads.cooling_hours
    yield reason("figure-cooling-load", power_w=loads.cooling_w, hours=hours, eer=loads.eer)
