"""A sheet as DXF R2013: the model at true size, and each sheet as a paper-space layout.

Translation only: every decision was taken when the sheet was composed. The same sheet gives the
same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from ezdxf import options  # type: ignore[attr-defined]  # public, but re-exported silently
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.base import BaseLayout
from ezdxf.layouts.layout import Paperspace

from siteplan.export.xdata import APPLICATION, to_xdata
from siteplan.sheet.model import (
    XY,
    Dimension,
    Hatch,
    Polygon,
    Polyline,
    Primitive,
    Ring,
    Sheet,
    Space,
    Symbol,
    Text,
)
from siteplan.sheet.style.dimensions import dimension_ink
from siteplan.sheet.style.plotted import plotted
from siteplan.sheet.style.styles import Style, layer, linetypes, styles
from siteplan.sheet.style.symbols import SymbolShape, symbol_shapes
from siteplan.units.lengths import to_unit

FONTS: Final = {False: ("PLAN", "DejaVuSans.ttf"), True: ("PLAN-BOLD", "DejaVuSans-Bold.ttf")}
"""Text style and its font file, by whether it is bold."""
ANCHORS: Final = {
    "left": TextEntityAlignment.LEFT,
    "center": TextEntityAlignment.CENTER,
    "right": TextEntityAlignment.RIGHT,
}
DIMENSION_STYLE: Final = "PLAN"
PLAN: Final = "PLAN"
"""Layout of the plan sheet; those of the others are called by their numbers, L1A, L2 and so on."""
BY_BLOCK, BLACK_OR_WHITE, BY_LAYER = 0, 7, 256
"""Colour indices of the format."""


def write_dxf(sheet: Sheet, path: Path, *, more: Sequence[Sheet] = ()) -> None:
    """Write the plan sheet as a DXF file, further sheets of its set as layouts of their own."""
    path.write_text(dxf_text(sheet, more=more), encoding="utf-8", newline="\n")


def dxf_text(sheet: Sheet, *, more: Sequence[Sheet] = ()) -> str:
    """Text of the DXF file of a plan sheet and of the further sheets of its set."""
    with _repeatable():
        layers = _all_layers((sheet, *more))
        doc = _document(replace(sheet, layers=layers))
        _add_layout(doc, sheet, PLAN)
        _write_items(sheet, doc, PLAN, layers)
        for page in map(plotted, more):
            _add_layout(doc, page, page.number)
            _write_items(page, doc, page.number, layers)
        return _text_of(doc)


def write_model(sheet: Sheet, path: Path) -> None:
    """Write what stands in model space alone, for programs that stumble over paper space."""
    with _repeatable():
        items = tuple(item for item in sheet.primitives if item.space == "model")
        alone = replace(sheet, primitives=items)
        doc = _document(alone)
        _write_items(alone, doc, "Layout1", sheet.layers)
        path.write_text(_text_of(doc), encoding="utf-8", newline="\n")


Layers = tuple[tuple[str, str], ...]


def _all_layers(sheets: Sequence[Sheet]) -> Layers:
    """Layers of all sheets, those of the first first."""
    looks: dict[str, str] = {}
    for sheet in sheets:
        for name, style in sheet.layers:
            looks.setdefault(name, style)
    return tuple(looks.items())


def _write_items(sheet: Sheet, doc: Drawing, layout: str, layers: Layers) -> None:
    writer = _Writer(sheet, doc, layout, layers)
    for item in sheet.primitives:
        writer.write(item)


def _text_of(doc: Drawing) -> str:
    stream = io.StringIO()
    # classes follow the hash seed unless they are there, in order, before writing
    doc.classes.add_required_classes(doc.dxfversion)
    ordered = sorted(doc.classes.classes.items(), key=lambda item: str(item[0]))
    doc.classes.classes = dict(ordered)
    doc.write(stream)
    return stream.getvalue()


@contextmanager
def _repeatable() -> Iterator[None]:
    """Without clock and GUIDs in the file, so that its bytes repeat."""
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _document(sheet: Sheet) -> Drawing:
    doc = new("R2013", units=sheet.unit.drawing.insunits)
    scale = _units_per_paper_unit(sheet)
    doc.header["$MEASUREMENT"] = sheet.unit.drawing.measurement
    doc.header["$LTSCALE"] = scale
    # else a window would scale the dashes of the model once more
    doc.header["$PSLTSCALE"] = 0
    # for dimensions that somebody adds: those of the plan bring their own picture
    doc.header["$DIMSCALE"] = scale
    doc.header["$DIMASZ"] = 2.0 * _paper_unit(sheet)
    doc.header["$DIMTXT"] = 2.1 * _paper_unit(sheet)
    doc.header["$DIMTAD"] = 1
    doc.set_wipeout_variables(frame=0)  # type: ignore[no-untyped-call]
    for bold in FONTS:
        doc.styles.add(FONTS[bold][0], font=FONTS[bold][1])
    doc.appids.add(APPLICATION)
    _add_dimension_style(doc)
    for name, pattern in linetypes().items():
        if pattern:
            _add_linetype(doc, name, pattern, _paper_unit(sheet))
    for name, style in sheet.layers:
        _add_layer(doc, name, styles()[style])
    for name, shape in symbol_shapes().items():
        _add_block(doc, name, shape)
    _show_model(doc, sheet)
    return doc


def _paper_unit(sheet: Sheet) -> float:
    """Paper units (inches or millimetres) in a millimetre."""
    return 1.0 / sheet.unit.drawing.paper_unit_mm


def _units_per_paper_unit(sheet: Sheet) -> float:
    """Drawing units (feet or metres) that one paper unit stands for."""
    return sheet.view.ratio / sheet.unit.drawing.paper_units


def _add_dimension_style(doc: Drawing) -> None:
    style = doc.dimstyles.duplicate_entry("Standard", DIMENSION_STYLE)
    for name in ("dimscale", "dimasz", "dimtxt", "dimtad"):
        style.set_dxf_attrib(name, doc.header[f"${name.upper()}"])
    style.set_dxf_attrib("dimtxsty", FONTS[False][0])


def _add_linetype(doc: Drawing, name: str, pattern: tuple[float, ...], unit: float) -> None:
    signs = [length * unit * (-1.0 if odd % 2 else 1.0) for odd, length in enumerate(pattern)]
    total = sum(pattern) * unit
    doc.linetypes.add(name.upper(), pattern=[total, *signs], description=name)


def _add_layer(doc: Drawing, name: str, style: Style) -> None:
    weight = round(style.weight * 100)
    row = doc.layers.add(name, linetype=_linetype(style), lineweight=weight)
    row.update_dxf_attribs(_color(style))
    if name == layer("viewport"):
        row.dxf.plot = 0


def _linetype(style: Style) -> str:
    return style.linetype.upper() if linetypes()[style.linetype] else "CONTINUOUS"


def _color(style: Style) -> dict[str, int]:
    """Black as index 7, which turns white on a dark screen; any other colour as it is."""
    if style.color == "#000000":
        return {"color": BLACK_OR_WHITE}
    return {"true_color": int(style.color.lstrip("#"), 16)}


def _add_block(doc: Drawing, name: str, shape: SymbolShape) -> None:
    block = doc.blocks.new(_block_name(name))
    look = {"layer": "0", "color": BY_BLOCK}
    for x, y, radius in shape.circles:
        block.add_circle((x, y), radius, dxfattribs=look)
    for line in shape.lines:
        block.add_lwpolyline(line, dxfattribs=look)
    for solid in shape.solids:
        hatch = block.add_hatch(color=BY_BLOCK, dxfattribs={"layer": "0"})
        hatch.paths.add_polyline_path(solid, is_closed=True)
    for x, y, radius, start, end in shape.wedges:
        hatch = block.add_hatch(color=BY_BLOCK, dxfattribs={"layer": "0"})
        path = hatch.paths.add_edge_path()
        path.add_arc((x, y), radius, start, end)
        if end - start < 360.0:
            corners = [
                (x + radius * math.cos(math.radians(a)), y + radius * math.sin(math.radians(a)))
                for a in (start, end)
            ]
            path.add_line(corners[1], (x, y))
            path.add_line((x, y), corners[0])


def _block_name(name: str) -> str:
    return name.upper()


def _show_model(doc: Drawing, sheet: Sheet) -> None:
    """Let the window on model space show what the sheet shows."""
    view = sheet.view
    height = view.height_mm * _paper_unit(sheet) * _units_per_paper_unit(sheet)
    center = tuple(to_unit(value, sheet.unit) for value in view.turned_center)
    fill = max(1.0, sheet.paper.height_mm / view.height_mm)
    port = doc.set_modelspace_vport(height=height * fill, center=center)
    port.dxf.view_twist = view.turn_deg


def _add_layout(doc: Drawing, sheet: Sheet, name: str) -> None:
    """Set up paper space: the paper, and where the sheet shows the plan one viewport to scale."""
    unit, paper, view = _paper_unit(sheet), sheet.paper, sheet.view
    if name == PLAN:
        doc.layouts.rename("Layout1", name)
        layout = doc.layout(name)
    else:
        layout = doc.layouts.new(name)
    assert isinstance(layout, Paperspace)
    layout.page_setup(
        size=(paper.width_mm * unit, paper.height_mm * unit),
        margins=(0, 0, 0, 0),
        units=sheet.unit.drawing.paper_unit,
    )
    layout.reset_main_viewport().dxf.layer = layer("viewport")
    if view.width_mm <= 0.0:
        return
    height = view.height_mm * unit
    viewport = layout.add_viewport(
        center=tuple(value * unit for value in view.middle),
        size=(view.width_mm * unit, height),
        view_center_point=tuple(to_unit(value, sheet.unit) for value in view.turned_center),
        view_height=height * _units_per_paper_unit(sheet),
        dxfattribs={"layer": layer("viewport")},
    )
    viewport.dxf.view_twist_angle = view.turn_deg
    # a locked viewport keeps its scale
    viewport.dxf.flags = viewport.dxf.flags | 16384


class _Writer:
    """Writes primitives into model space or the layout, in drawing units."""

    def __init__(self, sheet: Sheet, doc: Drawing, layout: str, layers: Layers) -> None:
        self.sheet = sheet
        self.doc = doc
        self.layouts: dict[Space, BaseLayout] = {
            "model": doc.modelspace(),
            "paper": doc.layout(layout),
        }
        self.layers = dict(layers)
        self.paper = _paper_unit(sheet)
        self.scale = _units_per_paper_unit(sheet)

    def write(self, item: Primitive) -> None:
        """Write one primitive."""
        target = self.layouts[item.space]
        match item:
            case Polyline():
                self._polyline(target, item)
            case Polygon():
                self._polygon(target, item)
            case Hatch():
                self._hatch(target, item)
            case Text():
                self._text(target, item)
            case Symbol():
                self._symbol(target, item)
            case Dimension():
                self._dimension(target, item)

    def _points(self, points: Iterable[XY], space: Space) -> list[XY]:
        if space == "paper":
            return [(x * self.paper, y * self.paper) for x, y in points]
        unit = self.sheet.unit
        return [(to_unit(x, unit), to_unit(y, unit)) for x, y in points]

    def _size(self, size_mm: float, space: Space) -> float:
        return size_mm * self.paper * (self.scale if space == "model" else 1.0)

    def _look(self, item: Primitive) -> dict[str, Any]:
        """Attributes of an entity: what its layer says is left to the layer."""
        look: dict[str, Any] = {"layer": item.layer}
        style, stands = styles()[item.style], styles()[self.layers[item.layer]]
        if style.color != stands.color:
            look |= _color(style)
        if style.weight != stands.weight:
            look["lineweight"] = round(style.weight * 100)
        if style.linetype != stands.linetype:
            look["linetype"] = _linetype(style)
        if item.space == "paper":
            # undoes the scale of dashes, which is that of the model
            look["ltscale"] = 1.0 / self.scale
        return look

    def _polyline(self, target: BaseLayout, item: Polyline) -> None:
        points = self._points(item.points, item.space)
        # 128: dashes run on round the corners, where short pieces would show none
        look = {**self._look(item), "flags": 128}
        target.add_lwpolyline(points, close=item.closed, dxfattribs=look)

    def _polygon(self, target: BaseLayout, item: Polygon) -> None:
        if item.style in ("mask", "mask-low"):
            for ring in item.rings:
                # it takes the colour of any screen, and a white hatch only that of paper
                wipeout = target.add_wipeout(self._points(ring, item.space))
                wipeout.dxf.layer = item.layer
            return
        hatch = self._new_hatch(target, item)
        self._add_rings(hatch, item.rings, item.space)

    def _new_hatch(self, target: BaseLayout, item: Polygon | Hatch) -> Any:
        look = self._look(item)
        # a hatch would be black by default, whatever its layer says
        return target.add_hatch(color=look.pop("color", BY_LAYER), dxfattribs=look)

    def _add_rings(self, hatch: Any, rings: Iterable[Ring], space: Space) -> None:
        for ring in rings:
            hatch.paths.add_polyline_path(self._points(ring, space), is_closed=True)

    def _hatch(self, target: BaseLayout, item: Hatch) -> None:
        hatch = self._new_hatch(target, item)
        gap, angle = self._size(item.gap_mm, item.space), math.radians(item.angle_deg)
        offset = (-gap * math.sin(angle), gap * math.cos(angle))
        definition = [[item.angle_deg, (0.0, 0.0), offset, []]]
        color = hatch.dxf.color
        hatch.set_pattern_fill("PLAN", color=color, scale=1.0, definition=definition)
        self._add_rings(hatch, item.rings, item.space)

    def _text(self, target: BaseLayout, item: Text) -> None:
        text = target.add_text(
            item.text.replace("%%", "%%%%%%"),
            height=self._size(item.height_mm, item.space),
            rotation=item.angle_deg,
            dxfattribs={**self._look(item), "style": FONTS[item.bold][0]},
        )
        place = self._points([item.at], item.space)[0]
        text.set_placement(place, align=ANCHORS[item.anchor])
        if item.mark is not None:
            text.set_xdata(APPLICATION, to_xdata(item.mark))

    def _symbol(self, target: BaseLayout, item: Symbol) -> None:
        place = self._points([item.at], item.space)[0]
        size = self._size(item.size_mm, item.space)
        look = {**self._look(item), "xscale": size, "yscale": size, "zscale": size}
        insert = target.add_blockref(_block_name(item.name), place, dxfattribs=look)
        insert.dxf.rotation = item.angle_deg
        if item.mark is not None:
            insert.set_xdata(APPLICATION, to_xdata(item.mark))
        for tag, value in item.attributes:
            # the number a reader sees is plain text: some programs show no attributes
            attribute = insert.add_attrib(tag, value, place, {"layer": item.layer})
            attribute.dxf.height = size
            attribute.is_invisible = True

    def _dimension(self, target: BaseLayout, item: Dimension) -> None:
        block = self.doc.blocks.new_anonymous_block(type_char="D")
        ink = dimension_ink(item, self.sheet.view)
        for line in (ink.line, *ink.extensions):
            self._polyline(block, Polyline(line, item.style, item.layer))
        for arrow in ink.arrows:
            block.add_solid(self._points(arrow, "model"), dxfattribs=self._look(item))
        text = Text(
            item.text, item.text_at, item.height_mm, item.text_style, item.layer,
            angle_deg=item.text_angle_deg, anchor="center",
        )  # fmt: skip
        self._text(block, text)
        start, end, middle, line_end = self._points(
            (item.start, item.end, item.text_at, ink.line[1]), "model"
        )
        target.new_entity(
            "DIMENSION",
            {
                **self._look(item), "dimtype": 1 + 32 + 128, "geometry": block.name,
                "dimstyle": DIMENSION_STYLE, "text": item.text, "defpoint": line_end,
                "defpoint2": start, "defpoint3": end, "text_midpoint": middle,
                "actual_measurement": math.dist(start, end),
            },
        )  # fmt: skip
