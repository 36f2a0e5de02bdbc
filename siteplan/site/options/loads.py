"""Loads of a site file: the house's heating and cooling, and what the loop carries beside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np

from siteplan.reading import Table
from siteplan.site.energy import Earth, Fluid, Loads, Melting, SideLoad
from siteplan.site.model import Feature
from siteplan.units.heat import (
    format_temperature,
    parse_difference,
    parse_energy,
    parse_flux,
    parse_temperature,
)
from siteplan.units.lengths import UnitError, parse_flow
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.kinds import kinds

HOURS: Final = 8760.0
MONTHS: Final = 12
WATER_HEAT: Final = 4.186e6 / 3600
"""Heat of a cubic metre of water for a kelvin: 1,000 kg/m3 x 4.186 kJ/(kg K) [Wh/(m3 K)]."""
BEST_COP, BEST_EER = 10.0, 60.0
MELTS_C: Final = 5.0
"""Coldest fluid that may melt snow without a heat pump; common practice, no source [C]."""

TABLE_ROWS: Final = {"cop": ((0.0, 3.4), (10.0, 4.2)), "eer": ((15.0, 21), (32.0, 14))}
"""Two rows of a table by entering temperature [C], as an example."""

Usual = Mapping[str, Mapping[str, Any]]


def read_loads(table: Table, usual: Usual, fluid: Fluid, earth: Earth) -> Loads:
    """Loads of a site file's [loads] table.

    Parameters
    ----------
    table
        The table.
    usual
        What is taken where it is silent.
    fluid, earth
        At which temperatures the heat pump works.
    """
    named = ("heating", "cooling", "hot_water", "radiant_floor", "snow_melt")
    if not any(table.has(name) for name in named):
        table.fault("", "has neither heating nor cooling.", 'Add heating = "36 MBH".')
    cop, cop_year = _performance(
        table, "cop", usual["loads"]["cop"], BEST_COP, entering=(fluid.coldest_c, earth)
    )
    eer, eer_year = _performance(
        table, "eer", usual["loads"]["eer"], BEST_EER, entering=(fluid.warmest_c, earth)
    )
    heating_hours, heating_month = _year(table, "heating", usual["loads"]["heating_month"])
    cooling_hours, cooling_month = _year(table, "cooling", usual["loads"]["cooling_month"])
    loads = Loads(
        heating_w=table.power("heating") or 0.0,
        cooling_w=table.power("cooling") or 0.0,
        heating_hours=heating_hours,
        cooling_hours=cooling_hours,
        cop=cop,
        eer=eer,
        heating_month=heating_month,
        cooling_month=cooling_month,
        cop_year=cop_year,
        eer_year=eer_year,
        sides=(*_floor(table, usual, heating_month), *_hot_water(table, usual)),
        melting=_melting(table, usual),
        months=any(table.has(f"{key}_months") for key in ("heating", "cooling")),
    )
    table.has("years")
    table.finish()
    return loads


def _year(table: Table, key: str, usual_share: float) -> tuple[float, float]:
    """Equivalent full-load hours of a load, and the share of its hardest month."""
    if table.has(f"{key}_months"):
        return _months(table, key)
    hours = table.number(f"{key}_hours", 0.0, least=0, most=HOURS)
    share = table.number(f"{key}_month", usual_share, least=1 / MONTHS, most=1)
    if table.has(key):
        table.required(f"{key}_hours", f"{key}_hours = 1800 (equivalent full-load hours)")
    return hours, share


def _months(table: Table, key: str) -> tuple[float, float]:
    name = f"{key}_months"
    for other in (f"{key}_hours", f"{key}_month"):
        if table.has(other):
            table.fault(other, f"is of no use with {name}.", f"Leave out {other} or {name}.")
    given, power = table.raw(name), table.power(key)
    listed = list(given) if isinstance(given, list) else []
    try:
        energies = [parse_energy(value) for value in listed]
    except UnitError as error:
        table.fault(name, str(error), "")
        return 0.0, 1.0
    if len(energies) != MONTHS or min(energies) < 0 or sum(energies) == 0:
        table.fault(
            name,
            f"has {len(energies)} energies; twelve are needed, none below zero.",
            f'Write {name} = ["900 kWh", ...], January first.',
        )
        return 0.0, 1.0
    if power is None:
        table.fault(key, "is missing.", f"Add the design load beside {name}.")
        return 0.0, 1.0
    return min(sum(energies) / power, HOURS), max(energies) / sum(energies)


def _performance(
    table: Table, key: str, usual: float, best: float, *, entering: tuple[float, Earth]
) -> tuple[float, float | None]:
    """COP or EER at the design hour and over the year; of a table by entering temperature."""
    least = 1.01
    if not isinstance(table.raw(key), dict):
        return table.number(key, usual, least=least, most=best), None
    rows = table.table(key)
    first, second = (_example(*row, table.unit) for row in TABLE_ROWS[key])
    known: list[tuple[float, float]] = []
    for text in rows.values:
        value = rows.number(text, usual, least=least, most=best)
        try:
            known.append((parse_temperature(text), value))
        except UnitError as error:
            rows.fault(text, str(error), f"Write it as {{ {first}, {second} }}.")
    if len(known) < 2:
        rows.fault("", "has fewer than two temperatures.", f"Add another, as {second}.")
        return usual, None
    known.sort()
    at, values = np.array(known).T
    design, earth = entering
    middle = (design + earth.temperature_c) / 2
    return tuple(float(np.interp(one, at, values)) for one in (design, middle))  # type: ignore[return-value]


def _example(entering_c: float, value: float, unit: UnitSystem) -> str:
    """A row of a table by entering temperature, as a site file has it."""
    return f'"{unit.temperature.of(entering_c):.0f} {unit.temperature.label}" = {value:g}'


def _floor(table: Table, usual: Usual, month: float) -> tuple[SideLoad, ...]:
    """Radiant floor: heating with less hot water, so at a better COP of its own."""
    if not table.has("radiant_floor"):
        return ()
    floor = table.table("radiant_floor")
    floor.required("heating", 'heating = "20 MBH"')
    floor.required("hours", "hours = 1800 (equivalent full-load hours)")
    power = floor.power("heating") or 0.0
    hours = floor.number("hours", 0.0, least=0, most=HOURS)
    cop = floor.number("cop", usual["radiant_floor"]["cop"], least=1.01, most=BEST_COP)
    floor.finish()
    return (SideLoad("radiant floor", power, power * hours, month, cop, f"{hours:,.0f} h a year"),)


def _hot_water(table: Table, usual: Usual) -> tuple[SideLoad, ...]:
    """Hot water, spread evenly over the day and the year."""
    if not table.has("hot_water"):
        return ()
    water = table.table("hot_water")
    water.required("people", "people = 4")
    people = water.count("people", 1)
    each = water.flow("each") or parse_flow(usual["hot_water"]["each"])
    rise = _positive(water, "rise", parse_difference, parse_difference(usual["hot_water"]["rise"]))
    cop = water.number("cop", usual["hot_water"]["cop"], least=1.01, most=BEST_COP)
    water.finish()
    power = people * each * 3600 * WATER_HEAT * rise
    words = f"{people} people" if people > 1 else "one person"
    return (SideLoad("hot water", power, power * HOURS, 1 / MONTHS, cop, words),)


def _melting(table: Table, usual: Usual) -> Melting | None:
    if not table.has("snow_melt"):
        return None
    melt = table.table("snow_melt")
    melt.required("of", 'of = "drive" (id of a paved feature)')
    melt.required("flux", 'flux = "125 Btu/h.ft2"')
    melt.required("hours", "hours = 150 (of a year)")
    found = Melting(
        feature=melt.text("of"),
        flux_w_m2=_positive(melt, "flux", parse_flux, 0.0),
        hours=melt.number("hours", 0.0, least=0, most=HOURS),
        hardest=melt.number("month", usual["snow_melt"]["month"], least=1 / MONTHS, most=1),
        cop=melt.number("cop", 0.0, least=1.01, most=BEST_COP) if melt.has("cop") else None,
    )
    melt.finish()
    return found


def _positive(table: Table, key: str, parse: Callable[[Any], float], default: float) -> float:
    value = table.quantity(key, parse)
    if value is not None and value <= 0:
        table.fault(key, f"{table.raw(key)!r} is not above zero.", "Correct it or leave it out.")
        return default
    return default if value is None else value


def with_melted_area(
    loads: Loads, features: tuple[Feature, ...], root: Table, coldest_c: float
) -> Loads:
    """Loads with the snow melting of a feature's area among those the loop carries beside.

    ``coldest_c``: fluid that comes from the ground in winter [C].
    """
    melting = loads.melting
    if melting is None:
        return loads
    unit = root.unit
    paved = {one.id: _paved_area(one) for one in features if _paved_area(one) > 0}
    if melting.feature not in paved:
        root.fault(
            "[loads], [snow_melt], of",
            f"{melting.feature!r} is no paved feature of this site that has an area.",
            f"Name one of: {', '.join(paved) or 'none here; draw the walk or drive as an area'}.",
        )
        return loads
    if melting.cop is None and coldest_c < MELTS_C:
        root.fault(
            "[loads], [snow_melt]",
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
