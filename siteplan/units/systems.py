"""The unit systems in which a site file is written and its sheets are read, one record each.

A further one is a further record in `UNIT_SYSTEMS`.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from siteplan.units.bulk import POUND
from siteplan.units.groundwater import PERMEABILITIES, TRANSMISSIVITIES
from siteplan.units.heat import (
    BTU_PER_HOUR_FOOT_F,
    DENSITIES,
    DIFFUSIVITIES,
    ENERGIES,
    FAHRENHEIT,
    FLUXES,
    RESISTANCE,
    SPEEDS,
)
from siteplan.units.lengths import (
    ACRE,
    BTU_PER_HOUR,
    FLOWS,
    FOOT,
    GALLON,
    HECTARE,
    INCH,
    SQUARE_FOOT,
    TON,
)
from siteplan.units.model import DrawingUnits, Measure, UnitSystem
from siteplan.units.pressures import PSI

US: Final = UnitSystem(
    name="ft",
    metres=FOOT,
    plural="feet",
    stated="international feet (0.3048 m)",
    edition="us",
    center="center",
    neighbor="neighbor",
    us_law="",
    sign="'",
    sign_decimals=1,
    rough_decimals=0,
    station=100,
    step_m=FOOT,
    remedy_step_m=FOOT,
    small=Measure("in", INCH, None),
    layer=Measure("in", INCH, 0),
    area=Measure("sq ft", SQUARE_FOOT, 0),
    land=Measure("ac", ACRE, 3),
    way=Measure("miles", 5280 * FOOT, 1),
    earth=Measure("cu yd", (3 * FOOT) ** 3, 1),
    fluid=Measure("gal", GALLON, 0),
    mass=Measure("lb", POUND, 0),
    flow=Measure("gpm", FLOWS["gpm"], 1),
    flow_of_capacity=Measure("gpm a ton", FLOWS["gpm"] / TON, None),
    power=Measure("MBH", 1000 * BTU_PER_HOUR, 1),
    capacity=Measure("ton", TON, 1, many="tons"),
    energy=Measure("MMBtu", ENERGIES["mmbtu"], 1),
    flux=Measure("Btu/hr·ft²", FLUXES["btu/h.ft2"], 1),
    speed=Measure("mph", SPEEDS["mph"], 1),
    exchange=Measure("Btu/hr·ft²·°F", FLUXES["btu/h.ft2"] / FAHRENHEIT, 1),
    pressure=Measure("psi", PSI, 0),
    temperature=Measure("°F", FAHRENHEIT, 1, zero=32.0),
    difference=Measure("°F", FAHRENHEIT, 1),
    conductivity=Measure("Btu/hr·ft·°F", BTU_PER_HOUR_FOOT_F, 2),
    diffusivity=Measure("ft²/day", DIFFUSIVITIES["ft2/day"], 2),
    resistance=Measure("hr·ft·°F/Btu", RESISTANCE, 3),
    line_power=Measure("Btu/hr·ft", BTU_PER_HOUR / FOOT, 1),
    freezing_index=Measure("°F·days", FAHRENHEIT, 0),
    density=Measure("lb/ft³", DENSITIES["lb/ft3"], 0),
    permeability=Measure("ft/day", PERMEABILITIES["ft/day"], None),
    transmissivity=Measure("ft²/day", TRANSMISSIVITIES["ft2/day"], 0),
    drawing=DrawingUnits(
        paper_unit="inch",
        paper_unit_mm=25.4,
        paper_units=12.0,
        insunits=2,
        measurement=0,
        plan_ratios=(120, 240, 360, 480, 600, 720, 1200, 2400, 3600, 4800, 6000, 12_000),
        detail_ratios=(4, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 240, 360),
        papers=("ANSI A", "ANSI B", "ANSI D", "Arch D"),
        readable=720.0,
        plan_scale="1\" = {each:g}'",
        detail_scale='{inches}" = 1\'-0"',
    ),
    detail=Measure('"', INCH, 1),
)
"""Feet, inches, Fahrenheit, gallons and Btu, as in the trade of the United States."""

METRIC: Final = UnitSystem(
    name="m",
    metres=1.0,
    plural="metres",
    stated="metres",
    edition="metric",
    center="centre",
    neighbor="neighbour",
    us_law="US practice, ",
    sign=" m",
    sign_decimals=2,
    rough_decimals=1,
    station=1000,
    step_m=0.5,
    remedy_step_m=0.25,
    small=Measure("mm", 0.001, 0),
    layer=Measure("cm", 0.01, 0, up=True),
    area=Measure("m²", 1.0, 0),
    land=Measure("ha", HECTARE, 3),
    way=Measure("km", 1000.0, 1),
    earth=Measure("m³", 1.0, 1),
    fluid=Measure("L", 1e-3, 0),
    mass=Measure("kg", 1.0, 0),
    flow=Measure("L/s", 1e-3, 2),
    flow_of_capacity=Measure("L/s a kW", 1e-6, None),
    power=Measure("kW", 1000.0, 1),
    capacity=Measure("kW", 1000.0, 1),
    energy=Measure("kWh", 1e3, 0),
    flux=Measure("W/m²", 1.0, 1),
    speed=Measure("m/s", 1.0, 1),
    exchange=Measure("W/m²·K", 1.0, 1),
    pressure=Measure("kPa", 1000.0, 0),
    temperature=Measure("°C", 1.0, 1),
    difference=Measure("K", 1.0, 1),
    conductivity=Measure("W/m·K", 1.0, 2),
    diffusivity=Measure("mm²/s", 1e-6, 2),
    resistance=Measure("m·K/W", 1.0, 3),
    line_power=Measure("W/m", 1.0, 1),
    freezing_index=Measure("°C·days", 1.0, 0),
    density=Measure("kg/m³", 1.0, 0),
    permeability=Measure("m/day", PERMEABILITIES["m/day"], None),
    transmissivity=Measure("m²/day", TRANSMISSIVITIES["m2/day"], 0),
    drawing=DrawingUnits(
        paper_unit="mm",
        paper_unit_mm=1.0,
        paper_units=1000.0,
        insunits=6,
        measurement=1,
        plan_ratios=(100, 200, 250, 500, 1000, 2000, 2500, 5000),
        detail_ratios=(5, 10, 20, 50, 100, 200, 500),
        papers=("A4", "A3", "A1"),
        readable=500.0,
        plan_scale="1:{ratio:g}",
        detail_scale="1:{ratio:g}",
    ),
)
"""Metres, degrees Celsius, litres and kilowatts."""

UNIT_SYSTEMS: Final = MappingProxyType({system.name: system for system in (US, METRIC)})
"""Systems by the name that the site file's ``units`` gives them, the usual one first."""
