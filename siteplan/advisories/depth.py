"""What is to be said of depths: frost, cover, and what temperature the pipe really sees."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from siteplan.checks.model import Finding
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
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.section import highest_pipe
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Piping
from siteplan.site.days import YEAR, format_day
from siteplan.site.energy import GroundYear
from siteplan.site.model import HorizontalOptions, Site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.heat import format_difference, format_temperature
from siteplan.units.lengths import FOOT, format_length

LEAST_COVER_M: Final = 3 * FOOT
"""Least cover over the uppermost pipe of a trench; common practice, no source [m]."""
COVER_RULE: Final = "common practice, no source"


def depth_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Warnings of frost and cover, and a note of the ground's temperature at the pipe."""
    if not layout.elements:
        return
    if layout.system == "horizontal":
        options = site.exchanger.horizontal
        yield from _trench_frost(site, options)
        yield from _cover(site, options)
        yield from _year(site, options)
    if layout.header is not None:
        yield from _header_frost(site, layout.piping)


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
    if frost is None or depth >= frost - TOLERANCE:
        return
    deeper = options.depth_m + frost - depth
    yield Finding(
        "pipe-in-frost",
        "warning",
        f"The uppermost pipe lies {_down(depth, site)} deep, the ground freezes to "
        f"{_up(frost, site)} ([ground] frost): dig the trench {_up(deeper, site)} deep"
        f"{_wider(options, deeper, site)}.",
        measured_m=depth,
        required_m=frost,
    )


def _wider(options: HorizontalOptions, depth_m: float, site: Site) -> str:
    """What digging deeper opens with sloped sides, in brackets; empty where it opens no more."""
    strip, wider = strip_width(options), strip_width(replace(options, depth_m=depth_m))
    if wider <= strip + TOLERANCE:
        return ""
    return (
        f" (sloped sides then open {_up(wider, site)} of ground, not {_up(strip, site)}: plan "
        "again with that depth)"
    )


def _header_frost(site: Site, piping: Piping | None) -> Iterator[Finding]:
    frost, trench = site.exchanger.ground_year.frost_m, site.exchanger.piping.header.depth_m
    depth = trench - (highest_pipe(piping) if piping is not None else 0.0)
    if frost is None or depth >= frost - TOLERANCE:
        return
    deeper = trench + frost - depth
    yield Finding(
        "header-in-frost",
        "warning",
        f"The top of the header's uppermost pipe lies {_down(depth, site)} deep, the ground "
        f"freezes to {_up(frost, site)} ([ground] frost): dig its trench {_up(deeper, site)} deep "
        "([header] depth), and lay it as deep where it goes through the wall.",
        subject="header",
        measured_m=depth,
        required_m=frost,
    )


def _cover(site: Site, options: HorizontalOptions) -> Iterator[Finding]:
    depth = uppermost_depth(options)
    if depth >= LEAST_COVER_M - TOLERANCE:
        return
    deeper = options.depth_m + LEAST_COVER_M - depth
    yield Finding(
        "cover",
        "warning",
        f"The uppermost pipe has {_down(depth, site)} of cover; {_up(LEAST_COVER_M, site)} is "
        f"common practice: dig the trench {_up(deeper, site)} deep"
        f"{_wider(options, deeper, site)}, or take a kind with less pipe above the bottom.",
        measured_m=depth,
        required_m=LEAST_COVER_M,
        rule=COVER_RULE,
    )


def climate_of(year: GroundYear) -> Climate | None:
    """The year at the surface; None where it is not stated."""
    stated = (year.temperature_c, year.swing_k, year.coldest_day, year.diffusivity_m2s)
    found = [one for one in stated if one is not None]
    return Climate(*found) if len(found) == len(stated) else None


def _year(site: Site, options: HorizontalOptions) -> Iterator[Finding]:
    """What temperatures the pipes see in a year, and whether heat flows on the coldest day."""
    climate = climate_of(site.exchanger.ground_year)
    if climate is None:
        return
    depths = pipe_depths(options)
    sees = "; ".join(_sees(climate, depth, site) for depth in depths)
    words = f"{sees[0].upper()}{sees[1:]}"
    steady = steady_depth(climate)
    if swing_at(climate, depths[0]) > STEADY_K:
        mean = _degrees(climate.mean_c, site)
        words += f"; the swing falls below {format_difference(STEADY_K, site.unit)} at "
        words += f"{format_length(steady, site.unit, 0)}: "
        words += f"the ground at the pipe is not a constant {mean}"
    yield Finding("ground-temperature", "note", f"{words}.", measured_m=steady)
    yield from _no_heat(site, climate, depths[0])


def _sees(climate: Climate, depth: float, site: Site) -> str:
    day = coldest_day_at(climate, depth)
    return (
        f"at {format_length(depth, site.unit, 1)} the ground is "
        f"{_degrees(coldest(climate, depth), site)} on its coldest day ({format_day(day)}) and "
        f"{_degrees(warmest(climate, depth), site)} on its warmest ({format_day(day + YEAR / 2)})"
    )


def _no_heat(site: Site, climate: Climate, depth: float) -> Iterator[Finding]:
    fluid, least = site.exchanger.piping.fluid, coldest(climate, depth)
    if fluid is None or least > fluid.coldest_c:
        return
    yield Finding(
        "ground-colder-than-fluid",
        "warning",
        f"At {format_length(depth, site.unit, 1)} undisturbed ground falls to "
        f"{_degrees(least, site)}, no warmer than the coldest fluid of "
        f"{_degrees(fluid.coldest_c, site)} ([fluid] coldest): then the pipe there gets no heat. "
        "Dig deeper, or allow a colder fluid.",
        measured_m=depth,
    )


def _degrees(celsius: float, site: Site) -> str:
    return format_temperature(celsius, site.unit)


def _down(length_m: float, site: Site) -> str:
    return format_length(length_m, site.unit, 1, rounding="down")


def _up(length_m: float, site: Site) -> str:
    return format_length(length_m, site.unit, 1, rounding="up")
