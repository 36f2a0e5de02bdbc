"""How much water a return well takes, by the yield and the level that the site file states."""

from __future__ import annotations

from siteplan.demand.wells import WellStudy
from siteplan.findings.model import Reason, reason
from siteplan.layout.counting import ROUNDING_SLACK
from siteplan.site.model import Site


def takes_back(site: Site, study: WellStudy, times: float) -> tuple[Reason, bool | None]:
    """What a return well does with so many times the flow, and whether it takes it.

    None: neither what a well gives nor the level at rest is stated.
    """
    options = site.exchanger.open
    gives, level = options.yield_m3s, options.level_m
    rise, flow = times * study.levels.back_m, times * study.seasons.flow_m3s
    if gives is not None and gives < flow * (1 - ROUNDING_SLACK):
        return reason("yield-below-reserve", yield_m3s=gives, reserve_m3s=flow), False
    if level is not None:
        over = rise >= level
        code = "rise-above-ground" if over else "rise-below-ground"
        return reason(code, rise_m=rise, level_m=level, reserve_m3s=flow), not over
    if gives is not None:
        return reason("yield-above-reserve", yield_m3s=gives, reserve_m3s=flow), True
    return reason("return-unknown", reserve_m3s=flow), None
