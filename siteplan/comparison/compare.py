"""What each loop type that the lot has room for would take: by the take-off of its layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.available.prepared import PreparedLot
from siteplan.checks.model import Separation
from siteplan.comparison.hinges import hinges_of
from siteplan.design.evaluate import Trial
from siteplan.earthwork.excavation import strip_width
from siteplan.findings.model import Reason
from siteplan.layout.elements import Bore, Trench, Well
from siteplan.layout.header.crossings import crossings_of
from siteplan.layout.header.section import piece_lines, piece_width
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping_model import LOOP_TRENCH
from siteplan.quantities.cost import Cost, cost_of
from siteplan.quantities.take_off import Item, Ware, fluid_volume, take_off
from siteplan.site.model import Site, System
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import LoopType


@dataclass(frozen=True, slots=True)
class Taken:
    """What one loop type takes that the lot has room for.

    Parameters
    ----------
    system, loop
        Loop type, and its facts in the words for what is laid.
    drawn
        Whether it is the one on the sheet.
    fits
        Whether nothing is in its way; one that has room may still need another fluid.
    count
        Number of its elements.
    length_m
        Trench, bore or pond pipe that they provide; 0 of wells [m].
    flow_m3s
        Water that an open loop needs; 0 of the others [m3/s].
    header_m
        Length of header trench [m].
    items
        Its take-off: pipe, soil and the rest are those of a package of the same plan.
    fluid_m3
        Fluid in the pipes; None where a size is not known [m3].
    crossed
        What must be marked and is crossed by header, crossovers or trenches: kind, how often.
    opened_m2
        Ground opened: trenches, header, and a rig's width around each bore or well; without spoil
        and the tracks of machines [m2].
    tightest
        Separation with the least to spare; None where no rule asks for a distance.
    hinges
        What it hinges on.
    drilled_m
        Length of bores and new wells [m].
    cost
        What it costs; None where the site has no prices.
    outfalls
        How many of the elements are outfalls.
    """

    system: System
    loop: LoopType
    drawn: bool
    fits: bool
    count: int
    length_m: float
    flow_m3s: float
    header_m: float
    items: tuple[Item, ...]
    fluid_m3: float | None
    crossed: tuple[tuple[str, int], ...]
    opened_m2: float
    tightest: Separation | None
    hinges: tuple[Reason, ...]
    drilled_m: float
    cost: Cost | None = None
    outfalls: int = 0

    def amount(self, ware: Ware) -> float:
        """All that is bought or dug as one ware, in the unit of its lines: [m], [m3], pieces."""
        return sum(item.amount for item in self.items if item.ware == ware)

    @property
    def work_m(self) -> float:
        """Length of trench dug and of bore drilled, foot for foot [m]."""
        return self.amount("trench") + self.drilled_m


def compared(lot: PreparedLot, trials: Sequence[Trial]) -> tuple[Taken, ...]:
    """What each loop type that has room takes, in the order of the trials; none is drawn yet."""
    return tuple(
        _taken(lot, trial, trial.layout)
        for trial in trials
        if trial.has_room and trial.layout is not None
    )


def tightest_of(rows: Sequence[Separation]) -> Separation | None:
    """Separation with the least to spare of those that ask for a distance; None without any."""
    ruled = [row for row in rows if row.rule.parts and row.rule.says == "at least"]
    return min(ruled, key=lambda row: row.spare_m, default=None)


def _taken(lot: PreparedLot, trial: Trial, layout: Layout) -> Taken:
    site, header = lot.site, layout.header
    return Taken(
        system=trial.system,
        loop=layout.loop,
        drawn=False,
        fits=trial.fits,
        count=len(layout.elements),
        length_m=layout.length_m,
        flow_m3s=trial.required.flow_m3s if trial.required else 0.0,
        header_m=header.length_m if header else 0.0,
        items=take_off(site, layout),
        fluid_m3=fluid_volume(layout),
        crossed=_crossed(site, layout),
        opened_m2=_opened(site, layout),
        tightest=tightest_of(trial.separations),
        hinges=hinges_of(lot, trial),
        drilled_m=drilled_length(layout),
        cost=cost_of(site, layout),
        outfalls=len(layout.of(Outfall)),
    )


def drilled_length(layout: Layout) -> float:
    """Length of bores and new wells [m]."""
    return sum(element.depth_m for element in layout.new if isinstance(element, (Bore, Well)))


def _crossed(site: Site, layout: Layout) -> tuple[tuple[str, int], ...]:
    """Kinds of thing that are crossed and must be marked, with how often."""
    crossings = [*(layout.header.crossings if layout.header else ())]
    for crossover in layout.crossovers:
        crossings += crossover.crossings
    marked = [feature for feature in site.features if kinds()[feature.kind].crossing == "mark"]
    trenches = MultiLineString([trench.line for trench in layout.of(Trench)])
    crossings += crossings_of(trenches, marked)
    counts = Counter(crossing.kind for crossing in crossings)
    return tuple((kind, counts[kind]) for kind in kinds() if counts[kind] and kind != LOOP_TRENCH)


def _opened(site: Site, layout: Layout) -> float:
    """Ground that is opened on land [m2]."""
    water = shapely.union_all([pond.shape for pond in site.of_kind("pond")])
    opened = shapely.union_all(list(_openings(site, layout)))
    return float(opened.difference(water).area)


def _openings(site: Site, layout: Layout) -> Iterator[BaseGeometry]:
    strip, rig = strip_width(site.exchanger.horizontal), site.exchanger.rig
    for trench in layout.of(Trench):
        yield _strip(trench.line, strip)
    for crossover in layout.crossovers:
        yield _strip(crossover.line, crossover.width_m)
    header, piping = layout.header, layout.piping
    if header is not None and piping is not None:
        for run in header.runs:
            yield _strip(run, piping.width_m)
        for piece, line in zip(piping.pieces, piece_lines(piping.pieces, header), strict=True):
            yield _strip(line, piece_width(piece, piping))
    for element in layout.new:
        if isinstance(element, (Bore, Well)):
            width = max(2 * element.reach_m, rig.width_m if rig else 0.0)
            yield element.footprint.centroid.buffer(width / 2)


def _strip(line: LineString, width_m: float) -> BaseGeometry:
    return line.buffer(width_m / 2, cap_style="flat")
