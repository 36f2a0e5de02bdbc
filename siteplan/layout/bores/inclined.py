"""Inclined bores from one pad: collars close together, the bores fanned out beneath the lot.

For small lots: the rig stands once, and the bores keep apart below ground. Sites for the pad are
tried from the entry outwards; on each, every bore turns in its place to where it is farthest from
the others, until none can do better.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason, reason
from siteplan.geometry.inclined import downward, least_gap, mean_gap
from siteplan.geometry.memory import remembered
from siteplan.geometry.points.packing import pack_rows
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.upright import depth_of_each, too_deep
from siteplan.layout.counting import elements_needed, within_limit
from siteplan.layout.elements import SHALLOW_M, Bore
from siteplan.layout.header.router import reachable_area, route_header
from siteplan.layout.model import Ground, Layout
from siteplan.layout.way import ways_of
from siteplan.preferences.table import count_of, figure_of, figures_of
from siteplan.site.model import VerticalOptions
from siteplan.units.model import UnitSystem

Floats = NDArray[np.float64]

AZIMUTH_STEP_DEG: Final = figure_of("layout.bores.inclined.azimuth_step_deg")
TILT_STEP_DEG: Final = figure_of("layout.bores.inclined.tilt_step_deg")
SPREADS: Final = figures_of("layout.bores.inclined.spreads")
MOST_BORES: Final = 20
"""More bores are not drilled from one pad: common practice, no source."""
MOST_SITES: Final = count_of("layout.bores.inclined.most_sites")
MOST_TRIED: Final = count_of("layout.bores.inclined.most_tried")
ROUNDS: Final = count_of("layout.bores.inclined.rounds")


@dataclass(frozen=True, slots=True)
class _Fan:
    """Bores from one pad: collars, lean of each, and the least mean distance of two of them."""

    collars: Floats
    tilt_deg: Floats
    azimuth_deg: Floats
    apart_m: float


@dataclass(frozen=True, slots=True)
class _Leans:
    """Directions that a bore may have."""

    tilt_deg: Floats
    azimuth_deg: Floats
    unit: Floats


@remembered
def lay_out_pad(
    ground: Ground, options: VerticalOptions, required_m: float, under: BaseGeometry
) -> Layout:
    """Inclined bores that carry the length required [m], or as many as keep apart.

    Parameters
    ----------
    ground
        Where the collars may stand.
    options
        Bores wanted; ``pad`` says how far they may lean and how near the collars may be.
    required_m
        Exchanger length required [m].
    under
        Where an inclined bore may pass, seen from above.
    """
    assert options.pad is not None
    area = reachable_area(ground)
    needed = options.count or elements_needed(required_m, options.depth_most_m)
    needed = within_limit(needed, "bores", "vertical")
    fan = _largest_fan(_search(ground, under, options), options, required_m, needed)
    bores = _bores(fan, options, required_m, ground.unit) if fan is not None else ()
    header = route_header(ground, [[(bore.x_m, bore.y_m)] for bore in bores]) if bores else None
    return Layout(
        system="vertical",
        elements=bores,
        header=header,
        spacing_m=options.spacing_m,
        capacity_m=len(bores) * options.depth_most_m,
        obstacle=_obstacle(ground, area, options, placed=len(bores), needed=needed)
        or too_deep(options, required_m, len(bores)),
    )


def _largest_fan(
    search: _Search, options: VerticalOptions, required_m: float, needed: int
) -> _Fan | None:
    """Fan of as many bores as needed, or of the most found by halving; None where none is."""

    def fan_of(count: int) -> _Fan | None:
        unit = search.unit
        return search.fan_of(count, depth_of_each(required_m, count, options=options, unit=unit))

    # halving takes it that where so many fit, fewer do: true but for rare pads, and each count
    # asks for a whole search
    low, high, best = 0, min(needed, MOST_BORES), None
    trial = high
    while low < high:
        fan = fan_of(trial)
        if fan is not None:
            low, best = trial, fan
        else:
            high = trial - 1
        trial = (low + high + 1) // 2
    return best


def _bores(
    fan: _Fan, options: VerticalOptions, required_m: float, unit: UnitSystem
) -> tuple[Bore, ...]:
    """Bores of a fan, clockwise from north; the upright ones first."""
    depth = depth_of_each(required_m, len(fan.collars), options=options, unit=unit)
    order = np.lexsort((fan.azimuth_deg, fan.tilt_deg > 0))
    return tuple(
        Bore(
            f"B{number}",
            float(fan.collars[index, 0]),
            float(fan.collars[index, 1]),
            options.diameter_m,
            depth,
            float(fan.tilt_deg[index]),
            float(fan.azimuth_deg[index]) if fan.tilt_deg[index] else 0.0,
        )
        for number, index in enumerate(order, start=1)
    )


def _obstacle(
    ground: Ground, area: BaseGeometry, options: VerticalOptions, *, placed: int, needed: int
) -> Reason | None:
    assert options.pad is not None
    if placed >= needed:
        return None
    if ground.area.is_empty:
        return reason("no-available-area", things="bores")
    if area.is_empty:
        return reason("no-way-for-header")
    return reason(
        "pad-short-of-bores",
        placed=placed,
        tilt_deg=options.pad.tilt_deg,
        spacing_m=options.spacing_m,
        needed=needed,
        depth_m=options.depth_most_m,
    )


def leans(tilt_most_deg: float) -> _Leans:
    """Every direction that a bore may have: upright, and by steps of tilt and azimuth."""
    tilts = np.arange(TILT_STEP_DEG, tilt_most_deg + TOLERANCE, TILT_STEP_DEG)
    if tilt_most_deg - TOLERANCE > (tilts[-1] if tilts.size else 0.0):
        tilts = np.append(tilts, tilt_most_deg)
    turns = np.arange(0.0, 360.0, AZIMUTH_STEP_DEG)
    tilt = np.concatenate([[0.0], np.repeat(tilts, turns.size)])
    azimuth = np.concatenate([[0.0], np.tile(turns, tilts.size)])
    return _Leans(tilt, azimuth, downward(tilt, azimuth))


@dataclass(frozen=True, slots=True)
class _Pad:
    """Places for collars in rows, and where the pad may be, nearest to an entry first."""

    points: Floats
    sites: NDArray[np.intp]

    def collars(self, site: np.intp, count: int) -> Floats:
        """So many collars around a site."""
        away = np.hypot(*(self.points - self.points[site]).T)
        return self.points[np.argsort(away, kind="stable")[:count]]


@dataclass(frozen=True, slots=True)
class _Search:
    """The ground prepared: places for collars from close to wide, and ways to lean."""

    pads: tuple[_Pad, ...]
    area: BaseGeometry
    under: BaseGeometry
    leans: _Leans
    collar_m: float
    spacing_m: float
    unit: UnitSystem

    @classmethod
    def of(
        cls, ground: Ground, area: BaseGeometry, under: BaseGeometry, options: VerticalOptions
    ) -> _Search:
        """Search on one ground."""
        pad = options.pad
        assert pad is not None
        ways = ways_of(ground)
        spacings = [spread * pad.collar_spacing_m for spread in SPREADS]
        # collars as far apart as the bores must be below ground need no lean any more
        spacings = [s for s in spacings if s <= options.spacing_m] or spacings[:1]
        # where collars stand off the edge, the bores can lean any way at once
        lean = min(SHALLOW_M, options.depth_most_m) * math.sin(math.radians(pad.tilt_deg))
        grounds = (shapely.buffer(area, -lean), area)
        pads = [
            _Pad(points, _sites(points, ways.to(points)))
            for spacing in spacings
            for part in grounds
            for points in [_most_points(part, spacing)]
            if len(points)
        ]
        return cls(
            tuple(pads),
            _prepared(area),
            _prepared(under),
            leans(pad.tilt_deg),
            pad.collar_spacing_m,
            options.spacing_m,
            ground.unit,
        )

    def fan_of(self, count: int, depth_m: float) -> _Fan | None:
        """Fan of so many bores on the first site where all keep apart; None where none does."""
        # from close to wide: a small pad means one set-up of the rig, which is what leaning bores
        # are for
        for pad in self.pads:
            # the work on a site grows with its bores: of large pads fewer sites, but never less
            # than three
            few = max(3, MOST_TRIED // count)
            for site in pad.sites[:: math.ceil(len(pad.sites) / few)]:
                if len(pad.points) < count:
                    break
                fan = self._fanned(pad.collars(site, count), depth_m)
                if fan is not None and fan.apart_m >= self.spacing_m:
                    return fan
        return None

    def _fanned(self, collars: Floats, depth_m: float) -> _Fan | None:
        """Bores from given collars, each leaning to where it is farthest from the others."""
        allowed = self._allowed(collars, depth_m)
        if not allowed.any(axis=1).all():
            return None
        # a fan leaning outwards is nearly at rest: from any other start the rounds would undo
        # crossings first
        chosen = self._outwards(collars, allowed)
        # bores answer each other in turn, and two may go on changing places: so the rounds are
        # limited
        for _ in range(ROUNDS):
            before = chosen.copy()
            for bore in range(len(collars)):
                open_ = np.flatnonzero(allowed[bore])
                worth = self._worth(collars, chosen, depth_m, bore=bore, leans=open_)
                now = float(worth[open_ == chosen[bore]][0])
                # a gain of rounding would turn bores for ever
                if worth.max() > now + TOLERANCE:
                    chosen[bore] = open_[int(np.argmax(worth))]
            if (chosen == before).all():
                break
        apart = min(
            float(self._worth(collars, chosen, depth_m, bore=bore, leans=chosen[[bore]])[0])
            for bore in range(len(collars))
        )
        return _Fan(collars, self.leans.tilt_deg[chosen], self.leans.azimuth_deg[chosen], apart)

    def _allowed(self, collars: Floats, depth_m: float) -> NDArray[np.bool_]:
        """Which direction each bore may have: within the lot below, and clear above."""
        unit = self.leans.unit[:, :2]
        starts = np.broadcast_to(collars[:, None], (len(collars), len(unit), 2))
        whole = np.stack([starts, starts + depth_m * unit], axis=2)
        # near the surface a leaning bore is in everybody's way: there the rules hold as for its
        # collar
        shallow = np.stack([starts, starts + min(SHALLOW_M, depth_m) * unit], axis=2)
        inside = shapely.covers(self.under, shapely.linestrings(whole))
        return np.asarray(inside & shapely.covers(self.area, shapely.linestrings(shallow)))

    def _outwards(self, collars: Floats, allowed: NDArray[np.bool_]) -> NDArray[np.intp]:
        """First choice: every bore leans away from the middle of the pad as far as it may."""
        out = collars - collars.mean(axis=0)
        pull = np.einsum("ik,jk->ij", out, self.leans.unit[:, :2])
        return np.asarray(np.argmax(np.where(allowed, pull, -np.inf), axis=1))

    def _worth(
        self,
        collars: Floats,
        chosen: NDArray[np.intp],
        depth_m: float,
        *,
        bore: int,
        leans: NDArray[np.intp],
    ) -> Floats:
        """For some leans of one bore its least mean distance to the others; -inf where too near."""
        others = np.delete(np.arange(len(collars)), bore)
        if others.size == 0:
            # upright for choice
            return np.asarray(self.spacing_m + 90.0 - self.leans.tilt_deg[leans])
        between = np.zeros((1, others.size, 3))
        between[0, :, :2] = collars[others] - collars[bore]
        own, their = self.leans.unit[leans, None, :], self.leans.unit[chosen[others]][None]
        mean = mean_gap(between, their - own, depth_m).min(axis=1)
        near = least_gap(between, own, their, depth_m).min(axis=1)
        # a good mean does not help two bores that cross: nowhere nearer than their collars may be
        mean[near < self.collar_m - TOLERANCE] = -np.inf
        return np.asarray(mean)


@remembered
def _search(ground: Ground, under: BaseGeometry, options: VerticalOptions) -> _Search:
    """The ground prepared, once for every length that is asked of it."""
    return _Search.of(ground, reachable_area(ground), under, options)


def _most_points(area: BaseGeometry, spacing_m: float) -> Floats:
    """Places in rows in the part of an area that holds most of them."""
    patterns = pack_rows(area, spacing_m)
    return max((pattern.points for pattern in patterns), key=len, default=np.zeros((0, 2)))


def _prepared(area: BaseGeometry) -> BaseGeometry:
    widened = shapely.buffer(area, TOLERANCE / 2, quad_segs=2)
    shapely.prepare(widened)
    return widened


def _sites(points: Floats, way_m: Floats) -> NDArray[np.intp]:
    """Places for the pad, well spread, the nearest to an entry first."""
    reached = np.flatnonzero(np.isfinite(way_m))
    if reached.size == 0:
        reached = np.arange(len(points))
    # neighbouring sites give nearly the same fan: spread out, they reach the far side of the lot
    # as well
    step = math.ceil(reached.size / MOST_SITES)
    order = reached[np.argsort(way_m[reached], kind="stable")]
    return order[::step]
