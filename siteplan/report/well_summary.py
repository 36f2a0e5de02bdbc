"""Water and heat around a well pair in figures, for the summary."""

from __future__ import annotations

import math
from typing import Any

from siteplan.demand.well_levels import DAY_S, Neighbour, Spread
from siteplan.demand.wells import WellStudy
from siteplan.heat_balance import MONTHS
from siteplan.report.rounding import down, near, up
from siteplan.units.lengths import FLOWS


def wells_summary(study: WellStudy | None) -> dict[str, Any] | None:
    """Levels, breakthrough, drift and pump of a well pair; None of other loop types."""
    if study is None:
        return None
    levels, seasons, lift = study.levels, study.seasons, study.lift
    years = [study.drift_k[at : at + MONTHS] for at in range(0, len(study.drift_k), MONTHS)]
    return {
        "apart_m": down(study.pair.separation_m),
        "full_flow_h": near(seasons.hours),
        "mean_flow_l_s": near(seasons.season.mean_m3s / FLOWS["l/s"]),
        "groundwater_m_day": near(math.hypot(*study.pair.past) * DAY_S),
        "return_down_flow_m": near(study.down_m),
        "drawdown_m": up(levels.supply_m),
        "rise_m": up(levels.back_m),
        "rise_reserve_m": up(levels.reserve_m),
        "line_drawdown_m": up(levels.line_fall_m),
        "line_rise_m": up(levels.line_rise_m),
        "neighbours": [_neighbour(each) for each in levels.neighbours],
        "breakthrough_still_days": _days(study.still_s),
        "breakthrough_days": _days(study.full_s),
        "breakthrough_seasons_days": _days(study.season_s),
        "share_returned": near(study.share),
        "drift_k": [near(max(year, key=abs)) for year in years],
        "coldest_leaving_c": _known(study.coldest_leaving_c),
        "spread": [_spread(each) for each in study.spreads],
        "pump": None
        if lift is None
        else {
            "level_m": up(lift.level_m),
            "friction_m": up(lift.friction_m),
            "head_m": up(lift.head_m),
            "power_w": up(lift.power_w),
        },
    }


def _neighbour(each: Neighbour) -> dict[str, Any]:
    return {
        "id": each.id,
        "distance_m": down(each.distance_m),
        "drawdown_m": up(each.drawdown_m),
        "rise_m": up(each.rise_m),
        "water_m": None if each.water_m is None else down(each.water_m),
        "reached": each.reached,
    }


def _spread(each: Spread) -> dict[str, Any]:
    areas = {"plume_m2": up(each.plume.area), "capture_m2": up(each.capture.area)}
    return {"years": each.years} | areas


def _days(seconds: float) -> float | None:
    return None if math.isinf(seconds) else down(seconds / DAY_S)


def _known(value: float | None) -> float | None:
    return None if value is None else near(value)
