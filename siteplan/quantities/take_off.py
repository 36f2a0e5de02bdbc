"""The take-off: what has to be bought and dug for a layout."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely import LineString, MultiLineString

from siteplan.advisories.pipes import needs_fitting
from siteplan.earthwork.bedding import SAND_ABOVE_M, SAND_BELOW_M, sand_area
from siteplan.earthwork.excavation import end_volume, section_area, strip_width
from siteplan.findings.words import plural, words_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.fluids import antifreeze_share
from siteplan.hydraulics.pipes import fill_volume, pipes
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.header.crossovers import course_of
from siteplan.layout.header.section import piece_lines, piece_width, sand_height
from siteplan.layout.header.tree import elbows_of
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping_model import Piping
from siteplan.quantities.grout import grout_of
from siteplan.quantities.shallow import shallow_header
from siteplan.site.model import Site
from siteplan.site.piping import GroutOptions
from siteplan.site.pond_bodies import PlateFrame
from siteplan.units import model as units
from siteplan.units.lengths import FOOT, format_length, round_to, to_unit
from siteplan.units.model import UnitSystem

COIL_M: Final = 500 * FOOT
"""Pipe comes in coils of this length; common practice, no source [m]."""

Measure = Literal["length", "count", "earth", "fluid", "mass"]
Ware = Literal[
    "pipe", "fitting", "trench", "soil", "sand", "insulation", "tape", "wire", "grout", "grout bag",
    "silica sand", "fluid", "antifreeze", "bore", "well", "coil", "plate frame",
    "mobilization",
]  # fmt: skip
"""What a line is bought or dug as, whatever it is called: by this it is priced and added up."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a take-off.

    Parameters
    ----------
    what
        The thing, in the trade's words.
    size
        Nominal size or mixture; empty where it has none.
    measure
        How it is counted.
    amount
        [m], pieces, [m3] or [kg].
    basis
        What the figure rests on.
    ware
        What it is bought or dug as.
    depth_m
        How deep it is dug, of a trench [m].
    """

    what: str
    size: str
    measure: Measure
    amount: float
    basis: str
    ware: Ware
    depth_m: float = 0.0


def take_off(site: Site, layout: Layout) -> tuple[Item, ...]:
    """All items of a layout, empty where it has no header pipes."""
    piping, header = layout.piping, layout.header
    if piping is None or header is None:
        return ()
    items = (
        *_frames(site, layout),
        *_pipe(layout, piping, site.unit),
        *_fittings(layout, piping, site.unit),
        *_insulation(site, layout),
        *_earth(site, layout, piping, header),
        *_grout(site, layout),
        *_fluid(site, layout),
    )
    return tuple(item for item in items if item.amount > 0)


def amount_of(item: Item, unit: UnitSystem) -> tuple[float, str]:
    """Amount rounded up in the unit it is bought by, and that unit.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> amount_of(Item("tracer wire", "", "length", 30.5, "", "wire"), US)
    (101.0, 'ft')
    >>> amount_of(Item("antifreeze", "", "fluid", 0.0379, "", "antifreeze"), US)
    (11.0, 'gal')
    """
    match item.measure:
        case "length":
            return round_to(to_unit(item.amount, unit), 0, "up"), unit.name
        case "count":
            return float(round(item.amount)), "EA"
        case "earth":
            return _rounded_up(item.amount, unit.earth)
        case "fluid":
            return _rounded_up(item.amount, unit.fluid)
        case "mass":
            return _rounded_up(item.amount, unit.mass)


def _rounded_up(amount: float, measure: units.Measure) -> tuple[float, str]:
    return round_to(measure.of(amount), measure.decimals or 0, "up"), measure.label


def fluid_volume(layout: Layout, group: str | None = None) -> float | None:
    """Fluid in circuits, plates and header pipes [m3], None where a size is not known.

    ``group``: of one group alone; None: of the whole field.
    """
    piping = layout.piping
    if piping is None or "" in piping.lengths_m:
        return None
    circuits = sum(
        fill_volume(pipes()[circuit.pipe], circuit.length_m)
        for circuit in layout.circuits
        if group in (None, circuit.group)
    )
    header = sum(fill_volume(pipes()[size], m) for size, m in piping.lengths_of(group).items())
    return circuits + header + _in_plates(layout, group)


def _in_plates(layout: Layout, group: str | None) -> float:
    """Fluid in hollow plates [m3]."""
    held = {coil.id: coil.fluid_m3 for coil in layout.of(Coil)}
    joined = [each for each in layout.circuits if group in (None, each.group)]
    return sum(held.get(name, 0.0) for circuit in joined for name in circuit.elements)


def _frames(site: Site, layout: Layout) -> Iterator[Item]:
    """Frames of hollow plates, as their maker delivers them."""
    frame, coils = site.exchanger.pond.body, layout.of(Coil)
    if not coils or not isinstance(frame, PlateFrame):
        return
    sides = f"{_size(frame.plate_length_m, site)} × {_size(frame.plate_height_m, site)}"
    size = f"{frame.plates} plates {sides}"
    basis = "with ballast; sizes as stated"
    yield Item("plate frame", size, "count", len(coils), basis, "plate frame")


def _pipe(layout: Layout, piping: Piping, unit: UnitSystem) -> Iterator[Item]:
    circuits: dict[str, float] = {}
    for circuit in layout.circuits:
        circuits[circuit.pipe] = circuits.get(circuit.pipe, 0.0) + circuit.length_m
    for size, length in circuits.items():
        yield Item(
            "circuit pipe", size, "length", length, _count(len(layout.circuits), "circuit"), "pipe"
        )
    order = ["", *pipes()]
    for size, length in sorted(piping.lengths_m.items(), key=lambda pair: order.index(pair[0])):
        run_outs = [group for group in piping.groups if group.pipe == size]
        run_out = sum(group.run_out_m for group in run_outs)
        named = size or "by flow"
        basis = f"{piping.layout}: {words_of(piping.why, unit)}"
        yield Item("header pipe", named, "length", max(0.0, length - run_out), basis, "pipe")
        basis = "supply and return from the manifold to the first branch: " + ", ".join(
            f"{group.id} 2 × {format_length(group.run_out_m / 2, unit, 0, rounding='up')}"
            for group in run_outs
        )
        yield Item("run-out pipe", named, "length", run_out, basis, "pipe")


def _insulation(site: Site, layout: Layout) -> Iterator[Item]:
    """Sleeves on header pipe where ice or frost may reach it."""
    shallow = shallow_header(site, layout)
    if shallow is None:
        return
    deep = format_length(shallow.reach_m, site.unit, rounding="up")
    assumed = ", assumed" if shallow.assumed else ""
    basis = f"each pipe of the header above {deep} of frost"
    if shallow.wet:
        basis = f"each pipe of the header under less than {deep} of water or in frost{assumed}"
    for size, length in shallow.pipes_m.items():
        yield Item("pipe insulation", size or "by flow", "length", length, basis, "insulation")


OUTFALL_BASIS: Final = "headwall or stone, screen, check valve (common practice)"


def _fittings(layout: Layout, piping: Piping, unit: UnitSystem) -> Iterator[Item]:
    size = layout.circuits[0].pipe if layout.circuits else ""
    yield Item("U-bend", size, "count", _u_bends(layout, size), "one for each loop", "fitting")
    yield from _manifold(piping)
    yield from _pit_manifold(layout, piping)
    fittings = piping.fittings
    basis = "supply and return of the header"
    yield Item("outfall", "", "count", len(layout.of(Outfall)), OUTFALL_BASIS, "fitting")
    yield Item("tee", "by header", "count", fittings.tees, basis, "fitting")
    yield Item("elbow", "by header", "count", fittings.elbows, basis, "fitting")
    turns = sum(elbows_of(course_of(crossover, layout)) for crossover in layout.crossovers)
    yield Item(
        "elbow", size, "count", turns, "turns of crossovers from far end to far end", "fitting"
    )
    yield Item("reducer", "by header", "count", fittings.reducers, basis, "fitting")
    legs = 0 if layout.loop.lines else 2 * sum(element.pipe_m > 0.0 for element in layout.elements)
    couplings = sum(math.floor(circuit.length_m / COIL_M - 1e-6) for circuit in layout.circuits)
    couplings = 0 if legs else couplings
    runs = sum(math.floor(length / COIL_M) for length in piping.lengths_m.values())
    each = format_length(COIL_M, unit, 0)
    basis = f"two for each {layout.loop.short}, and one for each {each} of pipe, common practice"
    yield Item("coupling", "by pipe", "count", legs + couplings + runs, basis, "fitting")


def _manifold(piping: Piping) -> Iterator[Item]:
    """What joins the groups of a divided field at the entry: common practice, no source."""
    groups = piping.groups
    for size in dict.fromkeys(group.pipe for group in groups):
        count = sum(group.pipe == size for group in groups)
        named = size or "by flow"
        each = "supply and return of each group, common practice"
        yield Item("isolation valve", named, "count", 2 * count, each, "fitting")
        yield Item(
            "balancing valve",
            named,
            "count",
            count,
            "return of each group, common practice",
            "fitting",
        )
    if groups:
        ports = f"{len(groups)} ports"
        yield Item("manifold", ports, "count", 2, "supply and return, at the entry", "fitting")
        each = "supply and return of each group, common practice"
        yield Item("purge port", "with valve", "count", 2 * len(groups), each, "fitting")


def _pit_manifold(layout: Layout, piping: Piping) -> Iterator[Item]:
    """What joins the circuits in a header pit: common practice, no source."""
    if piping.layout != "header pit":
        return
    # it is fused and buried: a valve there could not be got at
    where = "supply and return, fused in the header pit"
    yield Item("manifold", f"{len(layout.circuits)} ports", "count", 2, where, "fitting")


def _pit_dug(site: Site, piping: Piping, header: Header) -> Iterator[Item]:
    """What is dug for a header pit beside the header trench in it."""
    if header.pit is None:
        return
    trench = header.pit.outline.intersection(
        MultiLineString(list(header.runs)).buffer(piping.width_m / 2, cap_style="flat")
    )
    volume = (header.pit.area_m2 - float(trench.area)) * piping.depth_m
    sides = " × ".join(_size(side, site) for side in header.pit.sides_m)
    basis = f"{sides}, {_size(piping.depth_m, site)} deep, sides upright, bank measure"
    yield Item("header pit dug", "", "earth", volume, basis, "soil")


def _u_bends(layout: Layout, size: str) -> int:
    turned = [trench for trench in layout.of(Trench) if needs_fitting(trench, size)]
    return len(layout.of(Bore)) + sum(trench.pipes // 2 for trench in turned)


def _earth(site: Site, layout: Layout, piping: Piping, header: Header) -> Iterator[Item]:
    dug = dug_length(site, header)
    by_width = _dug_by_width(site, piping, header)
    in_water = dug < header.length_m - TOLERANCE
    basis = "outside ponds" if in_water else "along the header"
    for width, length in by_width.items():
        section = f"{_size(width, site)} wide, {_size(piping.depth_m, site)} deep"
        yield Item("header trench", section, "length", length, basis, "trench", piping.depth_m)
    volume = sum(width * length for width, length in by_width.items()) * piping.depth_m
    yield Item("header trench dug", "", "earth", volume, "sides upright, bank measure", "soil")
    yield from _pit_dug(site, piping, header)
    trenches, options = layout.of(Trench), site.exchanger.horizontal
    length = sum(trench.length_m for trench in trenches)
    count, deep = f"{len(trenches)} trenches", options.depth_m
    yield Item("exchanger trench", "", "length", length, count, "trench", deep)
    ends = 2 * sum(not trench.is_ring for trench in trenches)
    volume = length * section_area(options) + ends * end_volume(options)
    sides = "sloped" if strip_width(options) > options.width_m + TOLERANCE else "upright"
    yield Item("exchanger trench dug", "", "earth", volume, f"sides {sides}, bank measure", "soil")
    crossovers = sum(crossover.length_m for crossover in layout.crossovers)
    basis = "from far end to far end of trenches"
    yield Item("crossover trench", "", "length", crossovers, basis, "trench", deep)
    volume = crossovers * section_area(options)
    yield Item("crossover trench dug", "", "earth", volume, f"sides {sides}, bank measure", "soil")
    length += crossovers
    sand = header_sand(site, piping, header) + length * sand_area(options)
    yield Item("sand", "", "earth", sand, _sand_basis(site.unit), "sand")
    yield Item("warning tape", "", "length", dug + length, "over every trench", "tape")
    yield Item("tracer wire", "", "length", dug + length, "along every trench", "wire")


def _sand_basis(unit: UnitSystem) -> str:
    below, above = (unit.layer.text(height) for height in (SAND_BELOW_M, SAND_ABOVE_M))
    return (
        f"{below} below to {above} above each pipe layer, common practice; pipe volume not deducted"
    )


def dug_length(site: Site, header: Header) -> float:
    """Length of header trench to be dug: what lies in a pond is laid on its bottom [m]."""
    return dry_length(MultiLineString(list(header.runs)), site)


def _dug_by_width(site: Site, piping: Piping, header: Header) -> dict[float, float]:
    """Length of header trench to be dug by its width, the usual width first [m]."""
    lengths = {piping.width_m: dug_length(site, header)}
    wide = sorted((p for p in piping.pieces if p.width_m), key=lambda piece: piece.width_m)
    for piece, line in zip(wide, piece_lines(wide, header), strict=True):
        length = dry_length(line, site)
        lengths[piping.width_m] -= length
        lengths[piece.width_m] = lengths.get(piece.width_m, 0.0) + length
    return lengths


def header_sand(site: Site, piping: Piping, header: Header) -> float:
    """Sand in the header trench, each piece by its width and by what of it is dug [m3]."""
    pieces = piping.pieces
    weights = [dry_length(line, site) for line in piece_lines(pieces, header)]
    areas = [sand_height(piece, piping) * piece_width(piece, piping) for piece in pieces]
    whole = sum(weights)
    mean = sum(map(math.prod, zip(weights, areas, strict=True))) / whole if whole > 0 else 0.0
    # pieces leave out what rounding lost between them
    return dug_length(site, header) * mean


def dry_length(line: LineString | MultiLineString, site: Site) -> float:
    """Length of a line of the header outside ponds, where a trench is dug for it [m]."""
    water = shapely.union_all([pond.shape for pond in site.of_kind("pond")])
    return float(line.difference(water).length)


def _count(number: int, noun: str) -> str:
    """Number with its noun.

    Examples
    --------
    >>> _count(1, "bore"), _count(2, "circuit")
    ('1 bore', '2 circuits')
    """
    return f"{number} {noun if number == 1 else plural(noun)}"


def _grout(site: Site, layout: Layout) -> Iterator[Item]:
    grout, unit = grout_of(site, layout), site.unit.fluid
    if grout is None:
        return
    bores, whose = _count(grout.bores, "bore"), "its" if grout.bores == 1 else "their"
    basis = f"{bores} less {whose} pipes, from the toe up to the header trench"
    if grout.extra > 0:
        basis += f", and {100 * grout.extra:.0f} % for loss"
        basis += ", common practice" if grout.extra == GroutOptions().extra else ""
    if grout.yield_m3 is None:
        basis += "; bags: once the yield of one is stated"
    yield Item("grout, mixed", "", "fluid", grout.volume_m3, basis, "grout")
    if grout.yield_m3 is None:
        return
    each = f"{unit.of(grout.yield_m3):,.1f} {unit.label} of mixed grout a bag, as stated"
    yield Item("grout, bags", "", "count", grout.bags or 0, each, "grout bag")
    sand = f"{site.unit.mass.text(grout.sand_kg)} with each bag, as stated"
    yield Item("silica sand", "", "mass", grout.all_sand_kg, sand, "silica sand")


def _fluid(site: Site, layout: Layout) -> Iterator[Item]:
    volume, fluid = fluid_volume(layout), site.exchanger.piping.fluid
    flow = layout.piping.hydraulics if layout.piping is not None else None
    if volume is None or fluid is None or flow is None:
        return  # where no flow is stated nobody has chosen the fluid either
    where = "pipes of circuits and header"
    where += ", plates" if _in_plates(layout, None) else ""
    yield Item("fluid", fluid.mixture, "fluid", volume, where, "fluid")
    share = antifreeze_share(fluid.mixture)
    pure = share * volume
    yield Item("antifreeze, pure", fluid.mixture, "fluid", pure, "by volume", "antifreeze")


def _size(length_m: float, site: Site) -> str:
    number = f"{to_unit(length_m, site.unit):.2f}".rstrip("0").rstrip(".")
    return f"{number} {site.unit}"
