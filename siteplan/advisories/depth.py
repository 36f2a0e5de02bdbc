"""What is to be said of depths: frost, cover, and what temperature the pipe really sees."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from siteplan.demand.ground_temperature import (
    STEADY_K,
    Climate,
    coldest,
    coldest_day_at,
    steady_depth,
    swing_at,
    warmest,
)
from siteplan.earthwork.excavation import strip_width
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.section import header_depth, highest_pipe
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Piping
from siteplan.site.energy import GroundYear
from siteplan.site.model import HorizontalOptions, Site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.days import YEAR
from siteplan.units.lengths import FOOT

LEAST_COVER_M: Final = 3 * FOOT
"""Least cover over the uppermost pipe of a trench; common practice, no source [m]."""
COVER_RULE: Final = "common practice, no source"


def depth_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Warnings of frost and cover, and a note of the ground's temperature at the pipe."""
    if not layout.elements:
        return
    yield from _calculated_frost(site)
    if layout.of(Trench):
        options = site.exchanger.horizontal
        yield from _trench_frost(site, options)
        yield from _cover(options)
        yield from _year(site, options)
    if layout.header is not None:
        yield from _header_frost(site, layout.piping)


def _calculated_frost(site: Site) -> Iterator[Finding]:
    """That nobody states the frost depth, and what it was calculated from."""
    year = site.exchanger.ground_year
    if year.frost_m is None or year.freezing is None:
        return
    yield Finding(
        "frost-calculated",
        required_m=year.frost_m,
        values={"index_k_days": year.freezing.index_k_days, "surface": year.freezing.surface},
    )


def uppermost_depth(options: HorizontalOptions) -> float:
    """Depth of the uppermost pipe of a trench, of a coil on edge its top [m].

    Examples
    --------
    Two pipes stacked, 27 in above the bottom of a trench 6 ft deep: 45 in.

    >>> deep = HorizontalOptions(3.0, 6 * FOOT, FOOT, 2, 9.0, kind="two pipes stacked")
    >>> round(uppermost_depth(deep) / FOOT, 2)
    3.75
    """
    return options.depth_m - trench_kinds()[options.kind].height_m


def pipe_depths(options: HorizontalOptions) -> tuple[float, ...]:
    """Depths at which pipe lies in a trench, shallow to deep; of a coil on edge its middle [m]."""
    kind = trench_kinds()[options.kind]
    rise = kind.height_m - max(above for _, above in kind.at)  # of a coil on edge
    return tuple(sorted({round(options.depth_m - above - rise / 2, 6) for _, above in kind.at}))


def _trench_frost(site: Site, options: HorizontalOptions) -> Iterator[Finding]:
    frost, depth = site.exchanger.ground_year.frost_m, uppermost_depth(options)
    if frost is None:
        return
    if depth >= frost - TOLERANCE:
        yield from _deeper_than_usual(site, options, frost)
        return
    deeper = options.depth_m + frost - depth
    yield Finding(
        "pipe-in-frost",
        measured_m=depth,
        required_m=frost,
        values={"deeper_m": deeper, "wider": _wider(options, deeper)},
    )


def _deeper_than_usual(site: Site, options: HorizontalOptions, frost_m: float) -> Iterator[Finding]:
    """That trenches of which nobody says the depth are deeper than their kind is, for the frost."""
    usual_m = trench_kinds()[options.kind].depth_m
    if "horizontal.depth" not in site.exchanger.unsaid or options.depth_m <= usual_m + TOLERANCE:
        return
    values = {"usual_m": usual_m, "frost_m": frost_m}
    yield Finding("deeper-for-frost", measured_m=options.depth_m, values=values)


def _wider(options: HorizontalOptions, depth_m: float) -> Reason | None:
    """What digging deeper opens with sloped sides; None where it opens no more."""
    strip, wider = strip_width(options), strip_width(replace(options, depth_m=depth_m))
    if wider <= strip + TOLERANCE:
        return None
    return reason("sides-open-wider", wider_m=wider, strip_m=strip)


def _header_frost(site: Site, piping: Piping | None) -> Iterator[Finding]:
    frost = site.exchanger.ground_year.frost_m
    trench = header_depth(piping, site.exchanger.piping.header)
    depth = trench - (highest_pipe(piping) if piping is not None else 0.0)
    if frost is None or depth >= frost - TOLERANCE:
        return
    deeper = trench + frost - depth
    yield Finding(
        "header-in-frost",
        subject="header",
        measured_m=depth,
        required_m=frost,
        values={"deeper_m": deeper},
    )


def _cover(options: HorizontalOptions) -> Iterator[Finding]:
    depth = uppermost_depth(options)
    if depth >= LEAST_COVER_M - TOLERANCE:
        return
    deeper = options.depth_m + LEAST_COVER_M - depth
    yield Finding(
        "cover",
        measured_m=depth,
        required_m=LEAST_COVER_M,
        rule=COVER_RULE,
        values={"deeper_m": deeper, "wider": _wider(options, deeper)},
    )


def climate_of(year: GroundYear) -> Climate | None:
    """The year at the surface; None where it is not stated."""
    stated = (year.temperature_c, year.swing_k, year.coldest_day, year.diffusivity_m2s)
    known = [figure for figure in stated if figure is not None]
    return Climate(*known) if len(known) == len(stated) else None


def _year(site: Site, options: HorizontalOptions) -> Iterator[Finding]:
    """What temperatures the pipes see in a year, and whether heat flows on the coldest day."""
    climate = climate_of(site.exchanger.ground_year)
    if climate is None:
        return
    depths = pipe_depths(options)
    steady, swing = steady_depth(climate), None
    if swing_at(climate, depths[0]) > STEADY_K:
        swing = reason(
            "swing-falls-below", steady_k=STEADY_K, steady_m=steady, mean_c=climate.mean_c
        )
    sees = tuple(_sees(climate, depth) for depth in depths)
    values = {"sees": sees, "swing": swing}
    yield Finding("ground-temperature", measured_m=steady, values=values)
    yield from _no_heat(site, climate, depths[0])


def _sees(climate: Climate, depth_m: float) -> Reason:
    day = coldest_day_at(climate, depth_m)
    return reason(
        "ground-at-depth",
        depth_m=depth_m,
        coldest_c=coldest(climate, depth_m),
        coldest_day=day,
        warmest_c=warmest(climate, depth_m),
        warmest_day=day + YEAR / 2,
    )


def _no_heat(site: Site, climate: Climate, depth: float) -> Iterator[Finding]:
    fluid, least = site.exchanger.piping.fluid, coldest(climate, depth)
    if fluid is None or least > fluid.coldest_c:
        return
    yield Finding(
        "ground-colder-than-fluid",
        measured_m=depth,
        values={"least_c": least, "fluid_c": fluid.coldest_c},
    )
