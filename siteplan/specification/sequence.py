"""The order of work, and what is held until somebody has seen it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import Point

from siteplan.findings.model import Reason, reason
from siteplan.findings.words import plural
from siteplan.hydraulics.fluids import antifreeze_share
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Feature, Site
from siteplan.specification.room import room_for_earth
from siteplan.specification.stockpile import Stockpile
from siteplan.units.lengths import FOOT

MOST_LISTED: Final = 150
"""More elements than this are not listed one by one in the order of work."""

FARTHEST_M: Final = 100 * FOOT
"""A street farther than this from where a machine comes in is none that it comes from [m]."""
BESIDE_M: Final = 10 * FOOT
"""A driveway this near is the one that a machine comes in by; common practice, no source [m]."""
ACROSS_M: Final = 30 * FOOT
"""A way from a street over so much of the lot would come in elsewhere [m]."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work; ``hold``: nobody goes on before it is seen and signed."""

    told: Reason
    hold: bool = False


def sequence(
    site: Site, layout: Layout, piles: Sequence[Stockpile] | None = None
) -> tuple[Step, ...]:  # fmt: skip
    """Steps in their order, empty where nothing goes in the ground.

    ``piles``: ground that the plan proposes for earth; None where it proposes nothing.
    """
    if not layout.elements:
        return ()
    crossed = layout.header is not None and bool(layout.header.crossings)
    marked = reason("seq-locate", crossed=reason("seq-exposed") if crossed else None)
    return (
        Step(marked, hold=True),
        *map(Step, _way_in(site, layout)),
        *map(Step, room_for_earth(site, layout, piles)),
        *map(Step, _order(layout)),
        *_made(layout, site),
        *_closed(layout, site),
    )


def _way_in(site: Site, layout: Layout) -> Iterator[Reason]:
    """Where the machine comes in."""
    machine = layout.loop.machine
    if not machine or not layout.new:
        return
    access = layout.access
    if access is None:
        yield reason("seq-way-not-checked", machine=_noun(machine))
        return
    if access.path.is_empty:
        yield reason("seq-no-way", machine=_noun(machine))
        return
    x, y = access.path.coords[0][:2]
    street = _street_at(site, Point(x, y))
    yield reason(
        "seq-way-in",
        machine=_noun(machine),
        x_m=float(x),
        y_m=float(y),
        street=reason("seq-no-street") if street is None else street.label or street.kind,
        width_m=access.width_m,
        length_m=float(access.path.length),
    )


def _street_at(site: Site, at: Point) -> Feature | None:
    """The driveway at a place, else the street from which it is reached, not across the lot."""
    for kind, farthest in (
        ("driveway", BESIDE_M),
        ("street", FARTHEST_M),
        ("driveway", FARTHEST_M),
    ):
        near = min(site.of_kind(kind), key=lambda way: way.shape.distance(at), default=None)
        if near is None or near.shape.distance(at) > farthest:
            continue
        across = shapely.shortest_line(at, near.shape).intersection(site.parcel)
        if across.length <= ACROSS_M:
            return near
    return None


def _noun(machine: str) -> str:
    return "drill rig" if machine == "rig" else machine


def order_of_work(layout: Layout) -> tuple[Element, ...]:
    """Elements in the order in which they are made.

    Trenches that lie farthest from where the way in meets the field first; all else in strips
    across the way in, as wide as elements stand apart, the farthest first, to and fro; of a well
    pair the supply well.
    """
    new = layout.new
    if layout.loop.flow:
        wells = [element for element in new if not isinstance(element, Outfall)]
        return tuple(sorted(wells, key=lambda well: well.part != "supply well"))
    start = _start(layout)
    if start is None or len(new) < 2:
        return new
    if layout.loop.lines:
        away = [round(float(element.axis.distance(Point(start))), 2) for element in new]
        return tuple(new[k] for k in sorted(range(len(new)), key=lambda k: (-away[k], k)))
    return _in_strips(new, start, max(layout.spacing_m, 0.5))


def _in_strips(
    new: tuple[Element, ...], start: tuple[float, float], step: float
) -> tuple[Element, ...]:  # fmt: skip
    """Elements strip by strip across the way from a start, the farthest strip first [m]."""
    middles = [(float(e.axis.centroid.x), float(e.axis.centroid.y)) for e in new]
    count = len(middles)
    dx = sum(x for x, _ in middles) / count - start[0]
    dy = sum(y for _, y in middles) / count - start[1]
    long = math.hypot(dx, dy)
    if long < step / 2:
        away = [round(math.dist(at, start), 6) for at in middles]
        return tuple(new[k] for k in sorted(range(count), key=lambda k: (-away[k], k)))
    along = [((x - start[0]) * dx + (y - start[1]) * dy) / long for x, y in middles]
    across = [((y - start[1]) * dx - (x - start[0]) * dy) / long for x, y in middles]
    strips = [int((max(along) - way) / step + 1e-6) for way in along]
    turns = [across[k] if strips[k] % 2 else -across[k] for k in range(count)]
    ranked = sorted(range(count), key=lambda k: (strips[k], round(turns[k], 6), k))
    return tuple(new[k] for k in ranked)


def _start(layout: Layout) -> tuple[float, float] | None:
    """Where the way in meets the field; the entry where no way is known."""
    if layout.access is not None and not layout.access.path.is_empty:
        x, y = layout.access.path.coords[-1][:2]
        return float(x), float(y)
    if layout.header is None:
        return None
    return float(layout.header.entry.point.x), float(layout.header.entry.point.y)


def _order(layout: Layout) -> Iterator[Reason]:
    """In which order elements are made, and why."""
    made = order_of_work(layout)
    if len(made) < 2:
        return
    names = tuple(element.id for element in made)
    verb, things = _verb(layout), plural(layout.loop.noun)
    because = _because(layout)
    if len(names) <= MOST_LISTED:
        yield reason("seq-order", verb=verb, order=names, because=because)
        return
    yield reason(
        "seq-order-long",
        verb=verb,
        number=len(names),
        things=things,
        first=names[0],
        last=names[-1],
        because=because,
    )


def _verb(layout: Layout) -> str:
    return "dig" if layout.loop.lines else "sink" if layout.of(Coil) else "drill"


def _because(layout: Layout) -> Reason:
    if layout.loop.flow:
        return reason("seq-supply-first")
    if layout.of(Coil):
        return reason("seq-farthest-coil", thing=layout.loop.short)
    done = "dug" if layout.loop.lines else "drilled"
    if layout.access is not None and not layout.access.path.is_empty:
        return reason("seq-backing-out", machine=_noun(layout.access.machine), done=done)
    return reason("seq-from-entry", done=done)


def _made(layout: Layout, site: Site) -> Iterator[Step]:
    """What is held before the header trench is dug, and that trench."""
    if layout.of(Bore):
        yield Step(reason("seq-bore-tested"), hold=True)
    if layout.of(Coil):
        yield Step(reason("seq-coil-tested", thing=layout.loop.short), hold=True)
    if layout.of(Well):
        flow = site.exchanger.open.flow_m3s
        known = flow is not None
        told = reason("seq-well-tested", flow_m3s=flow) if known else None
        yield Step(told or reason("seq-well-tested-unknown"), hold=True)
    if layout.of(Trench):
        yield Step(reason("seq-trench-laid"))
    elif layout.header is not None:
        yield Step(reason("seq-laid"))


def _closed(layout: Layout, site: Site) -> Iterator[Step]:
    """What is held before anything is filled, and the rest."""
    yield Step(reason("seq-inspected"), hold=True)
    yield Step(reason("seq-measured", things=plural(layout.loop.noun)), hold=True)
    yield Step(reason("seq-filled"))
    yield Step(reason(_charge(layout, site)), hold=True)
    yield Step(reason("seq-handed-over"))


def _charge(layout: Layout, site: Site) -> str:
    """Code of how the loop is filled."""
    fluid = site.exchanger.piping.fluid
    if layout.loop.flow:
        return "seq-charged-well"
    mixed = fluid is not None and bool(fluid.mixture) and antifreeze_share(fluid.mixture) > 0
    return "seq-charged" if mixed else "seq-charged-water"


def numbered(steps: Sequence[Step]) -> list[tuple[int, Step, int]]:
    """Steps with their number, and the number of their hold; 0: it is none.

    Examples
    --------
    >>> held = Step(reason("seq-filled"), hold=True)
    >>> [(number, hold) for number, _, hold in numbered((Step(held.told), held, held))]
    [(1, 0), (2, 1), (3, 2)]
    """
    rows, holds = [], 0
    for number, step in enumerate(steps, 1):
        holds += step.hold
        rows.append((number, step, holds if step.hold else 0))
    return rows
