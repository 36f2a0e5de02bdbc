"""The calculated year of a pond's water, figure by figure."""

from __future__ import annotations

from siteplan.findings.model import Reason, reason
from siteplan.site.pond_survey import WaterYear


def year_figures(year: WaterYear | None) -> tuple[Reason, ...]:
    """What the year of the water gives; nothing where it is not calculated."""
    if year is None:
        return ()
    pairs = zip(year.alone_c, year.with_loop_c, strict=True)
    moved = max((abs(alone - loop) for alone, loop in pairs), default=0.0)
    return (
        reason("figure-pond-water", area_m2=year.area_m2, volume_m3=year.volume_m3),
        reason("figure-pond-coldest", coldest_c=year.coldest_c, alone_c=year.coldest_alone_c),
        reason("figure-pond-warmest", warmest_c=year.warmest_c, alone_c=year.warmest_alone_c),
        reason("figure-pond-moved", moved_k=moved),
        reason("figure-pond-ice", ice_m=max(year.ice_m)),
        reason("figure-pond-exchange", exchange=year.exchange),
        reason("figure-pond-evaporated", evaporated_m=year.evaporated_mm / 1000.0),
    )
