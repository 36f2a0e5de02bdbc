"""Where the pipes come in, where the site file leaves the wall open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.lay_out import capacity_of
from siteplan.design.loop_types import record_of
from siteplan.geometry.points.lattice import edge_directions
from siteplan.geometry.ways.routing import Prices, region_of, route_graph
from siteplan.layout.header.network import marked_tolls
from siteplan.layout.header.router import reachable_area
from siteplan.layout.model import Ground
from siteplan.preferences.table import count_of
from siteplan.site.model import Entry, System

KEPT: Final = count_of("design.entries.kept")
SAMPLES: Final = count_of("design.entries.samples")


def entered(lot: PreparedLot, system: System, required_m: float) -> PreparedLot:
    """The lot with the few entries that look best, where the site file leaves the wall open.

    Parameters
    ----------
    lot
        The lot.
    system
        Loop type.
    required_m
        Exchanger length that is required [m].
    """
    if not lot.site.any_wall or len(lot.site.entries) <= KEPT:
        return lot
    ground = prepare(lot, record_of(system).ground).ground
    area = reachable_area(ground)
    if area.is_empty:
        return lot
    held = capacity_of(lot, system)
    share = min(1.0, required_m / held) if held > 0 else 1.0
    best = _only(lot, lot.memory.of(_best_entries, ground, area, share))
    if held >= required_m > capacity_of(best, system):
        return _fullest(lot, best, system, required_m)
    return best


def _only(lot: PreparedLot, entries: Sequence[Entry]) -> PreparedLot:
    """The lot with some of its entries."""
    # in file order, so that what is chosen does not depend on the order of what is not
    names = {entry.id for entry in entries}
    kept = tuple(entry for entry in lot.site.entries if entry.id in names)
    return replace(lot, site=replace(lot.site, entries=kept))


def _fullest(lot: PreparedLot, best: PreparedLot, system: System, required_m: float) -> PreparedLot:
    """The lot with entries from which a header gets to ground that holds enough, or most.

    Ground that is nearest may hold less than some on another side of the house.
    """
    held = [capacity_of(_only(lot, [entry]), system) for entry in lot.site.entries]
    enough = min(max(held), required_m)
    if enough <= capacity_of(best, system):
        return best
    able = [entry for entry, most in zip(lot.site.entries, held, strict=True) if most >= enough]
    # few of them only: each is tried with every layout
    return _only(lot, able[:KEPT])


def _best_entries(ground: Ground, area: BaseGeometry, share: float) -> tuple[Entry, ...]:
    """Entries from which a pipe runs least far to the ground that a field takes, best first."""
    costs = _way_costs(ground, area)
    taken = max(1, math.ceil(share * costs.shape[1]))
    nearest = np.sort(costs, axis=1)[:, :taken]
    # an entry from which part of the ground cannot be reached comes after all that reach more
    blocked = np.isinf(nearest).sum(axis=1)
    lengths = np.where(np.isinf(nearest), 0.0, nearest).sum(axis=1) / np.maximum(taken - blocked, 1)
    ranked = sorted(range(len(costs)), key=lambda k: (blocked[k], round(lengths[k], 3), k))
    return tuple(ground.entries[k] for k in ranked[:KEPT] if blocked[k] < taken)


def _way_costs(ground: Ground, area: BaseGeometry) -> NDArray[np.float64]:
    """Cost of the way from each entry to places all over an area, crossings in it [m]."""
    places = _places(area)
    entries = np.array([(entry.point.x, entry.point.y) for entry in ground.entries])
    graph = route_graph(
        region_of(ground.passable),
        np.concatenate([entries, places]),
        prices=Prices(marked_tolls(ground.marked)),
        helpers=np.zeros((0, 2)),
        helper_links=np.zeros((0, 2), dtype=np.intp),
    )
    costs, _ = graph.ways(range(len(entries)))
    return costs[:, len(entries) : len(entries) + len(places)]


def _places(area: BaseGeometry) -> NDArray[np.float64]:
    """Places all over an area, evenly: in rows along its longest edges, the same to both sides.

    A lot that was turned or mirrored has the same places, and so the same entries look best.
    """
    turn, middle = math.degrees(edge_directions(area)[0]), area.envelope.centroid
    upright = shapely.affinity.rotate(area, -turn, origin=middle)
    west, south, east, north = upright.bounds
    apart = math.sqrt(area.area / SAMPLES)
    columns, rows = _evenly(west, east, apart), _evenly(south, north, apart)
    spots = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    inside = spots[np.asarray(shapely.covers(upright, shapely.points(spots)))]
    if len(inside):
        back = shapely.affinity.rotate(shapely.MultiPoint(inside), turn, origin=middle)
        return np.array([(point.x, point.y) for point in back.geoms])
    return np.array([(point.x, point.y) for point in _inner_points(area)])


def _evenly(low: float, high: float, apart: float) -> NDArray[np.float64]:
    """Numbers so far apart, as far from the one end as from the other."""
    count = math.ceil((high - low) / apart)
    steps = np.arange(count, dtype=np.float64) - (count - 1) / 2
    return (low + high) / 2 + apart * steps


def _inner_points(area: BaseGeometry) -> Sequence[shapely.Point]:
    return [part.representative_point() for part in shapely.get_parts(area)]
