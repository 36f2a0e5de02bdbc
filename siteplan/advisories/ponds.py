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
from siteplan.site.model import Feature, Site
from siteplan.site.pond_survey import USUAL_SLOPE
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


def pond_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Errors of yardsticks that are not kept, notes on who answers for them, what is assumed."""
    used = {coil.pond for coil in layout.of(Coil)}
    ponds = [pond for pond in site.of_kind("pond") if pond.id in used]
    if ponds:
        yield from _water(site, layout)
        yield from _surface(site, ponds)
        yield from _assumed(ponds)


def _water(site: Site, layout: Layout) -> Iterator[Finding]:
    """That coils lie under little water."""
    shallow = min(layout.of(Coil), key=lambda coil: (coil.water_depth_m, coil.id))
    if shallow.water_depth_m >= LEAST_WATER_M - TOLERANCE:
        return
    by = site.exchanger.pond.shallow_by
    values: dict[str, Value] = _answered(by, "water-too-shallow-briefly")
    code = "water-shallow-agreed" if by else "water-too-shallow"
    measured = shallow.water_depth_m
    yield Finding(code, shallow.pond, measured, LEAST_WATER_M, WATER_RULE, values=values)


def _surface(site: Site, ponds: list[Feature]) -> Iterator[Finding]:
    """That a pond is small at its lowest level: by itself, and for the greater load."""
    by, subject = site.exchanger.pond.small_by, ponds[0].id
    surface = sum(_low_surface(pond) for pond in ponds)
    tons = _load(site) / TON
    values: dict[str, Value] = {
        "surface_m2": surface,
        "tons": round(tons, 1),
        **_answered(by, "pond-too-small-briefly"),
    }
    if surface < LEAST_SURFACE_M2 - TOLERANCE:
        code = "pond-half-acre-agreed" if by else "pond-under-half-acre"
        yield Finding(code, subject, rule=RULE, values=values)
    if surface < tons * LEAST_POND_M2 - TOLERANCE:
        code = "pond-small-agreed" if by else "pond-too-small"
        yield Finding(code, subject, rule=RULE, values={**values, "least_m2": LEAST_POND_M2})


def _answered(by: str, briefly: str) -> dict[str, Value]:
    return {"by": by} if by else {"briefly": reason(briefly)}


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


def _assumed(ponds: list[Feature]) -> Iterator[Finding]:
    """What nobody says of the sides of a pond that has one depth."""
    for pond in ponds:
        surveyed = pond.contours or pond.survey.soundings
        if not surveyed and pond.survey.side_slope is None:
            yield Finding("pond-sides-assumed", pond.id, values={"slope": USUAL_SLOPE})
