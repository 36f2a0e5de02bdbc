"""From the geometry of a drawing to a layout: places from lines and symbols, ids from attributes.

What only words can tell, such as how deep a bore is, is taken from the attributes, and from the
site file where a word rounds what stands there.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from shapely import LineString, Point

from siteplan.audit.figures import length_said
from siteplan.audit.labels import names_element
from siteplan.audit.model import Drawing, DrawnSymbol, Rebuilt, Word
from siteplan.audit.trenches import crossovers_of, trenches_of
from siteplan.audit.words import drawn_fault, place
from siteplan.available.area import wall_entries
from siteplan.checks.pond_depth import water_over
from siteplan.findings.model import Finding, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Coil, Element, Well
from siteplan.layout.header.shore import landings_on
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import OUTFALL_M, Outfall
from siteplan.layout.pit import PIT, HeaderPit
from siteplan.layout.pond import with_plates
from siteplan.sheet.style.styles import layer
from siteplan.site.loop_options import apart_of
from siteplan.site.model import Feature, Site, System
from siteplan.vocabulary.loop_types import loop_type, loop_types, made_of
from siteplan.vocabulary.pond_bodies import pond_bodies, pond_body

POND_BLOCKS: Final = {body.symbol.upper(): name for name, body in pond_bodies().items()}
"""What lies in a pond, by its symbol."""
LOOPS: Final = {
    **{name.upper(): loop for loop in loop_types().values() for name in loop.symbols},
    **{block: made_of(Coil.kind).called_as(pond_body(name)) for block, name in POND_BLOCKS.items()},
}
"""Loop type of each symbol that stands for an element."""
LABEL_NEAR: Final = 8.0
"""Heights of text within which an id beside a symbol without one is taken for its own."""
OWN_WELL_M: Final = 0.05
"""A supply well so near a known well is that well [m]."""
ENTRY_NEAR_M: Final = 0.005
"""An entry drawn farther than this from the site's has been moved [m]."""
NAMELESS: Final = "handle "


def rebuilt(drawing: Drawing, site: Site) -> Rebuilt:
    """Layout that a drawing shows, and what of it could not be read as it should be."""
    symbols = [symbol for symbol in drawing.symbols if symbol.block in LOOPS]
    findings = list(_wrong_layers(symbols))
    system = _system(symbols, site, findings)
    named = _named(
        [symbol for symbol in symbols if LOOPS[symbol.block].name == system], drawing, findings
    )
    elements: tuple[Element, ...]
    if loop_type(system).lines:
        elements = trenches_of(named, drawing, site, findings)
    else:
        elements = tuple(_element(name, symbol, drawing, site) for name, symbol in named)
    header = _header(drawing, site, findings)
    crossovers = crossovers_of(elements, drawing, findings)
    layout = Layout(
        system, elements, header, apart_of(site.exchanger, system), 0.0, crossovers=crossovers
    )
    return Rebuilt(layout, tuple(findings), tuple(named), _rounding(elements, site))


def _wrong_layers(symbols: Iterable[DrawnSymbol]) -> Iterable[Finding]:
    for symbol in symbols:
        wanted = layer(LOOPS[symbol.block].layer)
        if symbol.layer != wanted:
            name = symbol.value("ELEMENT") or f"{NAMELESS}{symbol.handle}"
            told = reason(
                "on-wrong-layer", name=name, handle=symbol.handle, layer=symbol.layer, wanted=wanted
            )
            yield drawn_fault("layer", told, name)


def _system(symbols: Sequence[DrawnSymbol], site: Site, findings: list[Finding]) -> System:
    """Loop type of most of the symbols."""
    counts: dict[System, int] = {}
    for symbol in symbols:
        system = LOOPS[symbol.block].name
        counts[system] = counts.get(system, 0) + 1
    if not counts:
        findings.append(drawn_fault("empty", reason("no-element-drawn")))
        return site.exchanger.system or site.exchanger.order[0]
    # a stray symbol is a fault of its own and makes no loop of another type
    most = max(counts, key=lambda system: counts[system])
    for symbol in symbols:
        if LOOPS[symbol.block].name != most:
            name = symbol.value("ELEMENT") or f"{NAMELESS}{symbol.handle}"
            told = reason(
                "of-another-loop-type",
                name=name,
                handle=symbol.handle,
                block=symbol.block,
                most=most,
            )
            findings.append(drawn_fault("loop-type", told, name))
    return most


def _named(
    symbols: Sequence[DrawnSymbol], drawing: Drawing, findings: list[Finding]
) -> list[tuple[str, DrawnSymbol]]:
    """Each symbol with its id: its attribute, else the id beside it, else its handle."""
    said = [symbol.value("ELEMENT") for symbol in symbols]
    # an id that a symbol carries is not to be had by another
    labels = [word for word in drawing.words if names_element(word) and word.text not in said]
    named: list[tuple[str, DrawnSymbol]] = []
    for name, symbol in zip(said, symbols, strict=True):
        if name:
            named.append((name, symbol))
            continue
        label = _label_beside(symbol, labels)
        where = reason(
            "symbol-there",
            block=symbol.block.lower(),
            handle=symbol.handle,
            place=place(symbol.at),
        )
        if label is not None:
            # one label names one symbol
            labels.remove(label)
            told = reason("id-taken-from-label", where=where, label=label.text)
            findings.append(drawn_fault("id-beside", told, label.text))
            named.append((label.text, symbol))
            continue
        told = reason("symbol-without-id", where=where)
        findings.append(drawn_fault("no-id", told, f"{NAMELESS}{symbol.handle}"))
        named.append((f"{NAMELESS}{symbol.handle}", symbol))
    _doubled(named, findings)
    return named


def _label_beside(symbol: DrawnSymbol, labels: Sequence[Word]) -> Word | None:
    near = [
        label for label in labels if math.dist(label.at, symbol.at) <= LABEL_NEAR * label.height
    ]
    return min(near, key=lambda label: math.dist(label.at, symbol.at), default=None)


def _doubled(named: Sequence[tuple[str, DrawnSymbol]], findings: list[Finding]) -> None:
    names = [name for name, _ in named]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            twins = [symbol for other, symbol in named if other == name]
            places = tuple(
                reason("handle-at", handle=symbol.handle, place=place(symbol.at))
                for symbol in twins
            )
            told = reason("drawn-several-times", name=name, times=len(twins), places=places)
            findings.append(drawn_fault("doubled", told, name))


def _element(
    name: str, symbol: DrawnSymbol, drawing: Drawing, site: Site
) -> Bore | Coil | Well | Outfall:
    x, y = symbol.at
    wanted = site.exchanger
    if symbol.block == "BORE":
        depth = length_said(symbol.value("DEPTH"), wanted.vertical.depth_most_m, site.unit)
        tilt, azimuth = _lean(symbol, drawing, depth)
        return Bore(name, x, y, wanted.vertical.diameter_m, depth, tilt, azimuth)
    if symbol.block in POND_BLOCKS:
        return _in_pond(name, symbol, site)
    if symbol.block == "OUTFALL":
        return Outfall(name, x, y, OUTFALL_M, wanted.open.outfall)
    role = "supply" if symbol.block == "SUPPLY-WELL" else "return"
    known = next((feature for feature in site.features if feature.id == wanted.open.supply), None)
    existing = known.id if role == "supply" and known and _is_there(known, x, y) else ""
    depth = 0.0 if existing else length_said(symbol.value("DEPTH"), wanted.open.depth_m, site.unit)
    return Well(name, x, y, wanted.open.diameter_m, depth, role, existing)  # type: ignore[arg-type]


def _in_pond(name: str, symbol: DrawnSymbol, site: Site) -> Coil:
    """A coil, mat or frame of plates, with what its symbol says of its length."""
    (x, y), options = symbol.at, site.exchanger.pond
    length = length_said(symbol.value("LENGTH"), options.pipe_per_coil_m, site.unit)
    pond, water = water_over(Point(x, y), symbol.radius_m, site)
    coil = Coil(
        name, x, y, 2 * symbol.radius_m, length, water, pond, body=POND_BLOCKS[symbol.block]
    )
    return with_plates(coil, options)


def _is_there(feature: Feature, x: float, y: float) -> bool:
    return float(feature.shape.centroid.distance(Point(x, y))) <= OWN_WELL_M


def _lean(symbol: DrawnSymbol, drawing: Drawing, depth_m: float) -> tuple[float, float]:
    """Tilt and azimuth of a bore, from the line of its course [deg]."""
    for line in drawing.on(layer("bore-course")):
        start, end = line.points[0], line.points[-1]
        if math.dist(start, symbol.at) <= TOLERANCE * 10:
            out = min(math.dist(start, end) / depth_m, 1.0)
            turn = math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360.0
            return math.degrees(math.asin(out)), turn
    return 0.0, 0.0


def _header(drawing: Drawing, site: Site, findings: list[Finding]) -> Header | None:
    """Header runs as drawn, and the site's entry nearest to the one drawn."""
    runs = tuple(LineString(line.points) for line in drawing.on(layer("header")))
    symbols = [symbol for symbol in drawing.symbols if symbol.block == "ENTRY"]
    if not runs:
        return None
    entries = wall_entries(site)
    if not entries:
        return None
    at = Point(symbols[0].at) if symbols else Point(runs[0].coords[0])
    entry = min(entries, key=lambda entry: float(entry.point.distance(at)))
    away = float(entry.point.distance(at))
    if not symbols:
        findings.append(drawn_fault("entry", reason("no-entry-drawn")))
    elif away > ENTRY_NEAR_M:
        told = reason(
            "entry-moved",
            handle=symbols[0].handle,
            place=place(symbols[0].at),
            entry=entry.id,
            listed=place((entry.point.x, entry.point.y)),
        )
        findings.append(drawn_fault("entry", told, entry.id, away))
    return Header(runs, entry, pit=_pit(drawing, findings), landings=landings_on(site, runs))


def _pit(drawing: Drawing, findings: list[Finding]) -> HeaderPit | None:
    """The header pit drawn; None where there is none."""
    outlines = [line for line in drawing.on(layer("header-pit")) if len(line.points) > 2]
    if len(outlines) > 1:
        handles = tuple(line.handle for line in outlines)
        findings.append(drawn_fault("doubled", reason("several-pits-drawn", handles=handles), PIT))
    return HeaderPit(outlines[0].points) if outlines else None


def _rounding(elements: Sequence[Element], site: Site) -> float:
    """What lengths that were read from words may lack, as each was rounded down [m]."""
    step = 0.01 * site.unit.metres
    known = (site.exchanger.vertical.depth_most_m, site.exchanger.pond.pipe_per_coil_m)
    read = [
        element
        for element in elements
        if isinstance(element, (Bore, Coil)) and element.length_m not in known
    ]
    return step * len(read)
