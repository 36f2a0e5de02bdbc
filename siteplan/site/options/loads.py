"""Loads of a site file: the house's heating and cooling, and what the loop carries beside."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from siteplan.reading import Table
from siteplan.site.energy import Earth, Fluid, Loads, Melting, SideLoad
from siteplan.site.model import Feature
from siteplan.site.options.declared import declared
from siteplan.site.options.read import MONTHS, Read, require
from siteplan.units.heat import format_temperature
from siteplan.vocabulary.kinds import kinds

HOURS: Final = 8760.0
WATER_HEAT: Final = 4.186e6 / 3600
"""Heat of a cubic metre of water for a kelvin: 1,000 kg/m3 x 4.186 kJ/(kg K) [Wh/(m3 K)]."""
MELTS_C: Final = 5.0
"""Coldest fluid that may melt snow without a heat pump; common practice, no source [C]."""

NAMED: Final = ("heating", "cooling", "hot_water", "radiant_floor", "snow_melt")
"""Keys of [loads] of which one at least must be there."""
ByTemperature = float | tuple[tuple[float, float], ...]


def read_loads(given: Read, fluid: Fluid, earth: Earth) -> Loads:
    """Loads of a site file's [loads] table.

    Parameters
    ----------
    given
        The table.
    fluid, earth
        At which temperatures the heat pump works.
    """
    if not any(_there(given, name) for name in NAMED):
        given.fault("", "has neither heating nor cooling.", 'Add heating = "36 MBH".')
    cop, cop_year = _performance(given["cop"], fluid.coldest_c, earth)
    eer, eer_year = _performance(given["eer"], fluid.warmest_c, earth)
    heating_hours, heating_month = _year(given, "heating")
    cooling_hours, cooling_month = _year(given, "cooling")
    return Loads(
        heating_w=given["heating"] or 0.0,
        cooling_w=given["cooling"] or 0.0,
        heating_hours=heating_hours,
        cooling_hours=cooling_hours,
        cop=cop,
        eer=eer,
        heating_month=heating_month,
        cooling_month=cooling_month,
        cop_year=cop_year,
        eer_year=eer_year,
        sides=(*_floor(given["radiant_floor"], heating_month), *_hot_water(given["hot_water"])),
        melting=_melting(given["snow_melt"]),
        months=any(given.says(f"{key}_months") for key in ("heating", "cooling")),
    )


def _there(given: Read, name: str) -> bool:
    """Whether a load is stated: one of 0 is none, as if it were left out."""
    return given.says(name) and given[name] != 0.0


def _year(given: Read, key: str) -> tuple[float, float]:
    """Equivalent full-load hours of a load, and the share of its hardest month."""
    if given.says(f"{key}_months"):
        return _months(given, key)
    if _there(given, key):
        require(given, declared(f"loads.{key}_hours"))
        if given[f"{key}_hours"] == 0.0:
            mend = f"Give the full-load hours of a year, or leave out {key}."
            given.fault(f"{key}_hours", f"is 0 beside {key}: a load that is never there.", mend)
    return given[f"{key}_hours"] or 0.0, given[f"{key}_month"]


def _months(given: Read, key: str) -> tuple[float, float]:
    """The same of twelve energies."""
    name = f"{key}_months"
    for other in (f"{key}_hours", f"{key}_month"):
        if given.says(other):
            given.fault(other, f"is of no use with {name}.", f"Leave out {other} or {name}.")
    energies, power = given[name], given[key]
    if energies is not None and not given.says(key):
        given.fault(key, "is missing.", f"Add the design load beside {name}.")
    if energies is not None and power == 0.0:
        given.fault(name, f"is of no use with {key} = 0.", f"Leave out {name}, or give {key}.")
    if energies is None or not power:
        return 0.0, 1.0
    return min(sum(energies) / power, HOURS), max(energies) / sum(energies)


def _performance(given: ByTemperature, design: float, earth: Earth) -> tuple[float, float | None]:
    """COP or EER at the design hour and over the year; of a table by entering temperature."""
    if not isinstance(given, tuple):
        return given, None
    at, values = np.array(given).T
    middle = (design + earth.temperature_c) / 2
    hour, year = (float(np.interp(entering, at, values)) for entering in (design, middle))
    return hour, year


def _floor(given: Read | None, month: float) -> tuple[SideLoad, ...]:
    """Radiant floor: heating with less hot water, so at a better COP of its own."""
    if given is None:
        return ()
    power, hours = given["heating"] or 0.0, given["hours"] or 0.0
    basis = f"{hours:,.0f} h a year"
    return (SideLoad("radiant floor", power, power * hours, month, given["cop"], basis),)


def _hot_water(given: Read | None) -> tuple[SideLoad, ...]:
    """Hot water, spread evenly over the day and the year."""
    if given is None:
        return ()
    people = given["people"] or 1
    power = people * given["each"] * 3600 * WATER_HEAT * given["rise"]
    basis = f"{people} people" if people > 1 else "one person"
    return (SideLoad("hot water", power, power * HOURS, 1 / MONTHS, given["cop"], basis),)


def _melting(given: Read | None) -> Melting | None:
    if given is None:
        return None
    return Melting(
        feature=given["of"] or "",
        flux_w_m2=given["flux"] or 0.0,
        hours=given["hours"] or 0.0,
        hardest=given["month"],
        # a faulty one is not left out: one fault shall not bring another
        cop=(given["cop"] or 0.0) if given.says("cop") else None,
    )


def with_melted_area(
    loads: Loads, features: tuple[Feature, ...], root: Table, coldest_c: float
) -> Loads:
    """Loads with the snow melting of a feature's area among those the loop carries beside.

    ``coldest_c``: fluid that comes from the ground in winter [C].
    """
    melting = loads.melting
    if melting is None or not melting.feature:  # a feature that is not named is a fault already
        return loads
    unit = root.unit
    paved = {feature.id: _paved_area(feature) for feature in features if _paved_area(feature) > 0}
    if melting.feature not in paved:
        root.fault(
            "[loads.snow_melt], of",
            f"{melting.feature!r} is no paved feature of this site that has an area.",
            f"Name one of: {', '.join(paved) or 'none here; draw the walk or drive as an area'}.",
        )
        return loads
    if melting.cop is None and coldest_c < MELTS_C:
        root.fault(
            "[loads.snow_melt]",
            f"is fed by the loop's own fluid, of {format_temperature(coldest_c, unit)} in winter "
            "([fluid] coldest).",
            "Give its cop, with a heat pump; or a fluid of "
            f"{format_temperature(MELTS_C, unit)} and more.",
        )
        return loads
    power = melting.flux_w_m2 * paved[melting.feature]
    side = SideLoad(
        "snow melt",
        power,
        power * melting.hours,
        melting.hardest,
        melting.cop,
        f"{melting.feature}, {melting.hours:,.0f} h a year",
    )
    return replace(loads, sides=(*loads.sides, side), melting=None)


def _paved_area(feature: Feature) -> float:
    """Area of a drive or walk, of a line with its width; 0 for anything else [m2]."""
    if kinds()[feature.kind].group != "paving":
        return 0.0
    shape = feature.shape
    return float(shape.area or shape.buffer(feature.width_m / 2).area)
