"""What the words of a drawing say, compared with its geometry."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import shapely
from shapely import Point, Polygon

from siteplan.audit.expected import header_words
from siteplan.audit.figures import figures, same_figures, unit_rounding
from siteplan.audit.model import Drawing, DrawnSymbol, Loose, Rebuilt
from siteplan.audit.sheet_tables import Listed, PrintedRow, SheetTables
from siteplan.audit.words import drawn_fault, move_words, place_words
from siteplan.checks.model import Separation
from siteplan.errors import Fault, InputError
from siteplan.findings.model import Finding
from siteplan.layout.model import Bore, Coil, Element, Trench, Well
from siteplan.sheet.content.ties import END, stake_names, tie_targets
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.separations import pair_mark, row_mark, separation_name
from siteplan.site.model import Site
from siteplan.units.lengths import UnitError, format_length, parse_length

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
        yield drawn_fault("boundary", f"No boundary lies on layer {where}. Draw the plan again.")
        return
    if len(rings) > 1:
        sentence = f"{len(rings)} boundaries lie on layer {where}. Erase all but the parcel's."
        yield drawn_fault("boundary", sentence)
    parcel = Polygon(site.parcel.exterior)
    drawn = min(rings, key=lambda ring: float(ring.hausdorff_distance(parcel)))
    off = float(drawn.hausdorff_distance(parcel))
    if off <= SAME_M:
        return
    fault = _not_this_site(drawing, drawn, parcel, site)
    if fault is not None:
        raise InputError([fault])
    yield _moved_boundary(drawn, parcel, off, site)


def _not_this_site(drawing: Drawing, drawn: Polygon, parcel: Polygon, site: Site) -> Fault | None:
    size = math.sqrt(parcel.area)
    times = math.sqrt(drawn.area / parcel.area) if drawn.area > 0 else 1.0
    if abs(times - 1.0) > ALIKE and _shape_off(drawn, parcel, times) <= ALIKE * size:
        what = (
            f"is scaled: its boundary is {times:.4g} times as large as the site's parcel (its "
            f"units are {drawing.unit_name}, the site's {site.unit})."
        )
        mend = f"Scale it by {1 / times:.6g}, or set its units ($INSUNITS) to what it is drawn in."
        return Fault(drawing.name, what, mend)
    shared = float(drawn.buffer(0).intersection(parcel).area)
    both = float(drawn.buffer(0).union(parcel).area)
    if shared < LEAST_SHARED * both and _shape_off(drawn, parcel, 1.0) > ALIKE * size:
        what = f"shows another site: its boundary is not the parcel of {site.source.name}."
        return Fault(drawing.name, what, "Name the site file that the drawing was made from.")
    return None


def _shape_off(drawn: Polygon, parcel: Polygon, times: float) -> float:
    """How far two shapes differ once both lie on one corner and have one size [m]."""
    corners = shapely.get_coordinates(drawn) / times
    low = corners.min(axis=0) - (parcel.bounds[0], parcel.bounds[1])
    return float(Polygon(corners - low).hausdorff_distance(parcel))


def _moved_boundary(drawn: Polygon, parcel: Polygon, off: float, site: Site) -> Finding:
    shift = (drawn.bounds[0] - parcel.bounds[0], drawn.bounds[1] - parcel.bounds[1])
    if _shape_off(drawn, parcel, 1.0) <= SAME_M:
        moved = move_words((0.0, 0.0), shift, site.unit)
        sentence = f"The boundary is drawn {moved} of the site's parcel. Move it back; with it all "
        sentence += "else, if the whole drawing was moved."
    else:
        corners = shapely.get_coordinates(drawn)
        worst = max(corners, key=lambda corner: float(parcel.exterior.distance(Point(corner))))
        shown = format_length(off, site.unit, 2, rounding="up")
        place = place_words((float(worst[0]), float(worst[1])), site.unit)
        sentence = (
            f"The boundary drawn differs from the site's parcel by up to {shown}, at {place}. "
        )
        sentence += "Mend the drawing or the site file."
    return drawn_fault("boundary", sentence, "parcel", off)


def table_findings(rebuilt: Rebuilt, tables: SheetTables, site: Site) -> Iterator[Finding]:
    """What differs between the tables of the sheet and the geometry."""
    listed: dict[str, list[Listed]] = {}
    for listed_place in tables.places:
        listed.setdefault(listed_place.name, []).append(listed_place)
    elements = {element.id: element for element in rebuilt.layout.elements}
    handles = {name: symbol.handle for name, symbol in rebuilt.symbols}
    for name in listed:
        if name.removesuffix(END) not in elements and not name.endswith(END):
            place = place_words(listed[name][0].at, site.unit)
            sentence = (
                f"{name} stands in the table {place} but not on the plan. Draw it, or take it "
            )
            yield drawn_fault("not-on-plan", f"{sentence}out of the table.", name)
    for element in rebuilt.layout.elements:
        if element.id not in listed:
            if tables.whole and element.id in handles and not element.id.startswith("handle "):
                sentence = (
                    f"{element.id} (handle {handles[element.id]}) stands on the plan but not in"
                )
                yield drawn_fault("not-in-table", f"{sentence} the table. List it.", element.id)
            continue
        yield from _moved(element, listed, handles.get(element.id, "?"), site)
        for row in listed[element.id]:
            yield from _length_listed(element, row, site)
    count = len(rebuilt.layout.elements)
    for said in tables.headings:
        if str(count) not in figures(said):
            sentence = f"The sheet's heading says {said}; {count} elements lie on the plan."
            yield drawn_fault("count", f"{sentence} Mend the one or the other.")
    yield from _header_findings(rebuilt, tables, site)


def _moved(
    element: Element, listed: dict[str, list[Listed]], handle: str, site: Site
) -> Iterator[Finding]:
    slack = SLACK * site.unit.metres
    stakes = zip(stake_names(element), tie_targets(element), strict=True)
    rows = ((name, at, row) for name, at in stakes for row in listed.get(name, ()))
    for name, at, row in rows:
        if max(abs(at[0] - row.at[0]), abs(at[1] - row.at[1])) > slack:
            sentence = (
                f"{name} (handle {handle}) lies {place_words(at, site.unit)}, the table says "
                f"{place_words(row.at, site.unit)}: moved by "
                f"{move_words(row.at, at, site.unit)}. Move it back, or mend the table."
            )
            yield drawn_fault("moved", sentence, element.id, math.dist(at, row.at))


def _length_listed(element: Element, row: Listed, site: Site) -> Iterator[Finding]:
    actual = element.depth_m if isinstance(element, Well) else element.length_m
    known = not (isinstance(element, Well) and element.existing)
    slack = (0.0101 if isinstance(element, Trench) else 0.11) * site.unit.metres
    if row.length_m is not None and known and abs(row.length_m - actual) > slack:
        drawn, said = (format_length(length, site.unit, 2) for length in (actual, row.length_m))
        sentence = (
            f"{element.id} has a length or depth of {drawn}, the table says {said}. Mend the "
        )
        yield drawn_fault("length-listed", f"{sentence}one or the other.", element.id, actual)


def _header_findings(rebuilt: Rebuilt, tables: SheetTables, site: Site) -> Iterator[Finding]:
    header = rebuilt.layout.header
    if header is None:
        if tables.header_lines:
            sentence = f"The sheet lists a header trench, but layer {layer('header')} has no line."
            yield drawn_fault("header-missing", f"{sentence} Draw the plan again.", "header")
        return
    wanted = header_words(rebuilt.layout, site)
    for said in tables.header_lines:
        if not same_figures(said, wanted, unit_rounding(site.unit, 0.0)):
            sentence = f"The sheet says of the header: {said}; what is drawn gives: {wanted}."
            yield drawn_fault("header-length", f"{sentence} Mend the one or the other.", "header")
    if not tables.header_lines:
        sentence = "No sheet tells the length of the header any more. Write it again."
        yield drawn_fault("header-length", sentence, "header")
    unit = site.unit.metres
    runs = shapely.MultiLineString(list(header.runs))
    for row in tables.header_places:
        if runs.distance(Point(row.at)) > 1.5 * SLACK * unit:
            place = place_words(row.at, site.unit)
            sentence = f"{row.name} stands in the table {place}, where no header trench is drawn."
            yield drawn_fault("header-point", f"{sentence} Mend the table.", row.name)


def attribute_findings(rebuilt: Rebuilt, site: Site) -> Iterator[Finding]:
    """What differs between the attributes of the symbols and the geometry."""
    elements = {element.id: element for element in rebuilt.layout.elements}
    for name, symbol in rebuilt.symbols:
        element = elements.get(name)
        if element is None or not symbol.attributes:
            continue
        if symbol.value("KIND") not in ("", element.kind):
            yield _attribute(name, symbol, "KIND", f"its symbol is a {element.kind}")
        if isinstance(element, Well) and symbol.value("ROLE") not in ("", element.role):
            yield _attribute(name, symbol, "ROLE", f"its symbol is a {element.role} well")
        yield from _lengths_said(element, symbol, site)


def _lengths_said(element: Element, symbol: DrawnSymbol, site: Site) -> Iterator[Finding]:
    said = {tag: _read(symbol.value(tag), site) for tag in ("DEPTH", "LENGTH")}
    step = 0.0101 * site.unit.metres
    if isinstance(element, Trench) and said["LENGTH"] is not None:
        lacking = element.length_m - said["LENGTH"]
        if not -ROUNDED_M <= lacking <= step:
            drawn = format_length(element.length_m, site.unit, 2)
            yield _attribute(element.id, symbol, "LENGTH", f"it is drawn {drawn} long")
    wanted = [] if isinstance(element, Coil) else ["DEPTH"]
    wanted += ["LENGTH"] if isinstance(element, (Coil, Trench)) else []
    for tag in wanted:
        if said[tag] is None:
            shown = f"{symbol.value(tag)!r} is no length" if symbol.value(tag) else "it has none"
            yield _attribute(element.id, symbol, tag, shown)
    wide = site.exchanger.pond.coil_diameter_m
    if isinstance(element, Coil) and abs(element.diameter_m - wide) > SAME_M:
        drawn, asked = (
            format_length(length, site.unit, 2) for length in (element.diameter_m, wide)
        )
        sentence = (
            f"{element.id} (handle {symbol.handle}) is drawn {drawn} across; the site file says "
        )
        yield drawn_fault("size", f"{sentence}{asked}. Mend the one or the other.", element.id)
    if isinstance(element, Bore) and symbol.value("TILT"):
        tilt = _number(symbol.value("TILT"))
        if tilt is None or abs(tilt - element.tilt_deg) > 0.1:
            yield _attribute(
                element.id, symbol, "TILT", f"its course is drawn at {element.tilt_deg:.1f} deg"
            )


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _read(text: str, site: Site) -> float | None:
    try:
        return parse_length(text, site.unit.name) if text else None
    except UnitError:
        return None


def _attribute(name: str, symbol: DrawnSymbol, tag: str, value: str) -> Finding:
    sentence = (
        f"{name} (handle {symbol.handle}): attribute {tag} says {symbol.value(tag) or 'nothing'}, "
    )
    return drawn_fault("attribute", f"{sentence}but {value}. Mend the one or the other.", name)


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
            sentence = (
                f"The table of separations has {row.label}, which no rule asks for as drawn. "
            )
            yield drawn_fault("table-separation", f"{sentence}Plan again.")
            continue
        told.add(row_mark(separation))
        if not _agrees(separation.provided_m, row):
            said, measured = (
                format_length(length, site.unit, 2, rounding="down")
                for length in (row.provided_m, separation.provided_m)
            )
            name = separation_name(separation, alone=len(site.of_kind(separation.rule.subject)) < 2)
            sentence = f"The table of separations says {said} for {row.label}; measured: {measured}"
            sentence += "." if row.name == pair_mark(separation) else f" for {name}."
            yield drawn_fault(
                "table-separation",
                f"{sentence} Plan again.",
                separation.element,
                separation.provided_m,
            )
    for missing in rows if tables.separations else ():
        if row_mark(missing) not in told:
            name = separation_name(missing, alone=len(site.of_kind(missing.rule.subject)) < 2)
            sentence = f"The table of separations lacks {name}. Write the row again."
            yield drawn_fault("table-separation", sentence, missing.element, missing.provided_m)


def _agrees(measured_m: float, row: PrintedRow) -> bool:
    """Whether a distance is what a row says, which is rounded down."""
    return abs(measured_m - row.provided_m) <= row.step_m + ROUNDED_M


def loose_findings(drawing: Drawing, site: Site) -> Iterator[Finding]:
    """Pieces of blocks and lines that were exploded, so that nothing tells what they are.

    What lies on a layer of somebody's own was added, and is a warning.
    """
    pieces = [
        piece for piece in drawing.loose if piece.layer == "0" or piece.layer.startswith(OURS)
    ]
    added = [piece for piece in drawing.loose if piece not in pieces]
    if pieces:
        sentence = (
            f"{_counted(pieces, site)}. Blocks or polylines were exploded: undo that, or join the "
            "lines again; what has lost its id is not judged."
        )
        yield drawn_fault("exploded", sentence)
    if added:
        sentence = f"{_counted(added, site)}. It was added by somebody and is not judged."
        yield drawn_fault("added", sentence)


def _counted(loose: Sequence[Loose], site: Site) -> str:
    """How many things of which types lie where."""
    kinds = sorted({piece.type for piece in loose})
    some = ", ".join(
        f"{piece.handle} on layer {piece.layer} {place_words(piece.at, site.unit)}"
        for piece in loose[:MOST_LOOSE]
    )
    more = " and more" if len(loose) > MOST_LOOSE else ""
    return (
        f"In model space {'lies' if len(loose) == 1 else 'lie'} what no plan has "
        f"({len(loose)}: {', '.join(kinds)}): handle{'' if len(loose) == 1 else 's'} {some}{more}"
    )
