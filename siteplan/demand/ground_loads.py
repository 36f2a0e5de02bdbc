"""Heat flow between exchanger and ground: of the design hours, the hardest month, the year."""

from __future__ import annotations

from typing import Literal

from siteplan.demand.bore_length import Pulses
from siteplan.demand.model import Line
from siteplan.site.energy import Earth, Energy
from siteplan.units.heat import format_conductivity, format_diffusivity, format_energy
from siteplan.units.lengths import format_power
from siteplan.units.model import UnitSystem

Direction = Literal["heating", "cooling"]

BTU_PER_WATT_HOUR = 3.412
HOURS_A_YEAR = 8760.0
HOURS_A_MONTH = 730.0


def ground_share(energy: Energy, direction: Direction, *, year: bool = False) -> float:
    """Share of a load that flows between exchanger and ground [-].

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
    """In which directions the exchanger has to be sized."""
    winter: tuple[Direction, ...] = ("heating",) if energy.loads.winter_w else ()
    summer: tuple[Direction, ...] = ("cooling",) if energy.loads.cooling_w else ()
    return winter + summer


def pulses_of(energy: Energy, direction: Direction) -> Pulses:
    """Heat flows of the design hours, the hardest month and the year, one direction positive [W].

    The month and the year follow from the design load and its equivalent full-load hours; the
    year is what is drawn in the direction sized for, less what is given back in the other. What
    the loop carries beside the heating is drawn in winter with it.
    """
    loads = energy.loads
    share = {way: ground_share(energy, way, year=True) for way in ("heating", "cooling")}
    house = loads.heating_w * share["heating"] * loads.heating_hours
    beside = [(side.ground_share * side.year_wh, side.hardest) for side in loads.sides]
    drawn = house + sum(year for year, _ in beside)
    given = loads.cooling_w * share["cooling"] * loads.cooling_hours
    if direction == "heating":
        peak = loads.heating_w * ground_share(energy, "heating")
        peak += sum(side.ground_share * side.power_w for side in loads.sides)
        hardest = house * loads.heating_month + sum(year * part for year, part in beside)
        net = drawn - given
    else:
        peak = loads.cooling_w * ground_share(energy, "cooling")
        hardest, net = given * loads.cooling_month, given - drawn
    # a month's mean above the design load is a fault of rough full-load hours, not a flow that can
    # last
    return Pulses(peak, min(hardest / HOURS_A_MONTH, peak), net / HOURS_A_YEAR)


def earth_lines(earth: Earth, unit: UnitSystem) -> tuple[Line, ...]:
    """What the ground conducts, line by line."""
    conductivity = format_conductivity(earth.conductivity, unit)
    diffusivity = format_diffusivity(earth.diffusivity_m2s, unit)
    return (
        Line("conductivity", conductivity, earth.basis),
        Line("diffusivity", diffusivity, earth.diffusivity_basis),
    )


def load_lines(energy: Energy, direction: Direction, unit: UnitSystem) -> tuple[Line, ...]:
    """From the house's load to the heat flows in the ground, line by line."""
    loads, pulses = energy.loads, pulses_of(energy, direction)
    lines = []
    if direction == "heating":
        if loads.heating_w:
            basis = f"{loads.heating_hours:,.0f} full-load hours, COP {loads.cop:.2f}"
            lines.append(Line("design heating load", format_power(loads.heating_w, unit), basis))
        for side in loads.sides:
            through = "no heat pump" if side.cop is None else f"COP {side.cop:.1f}"
            lines.append(
                Line(side.name, format_power(side.power_w, unit), f"{side.basis}; {through}")
            )
    else:
        basis = f"{loads.cooling_hours:,.0f} full-load hours, EER {loads.eer:.1f}"
        lines.append(Line("design cooling load", format_power(loads.cooling_w, unit), basis))
    share = "(COP - 1)/COP" if direction == "heating" else "(EER + 3.412)/EER"
    year = format_energy(abs(pulses.year_w) * HOURS_A_YEAR, unit)
    verb = "drawn" if direction == "heating" else "given"
    net = f"{verb} less what comes back" if pulses.year_w >= 0 else "more comes back"
    return (
        *lines,
        Line("ground, design hours", format_power(pulses.peak_w, unit), f"load x {share}"),
        Line("ground, hardest month", format_power(pulses.month_w, unit), "mean flow"),
        Line("ground, net of a year", year, net),
    )
