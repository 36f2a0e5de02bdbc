"""What was built, from measured places: the plan's layout moved there, judged, and compared."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from typing import Final

from shapely import LineString, Point

from siteplan.advisories.bounds import ties_asked
from siteplan.audit.audit import judged, required_there
from siteplan.audit.measured import Measured
from siteplan.audit.model import Audit
from siteplan.audit.record import record_findings
from siteplan.available.prepared import lot_of
from siteplan.checks.check import LENGTH
from siteplan.checks.pond_depth import water_over
from siteplan.design.lay_out import with_way_in
from siteplan.errors import Fault, InputError
from siteplan.findings.model import Finding, Values
from siteplan.layout.elements import Coil, Element, Trench
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import called
from siteplan.sheet.content.setting_out import record_ties
from siteplan.sheet.content.ties import END, TiePoint, stake_names, tie_targets
from siteplan.sheet.model import XY
from siteplan.sheet.tables.staking import bent_trenches, staked_pieces
from siteplan.site.model import Site

SAME_M: Final = 0.001
"""A header that ends this near to an element's place ends at it [m]."""
ROUNDED: Final = 0.0142
"""What two places written to the hundredth may bring nearer to one another [display unit]."""
TAPED_M: Final = 0.05
"""What the end of a trench may stand off its place by two tapes: printed to the tenth of a foot and
read to the tenth, 0.15 ft; common practice, no source [m]."""
HEADER_ENDS: Final = (
    "header-gap", "header-gap-entry", "header-in-pieces", "crossover-gap", "crossover-shares-pipe",
)  # fmt: skip
"""Codes of findings about the ends of header and crossovers, which nobody measured."""
DISTANCES: Final = (
    "separation", "too-far", "spacing", "spacing-on-average", "outside-parcel", "shore",
)  # fmt: skip
SHALLOWER_M: Final = 0.05
"""A bore shallower than planned by no more was drilled as planned; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Deviation:
    """One measured point, and the place planned for it; None where none was.

    ``name`` is an id, or that of the end or of a bend of a trench.
    """

    name: str
    element: str
    at: XY
    planned: XY | None
    depth_m: float | None = None
    planned_depth_m: float | None = None

    @property
    def short_m(self) -> float:
        """How much shallower than planned it was drilled; 0 where by too little to count [m]."""
        if self.depth_m is None or self.planned_depth_m is None:
            return 0.0
        short = self.planned_depth_m - self.depth_m
        return short if short > SHALLOWER_M else 0.0

    @property
    def away_m(self) -> float:
        """Distance from the place planned [m]."""
        return math.dist(self.planned, self.at) if self.planned is not None else 0.0


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """What was measured on the ground.

    Parameters
    ----------
    audit
        Every rule at the places measured.
    deviations
        One row for each measured point, in the order of the list.
    ties
        Points from which elements are taped: those of the plan, or where it has none, chosen here.
    missing
        Ids of the plan that the list does not have.
    """

    audit: Audit
    deviations: tuple[Deviation, ...]
    ties: tuple[TiePoint, ...]
    missing: tuple[str, ...] = ()

    @property
    def farthest(self) -> Deviation | None:
        """The point farthest from the place planned for it."""
        known = [deviation for deviation in self.deviations if deviation.planned is not None]
        return max(known, key=lambda deviation: deviation.away_m, default=None)


def as_built(
    name: str,
    site: Site,
    plan: Layout,
    points: Sequence[Measured],
    ties: Sequence[TiePoint],
) -> AsBuilt:
    """What was built, judged at the places measured.

    Parameters
    ----------
    name
        Name of the list.
    plan
        Layout that was to be built.
    points
        Measured points.
    ties
        Points from which they were taped: those of the plan.

    Raises
    ------
    InputError
        An element has the wrong number of points.
    """
    points = _as_on_plan(points, plan)
    by_id = _by_id(points)
    known = {element.id: element for element in plan.elements}
    _refuse_wrong_counts(name, by_id, known, plan)
    lot = lot_of(site)
    layout = with_way_in(_measured_layout(by_id, known, plan, site), lot)
    required, short = required_there(layout, lot)
    rows, broken = judged(layout, site, lot.rules, (required, 0.0))
    # the stakes of the plan still stand taped from its points
    shown = tuple(ties) or record_ties(site, layout, ties_asked(lot.rules.books))
    deviations = tuple(_deviations(points, known, plan))
    findings = (
        *_without_header_gaps((*broken, *short), site, len(by_id)),
        *_missing(known, by_id, plan),
        *_depth_findings(deviations),
        *record_findings(site, layout, points, shown, lot.rules.books),
    )
    audit = Audit(name, site, layout, required, rows, findings)
    missing = tuple(element_id for element_id in known if element_id not in by_id)
    return AsBuilt(audit, deviations, shown, missing)


def _as_on_plan(points: Sequence[Measured], plan: Layout) -> list[Measured]:
    """The points under the ids of their elements, those of a trench from its start to its end.

    Lists of stakes name the end of a trench and those of its pieces, and have the pieces last.
    """
    parts: dict[str, tuple[str, float]] = {}
    for element in plan.elements:
        names = stake_names(element)
        parts |= {
            name: (element.id, rank) for name, rank in zip(names, (0.0, math.inf), strict=False)
        }
    for trench in bent_trenches(plan):
        ends = range(1, len(staked_pieces(trench)))
        parts |= {f"{trench.id}.{number}{END}": (trench.id, float(number)) for number in ends}
    placed = [(point, *parts.get(point.id, (point.id, 0.0))) for point in points]
    first = {name: number for number, (_, name, _) in reversed([*enumerate(placed)])}
    placed.sort(key=lambda each: (first[each[1]], each[2]))
    return [replace(point, id=name) for point, name, _ in placed]


def _measured_layout(
    by_id: Mapping[str, list[Measured]], known: Mapping[str, Element], plan: Layout, site: Site
) -> Layout:
    """The plan's layout with its elements and the ends of header and crossovers where measured."""
    built = tuple(
        _built(known.get(element_id), element_id, by_id[element_id], (plan, site))
        for element_id in _ordered(by_id, known)
    )
    moved = _ends(known, {element.id: element for element in built})
    crossovers = tuple(
        replace(crossover, line=_bent(crossover.line, moved))
        for crossover in plan.crossovers
        if all(trench in by_id for trench in crossover.trenches)
    )
    header = _led(plan.header, moved)
    bare = replace(plan, circuits=(), piping=None, access=None, obstacle=None)
    return replace(bare, elements=built, header=header, crossovers=crossovers)


def _by_id(points: Sequence[Measured]) -> dict[str, list[Measured]]:
    by_id: dict[str, list[Measured]] = {}
    for point in points:
        by_id.setdefault(point.id, []).append(point)
    return by_id


def _ordered(by_id: Mapping[str, object], known: Mapping[str, object]) -> list[str]:
    """Ids in the order of the plan, then those that it does not have."""
    return [
        *(element_id for element_id in known if element_id in by_id),
        *(element_id for element_id in by_id if element_id not in known),
    ]


def _refuse_wrong_counts(
    name: str, by_id: Mapping[str, list[Measured]], known: Mapping[str, Element], plan: Layout
) -> None:
    faults = []
    for element_id, points in by_id.items():
        where = f"{name}, row {points[-1].row}, {element_id}"
        if plan.loop.lines and len(points) < 2:
            what = "a trench needs a row for its start, for each bend, and for its end."
            faults.append(Fault(where, what, "Measure both ends, the header's first."))
        elif not plan.loop.lines and len(points) > 1:
            faults.append(Fault(where, "stands in the list twice.", "Keep the row that holds."))
        elif len(plan.loop.parts) > 1 and element_id not in known:
            # each element has a part of its own, and a new one would have none
            what = f"is no well of the plan ({', '.join(known)})."
            faults.append(Fault(where, what, "Write the id that the plan shows."))
    if not by_id:
        faults.append(Fault(name, "has no measured place.", "Give a row for each element."))
    if faults:
        raise InputError(faults)


def _built(
    planned: Element | None, name: str, points: Sequence[Measured], known: tuple[Layout, Site]
) -> Element:
    """An element where it was measured; one that was not planned is like the plan's first."""
    plan, site = known
    base = planned or replace(plan.elements[0], id=name)
    x, y = points[0].at
    depth = points[0].depth_m
    match base:
        case Trench():
            line = LineString([point.at for point in points])
            return replace(base, line=line, depth_m=base.depth_m if depth is None else depth)
        case Coil():
            pond, water = water_over(Point(x, y), base.reach_m, site)
            return replace(base, x_m=x, y_m=y, pond=pond, water_depth_m=water)
    return replace(base, x_m=x, y_m=y, depth_m=depth or base.depth_m)


def _ends(known: Mapping[str, Element], built: Mapping[str, Element]) -> list[tuple[XY, XY]]:
    """Place planned and place measured of every end that header or crossovers may lead to."""
    return [
        pair
        for name, element in built.items()
        if name in known
        for pair in zip(tie_targets(known[name]), tie_targets(element), strict=True)
    ]


def _bent(line: LineString, moved: Sequence[tuple[XY, XY]]) -> LineString:
    """The line with the corners that lay at a place planned at the place measured."""

    def there(at: XY) -> XY:
        near = [pair for pair in moved if math.dist(pair[0], at) <= SAME_M]
        return min(near, key=lambda pair: math.dist(pair[0], at))[1] if near else at

    ends = [(x, y) for x, y, *_ in line.coords]
    reached = accumulate((math.dist(*pair) for pair in pairwise(ends)), initial=0.0)
    # a run may pass a place without a corner there
    passed = (place for place, _ in moved if line.distance(Point(place)) <= SAME_M)
    corners = [*zip(reached, ends, strict=True), *((line.project(Point(p)), p) for p in passed)]
    # by the way along the run, as places that it passes have no order of their own
    first, *others = [there(at) for _, at in sorted(corners)]
    turns = [at for before, at in pairwise([first, *others]) if at != before]
    return LineString([first, *(turns or [first])])


def _led(header: Header | None, moved: Sequence[tuple[XY, XY]]) -> Header | None:
    if header is None:
        return None
    runs = (_bent(run, moved) for run in header.runs)
    return replace(header, runs=tuple(run for run in runs if run.length > 0))


def _without_header_gaps(
    findings: Sequence[Finding], site: Site, elements: int
) -> Iterator[Finding]:
    """The findings, those about the header's ends in one note: nobody measured the header.

    What is short by no more than the rounding of two places explains is a warning; of the length
    of all elements together, by no more than tapes explain at the two ends of each: the staking
    allowance is for distances, and gives no length.
    """
    most = ROUNDED * site.unit.metres
    for finding in findings:
        rounding = {**dict.fromkeys(DISTANCES, most), LENGTH: 2 * TAPED_M * elements}
        if _short_by(finding) <= rounding.get(finding.code, 0.0):
            values = {"finding": finding.reason}
            yield replace(finding, code="within-rounding", values=values)
        elif finding.code not in HEADER_ENDS:
            yield finding
    yield Finding("header-not-measured", subject="header")


def _short_by(finding: Finding) -> float:
    """How far a distance is from what is required; infinite where it is none [m]."""
    if finding.measured_m is None or finding.required_m is None:
        return math.inf
    return abs(finding.measured_m - finding.required_m)


def _missing(
    known: Mapping[str, Element], by_id: Mapping[str, object], plan: Layout
) -> Iterator[Finding]:
    left_out = tuple(name for name in known if name not in by_id)
    if left_out:
        yield Finding("not-built", subject=left_out[0], values={"names": left_out})
    for name in by_id:
        if name not in known:
            kind = called(plan.elements[0])
            values = {"kind": kind, "like": next(iter(known))}
            yield Finding("not-planned", subject=name, values=values)


def _deviations(
    points: Sequence[Measured], known: Mapping[str, Element], plan: Layout
) -> Iterator[Deviation]:
    totals = {name: len(rows) for name, rows in _by_id(points).items()}
    seen: dict[str, int] = {}
    for point in points:
        number = seen[point.id] = seen.get(point.id, 0) + 1
        element = known.get(point.id)
        planned, name = None, point.id
        if plan.loop.lines:
            name = _point_name(point.id, number, totals[point.id])
            planned = _planned_point(element, number, totals[point.id])
        elif element is not None:
            planned = (element.x_m, element.y_m)
        deep = element.depth_m if element is not None and plan.loop.drilled else None
        yield Deviation(name, point.id, point.at, planned, point.depth_m, deep or None)


def _point_name(name: str, number: int, total: int) -> str:
    if number == 1:
        return name
    return f"{name} end" if number == total else f"{name} bend {number - 1}"


def _planned_point(element: Element | None, number: int, total: int) -> XY | None:
    """Corner of a planned trench that answers to a measured one; a bend only to one of as many."""
    if not isinstance(element, Trench):
        return None
    corners = [(float(x), float(y)) for x, y, *_ in element.line.coords]
    if number in (1, total):
        return corners[0 if number == 1 else -1]
    return corners[number - 1] if len(corners) == total else None


def _depth_findings(deviations: Sequence[Deviation]) -> Iterator[Finding]:
    for deviation in deviations:
        if deviation.short_m > 0.0:
            values: Values = {
                "name": deviation.name,
                "planned_m": deviation.planned_depth_m,
                "short_m": deviation.short_m,
            }
            yield Finding("depth-drilled", deviation.element, deviation.depth_m, values=values)
