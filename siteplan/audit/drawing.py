"""The one reader of drawings: a DXF file to plain values in metres."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import ezdxf.path
from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import read, readfile
from ezdxf.math import Vec3

from siteplan.audit.ink import Ink, inks_of
from siteplan.audit.model import XY, Drawing, DrawnLine, DrawnSymbol, Loose, Word
from siteplan.audit.opened import opened
from siteplan.errors import Fault, InputError
from siteplan.export.drawing.texts import USUAL_PITCH
from siteplan.export.xdata import APPLICATION, from_xdata
from siteplan.limits import MOST_DRAWN, MOST_DXF_BYTES, MOST_SYMBOLS
from siteplan.reading import judge_file
from siteplan.sheet.marks import Mark
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.symbols import symbol_shapes
from siteplan.units.lengths import FOOT, INCH, US_SURVEY_FOOT

UNITS: Final = {
    1: (INCH, "inches"), 2: (FOOT, "feet"), 4: (0.001, "millimetres"), 5: (0.01, "centimetres"),
    6: (1.0, "metres"), 10: (3 * FOOT, "yards"), 21: (US_SURVEY_FOOT, "US survey feet"),
}  # fmt: skip
"""Metres in a drawing unit, and its name, by the number in the file's header."""
PAPER_UNITS: Final = {0: 25.4, 1: 1.0}
"""Millimetres in a unit of paper, by the layout's number: inches, millimetres."""
SAG_M: Final = 0.0005
"""How far chords may lie beside an arc that somebody drew [m]."""
MOST_NAMED: Final = 5
LINES: Final = ("LWPOLYLINE", "POLYLINE")
USUAL: Final = (
    *LINES, "INSERT", "TEXT", "MTEXT", "LEADER", "HATCH", "DIMENSION", "WIPEOUT", "SOLID",
)  # fmt: skip
"""Types of which a plan's model space consists."""
LAYOUT: Final = "PLAN"
PLAN_COMES_FROM: Final = "Give the plan.dxf that siteplan plan wrote."


def read_drawing(path: Path) -> Drawing:
    """What stands in a drawing.

    Raises
    ------
    InputError
        No such file, no DXF, a DXF with errors, no plan of siteplan, or no unit.
    """
    document, auditor = _document(path)
    if auditor.has_errors:
        raise InputError([_damage(path, error) for error in auditor.errors[:MOST_NAMED]])
    names = frozenset(str(row.dxf.name) for row in document.layers)
    if not {layer("property"), layer("sheet-text")} <= names or LAYOUT not in document.layouts:
        what = f"is no plan of siteplan: layer {layer('property')} or layout {LAYOUT} is missing."
        raise InputError([Fault(path.name, what, PLAN_COMES_FROM)])
    factor, unit = _unit(path, document)
    _refuse_too_many(path, document)
    inks = inks_of(document)
    unusable = [ink for ink in inks if not (ink.is_whole and ink.is_something)]
    if unusable:
        raise InputError([_no_size(path, ink) for ink in unusable[:MOST_NAMED]])
    model = list(document.modelspace())
    return Drawing(
        name=path.name,
        unit_name=unit,
        symbols=tuple(_symbols(model, factor)),
        lines=tuple(_lines(model, factor)),
        words=tuple(_words(model, factor)),
        loose=tuple(_loose(model, factor)),
        sheet_words=tuple(_sheet_words(document)),
        layers=names,
        repaired=tuple(_repairs(auditor.fixes)),
        inks=inks,
        unit_m=factor,
    )


def _refuse_too_many(path: Path, document: Document) -> None:
    """Refuse what takes longer to judge than anybody waits."""
    things = list(document.modelspace())
    known = {name.upper() for name in symbol_shapes()}
    symbols = sum(
        thing.dxftype() == "INSERT" and thing.dxf.name.upper() in known for thing in things
    )
    runs = sum(thing.dxf.layer == layer("header") for thing in things)
    counts = (
        ("things in model space", len(things), MOST_DRAWN),
        ("symbols of elements", symbols, MOST_SYMBOLS),
        (f"things on layer {layer('header')}", runs, MOST_SYMBOLS),
    )
    faults = [
        Fault(path.name, f"has {count:,} {what}; {most:,} are audited.", "Erase what was added.")
        for what, count, most in counts
        if count > most
    ]
    if faults:
        raise InputError(faults)


def inks_in(text: str) -> tuple[Ink, ...]:
    """All that is drawn in the text of a DXF file."""
    return inks_of(read(io.StringIO(text)))


def _no_size(path: Path, ink: Ink) -> Fault:
    what = (
        f"{ink.type} on layer {ink.layer} has no length or size."
        if ink.is_whole
        else f"{ink.type} on layer {ink.layer} lies at no number, or has a size that is none."
    )
    where = f"{path.name}, handle {ink.handle}"
    return Fault(where, what, "Erase it, or take the drawing as it was before.")


def _document(path: Path) -> tuple[Document, Any]:
    """The file as it stands once what can be mended in it was mended, and what was wrong."""
    beyond = judge_file(path, MOST_DXF_BYTES)
    if beyond is not None:
        raise InputError([beyond])
    try:
        with path.open("rb") as file:
            start = file.read(6)
    except OSError as error:
        fault = Fault(str(path), f"cannot be read ({error.strerror}).", "Name a DXF file.")
        raise InputError([fault]) from error
    if start.startswith(b"AC1"):
        raise InputError([Fault(path.name, "is a DWG, not a DXF.", "Save it as DXF 2013.")])
    try:
        document = readfile(path)
        return document, document.audit()
    except Exception as error:  # a damaged file can end the reader in any way
        why = str(error).splitlines()[0].rstrip(".") if str(error) else type(error).__name__
        what = f"is not a DXF that can be read ({why})."
        raise InputError([Fault(path.name, what, PLAN_COMES_FROM)]) from error


def _damage(path: Path, error: Any) -> Fault:
    handle = error.entity.dxf.handle if error.entity is not None else None
    where = f"{path.name}, handle {handle}" if handle else path.name
    return Fault(where, f"{error.message.rstrip('.')}.", "Repair the file in a CAD program.")


def _repairs(fixes: Iterable[Any]) -> Iterator[str]:
    for fix in fixes:
        yield str(fix.message).rstrip(".")


def _unit(path: Path, document: Document) -> tuple[float, str]:
    number = int(document.header.get("$INSUNITS", 0))
    if number in UNITS:
        return UNITS[number]
    what = f"says no unit of length that a plan has ($INSUNITS = {number})."
    raise InputError([Fault(path.name, what, "Set the drawing's units to feet or metres.")])


def _wcs(entity: Any, place: Any, factor: float) -> XY:
    spot = entity.ocs().to_wcs(place)
    return float(spot[0]) * factor, float(spot[1]) * factor


def _symbols(model: Iterable[Any], factor: float) -> Iterator[DrawnSymbol]:
    known = {name.upper() for name in symbol_shapes()}
    for entity in model:
        if entity.dxftype() == "INSERT" and entity.dxf.name.upper() in known:
            yield DrawnSymbol(
                handle=entity.dxf.handle,
                layer=entity.dxf.layer,
                block=entity.dxf.name.upper(),
                at=_wcs(entity, entity.dxf.insert, factor),
                radius_m=abs(float(entity.dxf.xscale)) * factor,
                attributes=tuple((row.dxf.tag, row.dxf.text) for row in entity.attribs),
                mark=_mark(entity),
            )


def _mark(entity: Any) -> Mark | None:
    """What an entity says that it is."""
    return from_xdata(entity.get_xdata(APPLICATION)) if entity.has_xdata(APPLICATION) else None


def _lines(model: Iterable[Any], factor: float) -> Iterator[DrawnLine]:
    for entity in model:
        if entity.dxftype() not in LINES:
            continue
        if entity.has_arc:
            flat = ezdxf.path.make_path(entity).flattening(SAG_M / factor)
            points = [(float(p.x) * factor, float(p.y) * factor) for p in flat]
        elif entity.dxftype() == "LWPOLYLINE":
            points = [(float(p.x) * factor, float(p.y) * factor) for p in entity.vertices_in_wcs()]
        else:
            points = [_wcs(entity, place, factor) for place in entity.points()]
        closed = bool(entity.is_closed)
        if closed and len(points) > 1 and points[0] == points[-1]:
            points.pop()
        if len(points) > 1:
            yield DrawnLine(entity.dxf.handle, entity.dxf.layer, tuple(points), closed)


def _words(space: Iterable[Any], factor: float, sheet: int = 0) -> Iterator[Word]:
    for entity in space:
        kind = entity.dxftype()
        lines = (
            _line(entity)
            if kind in ("TEXT", "ATTRIB")
            else _lines_of(entity)
            if kind == "MTEXT"
            else ()
        )
        mark = _mark(entity)
        for number, (text, place, height) in enumerate(lines):
            at, size = _wcs(entity, place, factor), float(height) * factor
            own = mark and replace(mark, line=mark.line + number)
            yield Word(text, at, size, entity.dxf.layer, own, entity.dxf.handle, sheet)


Said = tuple[str, Any, float]
"""What a line of text says, where its base line begins, how tall it is, in units of the file."""


def _line(entity: Any) -> tuple[Said, ...]:
    aligned = entity.dxf.halign and entity.dxf.hasattr("align_point")
    place = entity.dxf.align_point if aligned else entity.dxf.insert
    return ((entity.dxf.text.replace("%%%%%%", "%%"), place, entity.dxf.height),)


def _lines_of(entity: Any) -> Iterator[Said]:
    """Each line of a paragraph, which hangs from above its first."""
    height = float(entity.dxf.char_height)
    pitch = height * USUAL_PITCH * float(entity.dxf.line_spacing_factor)
    down = Vec3.from_deg_angle(entity.get_rotation() - 90.0)
    for number, text in enumerate(entity.plain_text(split=True)):
        yield text, entity.dxf.insert + down * (height + number * pitch), height


def _sheet_words(document: Document) -> Iterator[Word]:
    """Text of all layouts, with the numbers of their sheets."""
    names = [name for name in document.layout_names_in_taborder() if name != "Model"]
    for number, name in enumerate(names, 1):
        layout = document.layout(name)
        unit = int(layout.dxf_layout.dxf.get("plot_paper_units", 1))
        yield from _words(opened(layout), PAPER_UNITS.get(unit, 1.0), number)


def _loose(model: Iterable[Any], factor: float) -> Iterator[Loose]:
    known = {name.upper() for name in symbol_shapes()}
    for entity in model:
        kind = entity.dxftype()
        if kind == "INSERT" and entity.dxf.name.upper() not in known:
            at = _wcs(entity, entity.dxf.insert, factor)
            yield Loose(entity.dxf.handle, entity.dxf.layer, f"block {entity.dxf.name}", at)
        elif kind not in USUAL:
            names = ("center", "start", "insert", "location")
            known_as = (name for name in names if entity.dxf.is_supported(name))
            place = next((entity.dxf.get(name) for name in known_as), None) or (0.0, 0.0, 0.0)
            yield Loose(entity.dxf.handle, entity.dxf.layer, kind, _wcs(entity, place, factor))
