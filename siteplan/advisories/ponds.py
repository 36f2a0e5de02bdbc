"""What is to be said of a pond with coils: water over them, its size, what is assumed of it.

Where nothing better is known yardsticks decide: one that is not kept is an error, unless the site
file says who answers for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding, Value, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Coil
from siteplan.layout.model import Layout
from siteplan.ponds.bottom import bottom_of
from siteplan.site.model import Feature, PondOptions, Site
from siteplan.site.pond_survey import USUAL_SLOPE, WaterYear
from siteplan.units.lengths import ACRE, FOOT, TON

LEAST_WATER_M: Final = 8 * FOOT
"""Least water over coils at the lowest level: U.S. Department of Energy, Energy Saver, Geothermal
Heat Pumps: coils lie at least eight feet under the surface to prevent freezing [m]."""
WATER_RULE: Final = "U.S. Department of Energy, Energy Saver, Geothermal Heat Pumps"
LEAST_POND_M2: Final = 3_000 * FOOT**2
"""Least water surface for each ton of the greater load; common practice, no source [m2]."""
LEAST_SURFACE_M2: Final = ACRE / 2
"""Least water surface of a pond with coils; common practice, no source [m2]."""
RULE: Final = "common practice, no source"
ICE_CLEAR_M: Final = 2 * FOOT
"""Water that stays between ice and coils; common practice, no source [m]."""
STATED_K: Final = 1.0
"""By so much a temperature stated may differ from the one calculated before it is told; common
practice, no source [K]."""


def pond_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Errors of yardsticks that are not kept, notes on who answers for them, what is assumed."""
    used = {coil.pond for coil in layout.of(Coil)}
    ponds = [pond for pond in site.of_kind("pond") if pond.id in used]
    if ponds:
        yield from _water(site, layout)
        yield from _surface(site, ponds)
        yield from _assumed(ponds)
        yield from _landed(ponds, layout)
        yield from _year(site, layout)


def _water(site: Site, layout: Layout) -> Iterator[Finding]:
    """That coils lie under little water."""
    shallow = min(layout.of(Coil), key=lambda coil: (coil.water_depth_m, coil.id))
    if shallow.water_depth_m >= LEAST_WATER_M - TOLERANCE:
        return
    by, thing = site.exchanger.pond.shallow_by, site.exchanger.pond.words.short
    values: dict[str, Value] = _answered(by, "water-too-shallow-briefly", thing)
    code = "water-shallow-agreed" if by else "water-too-shallow"
    measured = shallow.water_depth_m
    yield Finding(code, shallow.pond, measured, LEAST_WATER_M, WATER_RULE, values=values)


def _surface(site: Site, ponds: list[Feature]) -> Iterator[Finding]:
    """That a pond is small at its lowest level: by itself, and for the greater load."""
    by, subject = site.exchanger.pond.small_by, ponds[0].id
    thing = site.exchanger.pond.words.short
    calculated = site.exchanger.pond.year is not None
    surface = sum(_low_surface(pond) for pond in ponds)
    tons = _load(site) / TON
    values: dict[str, Value] = {
        "surface_m2": surface,
        "tons": round(tons, 1),
        **_answered(by, "pond-too-small-briefly", thing),
    }
    if surface < LEAST_SURFACE_M2 - TOLERANCE:
        code = "pond-half-acre-agreed" if by else "pond-under-half-acre"
        code = "pond-half-acre-calculated" if calculated else code
        yield Finding(code, subject, rule=RULE, values=values)
    if surface < tons * LEAST_POND_M2 - TOLERANCE:
        code = "pond-small-agreed" if by else "pond-too-small"
        code = "pond-small-calculated" if calculated else code
        yield Finding(code, subject, rule=RULE, values={**values, "least_m2": LEAST_POND_M2})


def _answered(by: str, briefly: str, thing: str) -> dict[str, Value]:
    told: dict[str, Value] = {"by": by} if by else {"briefly": reason(briefly, thing=thing)}
    return {"thing": thing, **told}


def _low_surface(pond: Feature) -> float:
    """Water surface at the lowest level [m2]."""
    bottom = bottom_of(pond)
    return 0.0 if bottom is None else bottom.area_m2(0.0)


def _load(site: Site) -> float:
    """Greater of the building's loads, else the heat pump's capacity; 0 where neither is known."""
    energy, capacity = site.exchanger.energy, site.exchanger.capacity_w or 0.0
    if energy is None:
        return capacity
    return max(energy.loads.heating_w, energy.loads.cooling_w)


def _landed(ponds: list[Feature], layout: Layout) -> Iterator[Finding]:
    """That the place where the header comes through a shore was chosen here."""
    landings = layout.header.landings if layout.header is not None else ()
    for pond in ponds:
        if landings and not pond.survey.shore_entries:
            yield Finding("shore-entry-assumed", pond.id)


def _year(site: Site, layout: Layout) -> Iterator[Finding]:
    """What the calculated year of the water says; that there is none where coils are designed."""
    options = site.exchanger.pond
    year = options.year
    if year is None:
        yield Finding("pond-year-not-calculated", rule=RULE)
        return
    if options.weather is not None and options.weather.assumed:
        assumed = " and ".join(options.weather.assumed)
        yield Finding("weather-assumed", values={"assumed": assumed})
    yield from _ice(max(year.ice_m), year.pond, layout, options.words.short)
    yield from _stated(options, year)


def _ice(ice_m: float, pond: str, layout: Layout, thing: str) -> Iterator[Finding]:
    """That ice comes near the coils."""
    water = min(coil.water_depth_m for coil in layout.of(Coil))
    if ice_m <= water - ICE_CLEAR_M:
        return
    values: dict[str, Value] = {
        "ice_m": ice_m,
        "clear_m": ICE_CLEAR_M,
        "thing": thing,
        "briefly": reason("ice-reaches-coils-briefly", thing=thing),
    }
    yield Finding("ice-reaches-coils", pond, water, ice_m + ICE_CLEAR_M, RULE, values=values)


def _stated(options: PondOptions, year: WaterYear) -> Iterator[Finding]:
    """That water is stated milder than it is calculated."""
    thing = options.words.short
    values: dict[str, Value]
    if options.coldest_c > year.coldest_c + STATED_K:
        values = {"stated_c": options.coldest_c, "coldest_c": year.coldest_c, "thing": thing}
        yield Finding("pond-colder-than-stated", year.pond, values=values)
    if options.warmest_c < year.warmest_c - STATED_K:
        values = {"stated_c": options.warmest_c, "warmest_c": year.warmest_c, "thing": thing}
        yield Finding("pond-warmer-than-stated", year.pond, values=values)


def _assumed(ponds: list[Feature]) -> Iterator[Finding]:
    """What nobody says of the sides of a pond that has one depth."""
    for pond in ponds:
        surveyed = pond.contours or pond.survey.soundings
        if not surveyed and pond.survey.side_slope is None:
            yield Finding("pond-sides-assumed", pond.id, values={"slope": USUAL_SLOPE})
