"""A well pair figure by figure: aquifer, levels, pump, breakthrough, drift."""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.demand.well_levels import RESERVE
from siteplan.demand.wells import PUMP_HEAD_M, WellStudy
from siteplan.findings.model import Reason, reason
from siteplan.site.model import Site


def well_figures(site: Site, study: WellStudy) -> tuple[Reason, ...]:
    """What is known of a well pair, each figure a reason with a name and a basis."""
    return (
        *_aquifer(site, study),
        *_water(study),
        *_levels(study),
        *_lift(site, study),
        *_heat(study),
    )


def _aquifer(site: Site, study: WellStudy) -> Iterator[Reason]:
    aquifer = site.exchanger.open.aquifer

    def of(*keys: str) -> Reason:
        return reason("assumed-figure" if set(keys) & set(aquifer.assumed) else "stated-figure")

    yield reason(
        "figure-transmissivity",
        transmissivity=aquifer.transmissivity,
        of=of("hydraulic_conductivity"),
    )
    yield reason("figure-aquifer-thickness", thickness_m=aquifer.thickness_m, of=of("thickness"))
    yield reason("figure-storativity", storativity=aquifer.storativity, of=of("storativity"))
    yield reason("figure-porosity", porosity=aquifer.porosity, of=of("porosity"))
    speed = math.hypot(*study.pair.past)
    if speed:
        angle = aquifer.direction_deg
        yield reason("figure-groundwater", speed=speed, gradient=aquifer.gradient, angle=angle)
        if not study.outfall:
            yield reason("figure-return-down", down_m=study.down_m)
    else:
        yield reason("figure-groundwater-still", of=of("gradient"))
    if study.outfall:
        yield reason("figure-outfall", water=study.outfall)
        return
    yield reason("figure-aquifer-heat", share=study.pair.delay)


def _water(study: WellStudy) -> Iterator[Reason]:
    seasons = study.seasons
    of = reason("assumed-figure" if seasons.assumed else "from-loads")
    yield reason("figure-full-hours", hours=seasons.hours, of=of)
    yield reason("figure-mean-flow", flow_m3s=seasons.season.mean_m3s)


def _levels(study: WellStudy) -> Iterator[Reason]:
    levels = study.levels
    alone = bool(study.outfall)
    drawdown = "figure-drawdown-alone" if alone else "figure-drawdown"
    yield reason(drawdown, fall_m=levels.supply_m)
    if not study.outfall:
        yield reason("figure-rise", rise_m=levels.back_m)
        yield reason("figure-rise-reserve", rise_m=levels.reserve_m, share=RESERVE)
    line_fall = "figure-line-fall-alone" if alone else "figure-line-fall"
    yield reason(line_fall, fall_m=levels.line_fall_m)
    if not study.outfall:
        yield reason("figure-line-rise", rise_m=levels.line_rise_m)


def _lift(site: Site, study: WellStudy) -> Iterator[Reason]:
    lift, level = study.lift, site.exchanger.open.level_m
    if lift is None or level is None:
        return
    yield reason("figure-static-level", level_m=level)
    yield reason("figure-pumped-level", level_m=lift.level_m)
    yield reason("figure-well-friction", head_m=lift.friction_m)
    yield reason("figure-pump-head", head_m=lift.head_m, pump_m=PUMP_HEAD_M)
    efficiency = site.exchanger.open.pump_efficiency
    yield reason("figure-pump-power", power_w=lift.power_w, efficiency=efficiency)


def _heat(study: WellStudy) -> Iterator[Reason]:
    years, leaving = float(study.seasons.years), study.coldest_leaving_c
    if study.outfall:
        if leaving is not None:
            yield reason("figure-coldest-leaving", leaving_c=leaving)
        return
    yield reason("figure-wells-apart", apart_m=study.pair.separation_m)
    yield reason("figure-breakthrough-still", time_s=study.still_s)
    for code, time_s in (
        ("figure-breakthrough", study.full_s), ("figure-breakthrough-seasons", study.season_s),
    ):  # fmt: skip
        never = math.isinf(time_s)
        told = reason("not-within", years=years) if never else reason("after", time_s=time_s)
        yield reason(code, told=told)
    yield reason("figure-share-returned", share=study.share, years=years)
    drift = study.greatest_k
    warmer = reason("warmer" if drift > 0 else "colder")
    yield reason("figure-drift", drift_k=abs(drift), warmer=warmer, years=years)
    if leaving is not None:
        yield reason("figure-coldest-leaving", leaving_c=leaving)
