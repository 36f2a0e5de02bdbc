"""Water and heat around a well pair: breakthrough, drift, levels, neighbours, water quality.

What freezes, runs dry or runs over is an error; for the drift somebody may answer by name.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from siteplan.advisories.outfall import outfall_remarks
from siteplan.available.prepared import PreparedLot
from siteplan.demand.calculated_water import LEAVES_C
from siteplan.demand.model import Required
from siteplan.demand.wells import (
    MOST_APART_M,
    MOST_DRIFT_K,
    WellStudy,
    separation_wished,
    study_wells,
)
from siteplan.findings.model import Finding, Value, Values, reason
from siteplan.geometry.memory import remembered
from siteplan.layout.elements import Well
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

UP_FLOW_M: Final = 1.0
"""A return well so little up the groundwater's flow is beside it [m]."""
MOST_FALL_M: Final = 1 * FOOT
"""Fall of a neighbour's level that passes without a word; common practice, no source [m]."""
LEAST_WATER_M: Final = 10 * FOOT
"""Water over the toe of a supply well while it is pumped; common practice, no source [m]."""
MOST_HARDNESS: Final = 200.0
"""Hardness that leaves scale, as calcium carbonate; common practice, no source [mg/L]."""
MOST_IRON: Final = 0.2
"""Iron that clogs wells; common practice, no source [mg/L]."""


@remembered
def study_of(lot: PreparedLot, layout: Layout, required: Required) -> WellStudy | None:
    """What is known of the well pair of a layout; None where there is none."""
    return study_wells(lot.site, layout, required.flow_m3s, lot.memory)


def well_remarks(lot: PreparedLot, layout: Layout, required: Required) -> Iterator[Finding]:
    """What is to be said of a well pair beside distances; nothing of other loop types."""
    study = study_of(lot, layout, required)
    if study is not None:
        yield from remarks_of(lot, layout, study)


def remarks_of(lot: PreparedLot, layout: Layout, study: WellStudy) -> Iterator[Finding]:
    """What a study of a well pair comes to."""
    site, wells = lot.site, {well.role: well for well in layout.of(Well)}
    if study.outfall:
        yield from outfall_remarks(lot, study)
    else:
        yield _breakthrough(study, wells["return"].id)
        yield from _drift(site, study, wells["supply"].id)
        yield from _apart(lot, study, wells["return"].id)
        yield from _return(site, study, wells["return"].id)
    yield from _supply(study, wells["supply"].id, _depth(site, wells["supply"]))
    yield from _neighbours(study)
    yield from _not_stated(site, study)
    yield from _water(site)


def _breakthrough(study: WellStudy, subject: str) -> Finding:
    speed = math.hypot(*study.pair.past)
    past = reason("groundwater-flows", speed=speed) if speed else reason("groundwater-still")
    if math.isinf(study.full_s) or math.isinf(study.season_s):
        apart: Values = {"years": float(study.seasons.years), "past": past}
        return Finding("wells-apart-for-years", subject, values=apart)
    values: Values = {"full_s": study.full_s, "season_s": study.season_s, "past": past}
    return Finding("wells-come-back", subject, values=values)


def _drift(site: Site, study: WellStudy, subject: str) -> Iterator[Finding]:
    """A supply that gets colder or warmer, and one that would freeze."""
    drift, leaving = study.greatest_k, study.coldest_leaving_c
    told: dict[str, Value] = {"drift_k": abs(drift), "years": float(study.seasons.years)}
    freezes = leaving is not None and leaving < LEAVES_C
    if abs(drift) <= MOST_DRIFT_K and not freezes:
        return
    by = site.exchanger.open.drift_by
    if by:
        told["by"] = by
        yield Finding("supply-drift-agreed", subject, values=told)
    elif freezes:
        told |= {"leaving_c": leaving, "limit_c": LEAVES_C}
        told["briefly"] = reason("supply-freezes-briefly")
        yield Finding("supply-freezes", subject, values=told)
    else:
        told["limit_k"] = MOST_DRIFT_K
        yield Finding("supply-drifts", subject, values=told)


def _apart(lot: PreparedLot, study: WellStudy, subject: str) -> Iterator[Finding]:
    """That the lot does not give the separation that the drift asks for; a return up the flow."""
    if study.down_m < -UP_FLOW_M:
        yield Finding("return-up-the-flow", subject, -study.down_m)
    if abs(study.greatest_k) <= MOST_DRIFT_K or lot.site.exchanger.open.drift_by:
        return
    flow, apart = study.seasons.flow_m3s, study.pair.separation_m
    wished = lot.memory.of(separation_wished, lot.site.exchanger, flow)
    if apart >= wished:
        return
    past = reason("down-the-flow" if math.hypot(*study.pair.past) else "in-still-water")
    values: Values = {"past": past, "limit_k": MOST_DRIFT_K}
    code = "separation-wished" if wished < MOST_APART_M else "no-separation-wished"
    yield Finding(code, subject, apart, wished, values=values)


def _depth(site: Site, well: Well) -> float:
    """Depth of a well, an existing one's as it is stated; 0 where nobody states it [m]."""
    known = next((one.well_m for one in site.features if one.id == well.existing), None)
    return well.depth_m or known or 0.0


def _supply(study: WellStudy, subject: str, depth_m: float) -> Iterator[Finding]:
    """Whether water is left in the supply well, where its depth and level are known."""
    if study.lift is None or not depth_m:
        return
    level = study.lift.level_m
    if level >= depth_m:
        briefly = reason("supply-runs-dry-briefly")
        yield Finding("supply-runs-dry", subject, level, depth_m, values={"briefly": briefly})
    elif depth_m - level < LEAST_WATER_M:
        yield Finding("supply-nearly-dry", subject, depth_m - level, LEAST_WATER_M)


def _return(site: Site, study: WellStudy, subject: str) -> Iterator[Finding]:
    """Whether the return well takes the water."""
    level, rise = site.exchanger.open.level_m, study.levels.back_m
    if level is not None and rise >= level:
        briefly = reason("return-overflows-briefly")
        yield Finding("return-overflows", subject, rise, level, values={"briefly": briefly})


def _neighbours(study: WellStudy) -> Iterator[Finding]:
    for near in study.levels.neighbours:
        if near.drawdown_m > MOST_FALL_M:
            known = near.water_m is not None
            of = reason("of-its-water", water_m=near.water_m) if known else None
            values = {"of": of or reason("water-in-it-not-known")}
            yield Finding(
                "neighbor-drawn-down", near.id, near.drawdown_m, MOST_FALL_M, values=values
            )
        if near.reached:
            years = float(study.seasons.years)
            yield Finding("neighbor-warmed-or-cooled", near.id, values={"years": years})


def _not_stated(site: Site, study: WellStudy) -> Iterator[Finding]:
    """What nobody stated of aquifer, level and seasons."""
    options = site.exchanger.open
    if options.aquifer.assumed:
        keys = tuple(key.replace("_", " ") for key in options.aquifer.assumed)
        yield Finding("aquifer-assumed", "aquifer", values={"keys": keys})
    if options.level_m is None:
        yield Finding("static-level-not-stated", "open")
    if study.seasons.assumed:
        yield Finding("seasons-assumed", "open", values={"hours": study.seasons.hours})


def _water(site: Site) -> Iterator[Finding]:
    """What the water does to heat pump and wells."""
    aquifer = site.exchanger.open.aquifer
    unknown = tuple(
        name for name in ("hardness", "iron") if getattr(aquifer, name) is None
    )  # fmt: skip
    if unknown:
        yield Finding("water-not-analysed", "aquifer", values={"keys": unknown})
    if aquifer.hardness is not None and aquifer.hardness > MOST_HARDNESS:
        values = {"hardness": aquifer.hardness, "limit": MOST_HARDNESS}
        yield Finding("water-hard", "aquifer", values=values)
    if aquifer.iron is not None and aquifer.iron > MOST_IRON:
        values = {"iron": aquifer.iron, "limit": MOST_IRON}
        yield Finding("water-with-iron", "aquifer", values=values)
