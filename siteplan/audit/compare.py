"""What the words of a drawing say, compared with its geometry."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.audit.expected import header_words
from siteplan.audit.figures import figures, length_in, same_figures, unit_rounding
from siteplan.audit.model import Drawing, DrawnSymbol, Loose, Rebuilt
from siteplan.audit.rebuild import NAMELESS
from siteplan.audit.sheet_tables import Listed, PrintedRow, SheetTables
from siteplan.audit.words import drawn_fault, move, place
from siteplan.checks.model import Separation
from siteplan.errors import Fault, InputError
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.boundary import ARC_OFF_M, outline_with_arcs
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.outfall import called
from siteplan.sheet.content.ties import END, stake_names, tie_targets
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.separations import pair_mark, row_mark, separation_name
from siteplan.site.model import Site
from siteplan.vocabulary.loop_types import made_of

SAME_M: Final = 0.001
"""A boundary this near to the parcel is the parcel [m]."""
SLACK: Final = 0.0051
"""Half of the last decimal of a coordinate, and what halves are worth [display unit]."""
ALIKE: Final = 0.02
"""Share of its size by which a scaled or shifted boundary may differ from the parcel's shape."""
LEAST_SHARED: Final = 0.5
"""Share of the ground of both that two views of one parcel have in common."""
MOST_LOOSE: Final = 6
OURS: Final = ("M-GHEX-", "V-PROP-")
"""How layers begin on which, as on 0, the pieces of what was exploded lie."""
ROUNDED_M: Final = 1e-4
"""What a rounded figure may differ by beyond its last decimal [m]."""


def boundary_findings(drawing: Drawing, site: Site) -> Iterator[Finding]:
    """What differs between the boundary drawn and the site's parcel.

    Raises
    ------
    InputError
        The drawing is of another scale, or of another site.
    """
    where = layer("property")
    rings = [Polygon(line.points) for line in drawing.on(where) if len(line.points) > 2]
    if not rings:
        yield drawn_fault("boundary", reason("no-boundary", layer=where))
        return
    if len(rings) > 1:
        yield drawn_fault("boundary", reason("many-boundaries", number=len(rings), layer=where))
    parcel = Polygon(site.parcel.exterior)
    # a lot beside may be drawn on the same layer: the most alike is the parcel
    drawn = min(rings, key=lambda ring: float(ring.hausdorff_distance(parcel)))
    off = float(drawn.hausdorff_distance(parcel))
    # a true arc is drawn as one, and the parcel has chords near it
    if off <= SAME_M + (ARC_OFF_M if any(outline_with_arcs(parcel)[1]) else 0.0):
        return
    fault = _not_this_site(drawing, drawn, parcel, site)
    if fault is not None:
        raise InputError([fault])
    yield _moved_boundary(drawn, parcel, off)


def _not_this_site(drawing: Drawing, drawn: Polygon, parcel: Polygon, site: Site) -> Fault | None:
    size = math.sqrt(parcel.area)
    times = math.sqrt(drawn.area / parcel.area) if drawn.area > 0 else 1.0
    # another size before another place: a scaled drawing lies elsewhere too, and needs another mend
    if abs(times - 1.0) > ALIKE and _shape_off(drawn, parcel, times) <= ALIKE * size:
        what = (
            f"is scaled: its boundary is {times:.4g} times as large as the site's parcel (its "
            f"units are {drawing.unit_name}, the site's {site.unit})."
        )
        mend = f"Scale it by {1 / times:.6g}, or set its units ($INSUNITS) to what it is drawn in."
        return Fault(drawing.name, what, mend)
    shared = float(drawn.buffer(0).intersection(parcel).area)
    both = float(drawn.buffer(0).union(parcel).area)
    # a parcel of the same shape was moved, and one that shares most ground was changed
    if shared < LEAST_SHARED * both and _shape_off(drawn, parcel, 1.0) > ALIKE * size:
        what = f"shows another site: its boundary is not the parcel of {site.source.name}."
        return Fault(drawing.name, what, "Name the site file that the drawing was made from.")
    return None


def _shape_off(drawn: Polygon, parcel: Polygon, times: float) -> float:
    """How far two shapes differ once both lie on one corner and have one size [m]."""
    corners = shapely.get_coordinates(drawn) / times
    low = corners.min(axis=0) - (parcel.bounds[0], parcel.bounds[1])
    return float(Polygon(corners - low).hausdorff_distance(parcel))


def _moved_boundary(drawn: Polygon, parcel: Polygon, off: float) -> Finding:
    shift = (drawn.bounds[0] - parcel.bounds[0], drawn.bounds[1] - parcel.bounds[1])
    if _shape_off(drawn, parcel, 1.0) <= SAME_M:
        told = reason("boundary-moved", move=move((0.0, 0.0), shift))
    else:
        corners = shapely.get_coordinates(drawn)
        worst = max(corners, key=lambda corner: float(parcel.exterior.distance(Point(corner))))
        at = place((float(worst[0]), float(worst[1])))
        told = reason("boundary-differs", off_m=off, place=at)
    return drawn_fault("boundary", told, "parcel", off)


def table_findings(rebuilt: Rebuilt, tables: SheetTables, site: Site) -> Iterator[Finding]:
    """What differs between the tables of the sheet and the geometry."""
    listed: dict[str, list[Listed]] = {}
    for row in tables.places:
        listed.setdefault(row.name, []).append(row)
    elements = {element.id: element for element in rebuilt.layout.elements}
    handles = {name: symbol.handle for name, symbol in rebuilt.symbols}
    for name in listed:
        if name.removesuffix(END) not in elements and not name.endswith(END):
            told = reason("listed-not-drawn", name=name, place=place(listed[name][0].at))
            yield drawn_fault("not-on-plan", told, name)
    for element in rebuilt.layout.elements:
        if element.id not in listed:
            if tables.whole and element.id in handles and not element.id.startswith(NAMELESS):
                told = reason("drawn-not-listed", name=element.id, handle=handles[element.id])
                yield drawn_fault("not-in-table", told, element.id)
            continue
        yield from _moved(element, listed, handles.get(element.id, "?"), site)
        for row in listed[element.id]:
            yield from _length_listed(element, row, site)
    count = len(rebuilt.layout.elements)
    for said in tables.headings:
        if str(count) not in figures(said):
            yield drawn_fault("count", reason("count-differs", said=said, count=count))
    yield from _header_findings(rebuilt, tables, site)


def _moved(
    element: Element, listed: dict[str, list[Listed]], handle: str, site: Site
) -> Iterator[Finding]:
    slack = SLACK * site.unit.metres
    stakes = zip(stake_names(element), tie_targets(element), strict=True)
    rows = ((name, at, row) for name, at in stakes for row in listed.get(name, ()))
    for name, at, row in rows:
        if max(abs(at[0] - row.at[0]), abs(at[1] - row.at[1])) > slack:
            told = reason(
                "element-moved",
                name=name,
                handle=handle,
                place=place(at),
                listed=place(row.at),
                move=move(row.at, at),
            )
            yield drawn_fault("moved", told, element.id, math.dist(at, row.at))


def _length_listed(element: Element, row: Listed, site: Site) -> Iterator[Finding]:
    actual = element.listed_m
    slack = (0.0101 if made_of(element.kind).lines else 0.11) * site.unit.metres
    if row.length_m is not None and not element.existing and abs(row.length_m - actual) > slack:
        told = reason("length-differs", name=element.id, drawn_m=actual, said_m=row.length_m)
        yield drawn_fault("length-listed", told, element.id, actual)


def _header_findings(rebuilt: Rebuilt, tables: SheetTables, site: Site) -> Iterator[Finding]:
    header = rebuilt.layout.header
    if header is None:
        if tables.header_lines:
            told = reason("header-not-drawn", layer=layer("header"))
            yield drawn_fault("header-missing", told, "header")
        return
    wanted = header_words(rebuilt.layout, site)
    for said in tables.header_lines:
        if not same_figures(said, wanted, unit_rounding(site.unit, 0.0)):
            told = reason("header-differs", said=said, drawn=wanted)
            yield drawn_fault("header-length", told, "header")
    if not tables.header_lines:
        yield drawn_fault("header-length", reason("header-untold"), "header")
    unit = site.unit.metres
    runs: BaseGeometry = shapely.MultiLineString(list(header.runs))
    if header.pit is not None:
        # its corners are staked with the header
        runs = runs.union(header.pit.outline.exterior)
    for row in tables.header_places:
        if runs.distance(Point(row.at)) > 1.5 * SLACK * unit:
            told = reason("point-off-header", name=row.name, place=place(row.at))
            yield drawn_fault("header-point", told, row.name)


def attribute_findings(rebuilt: Rebuilt, site: Site) -> Iterator[Finding]:
    """What differs between the attributes of the symbols and the geometry."""
    elements = {element.id: element for element in rebuilt.layout.elements}
    for name, symbol in rebuilt.symbols:
        element = elements.get(name)
        if element is None or not symbol.attributes:
            continue
        if symbol.value("KIND") not in ("", called(element)):
            yield _attribute(name, symbol, "KIND", reason("symbol-is", kind=called(element)))
        if isinstance(element, Well) and symbol.value("ROLE") not in ("", element.role):
            yield _attribute(name, symbol, "ROLE", reason("symbol-is", kind=f"{element.role} well"))
        yield from _lengths_said(element, symbol, site)


def _lengths_said(element: Element, symbol: DrawnSymbol, site: Site) -> Iterator[Finding]:
    said = {tag: length_in(symbol.value(tag), site.unit) for tag in ("DEPTH", "LENGTH")}
    step = 0.0101 * site.unit.metres
    if isinstance(element, Trench) and said["LENGTH"] is not None:
        lacking = element.length_m - said["LENGTH"]
        if not -ROUNDED_M <= lacking <= step:
            drawn = reason("drawn-so-long", length_m=element.length_m)
            yield _attribute(element.id, symbol, "LENGTH", drawn)
    for tag in made_of(element.kind).tags:
        if said[tag] is None:
            text = symbol.value(tag)
            no_length = reason("is-no-length", text=repr(text)) if text else reason("has-none")
            yield _attribute(element.id, symbol, tag, no_length)
    wide = site.exchanger.pond.coil_diameter_m
    if isinstance(element, Coil) and abs(element.diameter_m - wide) > SAME_M:
        told = reason(
            "size-differs",
            name=element.id,
            handle=symbol.handle,
            drawn_m=element.diameter_m,
            asked_m=wide,
        )
        yield drawn_fault("size", told, element.id)
    if isinstance(element, Bore) and symbol.value("TILT"):
        tilt = _number(symbol.value("TILT"))
        if tilt is None or abs(tilt - element.tilt_deg) > 0.1:
            leans = reason("drawn-so-leaning", tilt=f"{element.tilt_deg:.1f}")
            yield _attribute(element.id, symbol, "TILT", leans)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _attribute(name: str, symbol: DrawnSymbol, tag: str, drawn: Reason) -> Finding:
    told = reason(
        "attribute-differs",
        name=name,
        handle=symbol.handle,
        tag=tag,
        said=symbol.value(tag) or reason("nothing"),
        drawn=drawn,
    )
    return drawn_fault("attribute", told, name)


def printed_findings(
    rows: Sequence[Separation], tables: SheetTables, site: Site
) -> Iterator[Finding]:
    """What differs between the printed table of separations and the distances measured."""
    told: set[str] = set()
    for row in tables.separations:
        # the row of the same rule, whichever pair is the nearest: two may be equally near
        separation = next(
            (separation for separation in rows if row.name.startswith(f"{row_mark(separation)}/")),
            None,
        )
        if separation is None:
            yield drawn_fault("table-separation", reason("separation-unasked", row=row.label))
            continue
        told.add(row_mark(separation))
        if not _agrees(separation.provided_m, row):
            name = separation_name(separation, site)
            other = None if row.name == pair_mark(separation) else reason("for-pair", pair=name)
            what = reason(
                "separation-differs",
                said_m=row.provided_m,
                row=row.label,
                measured_m=separation.provided_m,
                other=other,
            )
            yield drawn_fault("table-separation", what, separation.element, separation.provided_m)
    for separation in rows if tables.separations else ():
        if row_mark(separation) not in told:
            name = separation_name(separation, site)
            what = reason("separation-gone", row=name)
            yield drawn_fault("table-separation", what, separation.element, separation.provided_m)


def _agrees(measured_m: float, row: PrintedRow) -> bool:
    """Whether a distance is what a row says, which is rounded down."""
    return abs(measured_m - row.provided_m) <= row.step_m + ROUNDED_M


def loose_findings(drawing: Drawing) -> Iterator[Finding]:
    """Pieces of blocks and lines that were exploded, so that nothing tells what they are.

    What lies on a layer of somebody's own was added, and is a warning.
    """
    pieces = [
        piece for piece in drawing.loose if piece.layer == "0" or piece.layer.startswith(OURS)
    ]
    added = [piece for piece in drawing.loose if piece not in pieces]
    if pieces:
        yield drawn_fault("exploded", reason("pieces-exploded", pieces=_counted(pieces)))
    if added:
        yield drawn_fault("added", reason("pieces-added", pieces=_counted(added)))


def _counted(loose: Sequence[Loose]) -> Reason:
    """How many things of which types lie where."""
    return reason(
        "foreign-pieces" if len(loose) > 1 else "foreign-piece",
        number=len(loose),
        kinds=tuple(sorted({piece.type for piece in loose})),
        some=tuple(
            reason("piece", handle=piece.handle, layer=piece.layer, place=place(piece.at))
            for piece in loose[:MOST_LOOSE]
        ),
        more=reason("and-more") if len(loose) > MOST_LOOSE else None,
    )
