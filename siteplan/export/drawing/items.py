"""What stands on a sheet, thing by thing, as entities of a drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

from ezdxf.document import Drawing
from ezdxf.entities.dimstyleoverride import DimStyleOverride
from ezdxf.layouts.base import BaseLayout

from siteplan.export.drawing.boxes import Boxed, boxed
from siteplan.export.drawing.document import (
    BY_LAYER,
    DIMENSION_STYLE,
    WITHOUT_EXTENSIONS,
    block_name,
    color_of,
    linetype_name,
)
from siteplan.export.drawing.layouts import text_of
from siteplan.export.drawing.paragraphs import Led, Paragraph, Thing, gathered
from siteplan.export.drawing.record import ELEMENT_DATA, NOTHING, Record, Told
from siteplan.export.drawing.scales import scale_of
from siteplan.export.drawing.texts import add_field, add_leader, add_line, add_paragraph, join
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
from siteplan.sheet.style.styles import layer, linetype, styles

PATTERN: Final = "ANSI31"
"""Parallel lines, by the name that every CAD program has."""
PATTERN_DEG: Final = 45.0
"""Direction of its lines."""
PATTERN_GAPS: Final = (0.125, 3.175)
"""Distance of its lines at a scale of 1, by $MEASUREMENT (acad.pat, acadiso.pat)."""

Layers = tuple[tuple[str, str], ...]


def write_items(
    sheet: Sheet, doc: Drawing, layout: str, layers: Layers, record: Record = NOTHING
) -> None:
    """Write all that stands on a sheet."""
    writer = _Writer(sheet, doc, layout, layers, record)
    for thing in boxed(writer.found.things, sheet.number):
        writer.write(thing)
    for leader, label in writer.leaders:
        join(leader, writer.labels[label])


class _Writer:
    """Writes primitives into model space or the layout, in drawing units."""

    def __init__(
        self, sheet: Sheet, doc: Drawing, layout: str, layers: Layers, record: Record
    ) -> None:
        self.record = record
        self.sheet = sheet
        self.doc = doc
        self.layouts: dict[Space, BaseLayout] = {
            "model": doc.modelspace(),
            "paper": doc.layout(layout),
        }
        self.layers = dict(layers)
        self.scale = scale_of(sheet)
        self.found = gathered(sheet)
        self.led = {id(thing.label) for thing in self.found.things if isinstance(thing, Led)}
        self.labels: dict[int, Any] = {}
        self.leaders: list[tuple[Any, int]] = []

    def write(self, item: Thing | Boxed) -> None:
        """Write one thing, or several as a block."""
        match item:
            case Boxed():
                self._block(item)
            case Paragraph():
                self._paragraph(self.layouts[item.lines[0].space], item)
            case Led():
                self._leader(self.layouts[item.path.space], item)
            case _:
                self._primitive(item)

    def _block(self, item: Boxed) -> None:
        """Things as one block, with their upper left corner as its base."""
        paper, corner = self.layouts["paper"], self.scale.point(item.corner, "paper")
        block = self.doc.blocks.new(item.name, base_point=corner)
        where = layer("frame" if item.is_title else "table")
        insert = paper.add_blockref(item.name, corner, {"layer": where})
        self.layouts["paper"] = block
        for thing in item.things:
            field = thing.lines[0] if item.is_title and isinstance(thing, Paragraph) else None
            if field is not None and field.mark is not None and field.mark.column:
                add_field(block, insert, field, self._look(field), self.scale)
            else:
                self.write(thing)
        self.layouts["paper"] = paper

    def _primitive(self, item: Primitive) -> None:
        target = self.layouts[item.space]
        match item:
            case Polyline():
                self._polyline(target, item)
            case Polygon():
                self._polygon(target, item)
            case Hatch():
                self._hatch(target, item)
            case Text():
                add_line(target, item, self._look(item), self.scale)
            case Symbol():
                self._symbol(target, item)
            case Dimension():
                self._dimension(target, item)

    def _look(self, item: Primitive) -> dict[str, Any]:
        """Attributes of an entity: what its layer says is left to the layer."""
        look: dict[str, Any] = {"layer": item.layer}
        style, stands = styles()[item.style], styles()[self.layers[item.layer]]
        if style.color != stands.color:
            look |= color_of(style)
        if style.weight != stands.weight:
            look["lineweight"] = round(style.weight * 100)
        if style.linetype != stands.linetype:
            look["linetype"] = linetype_name(style)
        dashes = linetype(style.linetype)
        if dashes.like:
            # on paper the scale of all dashes, which is that of the model, is undone
            undone = 1.0 if item.space == "model" else 1.0 / self.scale.model
            look["ltscale"] = dashes.scale * undone
        return look

    def _polyline(self, target: BaseLayout, item: Polyline) -> None:
        points: Any = self.scale.points(item.points, item.space)
        form = "xy"
        if any(item.bulges):
            form = "xyb"
            points = [(*at, bulge) for at, bulge in zip(points, item.bulges, strict=True)]
        # 128: dashes run on round the corners, where short pieces would show none
        look = {**self._look(item), "flags": 128}
        line = target.add_lwpolyline(points, form, close=item.closed, dxfattribs=look)
        if item.space == "model":
            self._tell(line, self.record.of_line(item.points))

    def _polygon(self, target: BaseLayout, item: Polygon) -> None:
        if item.style in ("mask", "mask-low"):
            for ring in item.rings:
                # it takes the colour of any screen, and a white hatch only that of paper
                wipeout = target.add_wipeout(self.scale.points(ring, item.space))
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
            hatch.paths.add_polyline_path(self.scale.points(ring, space), is_closed=True)

    def _hatch(self, target: BaseLayout, item: Hatch) -> None:
        hatch = self._new_hatch(target, item)
        measurement = self.sheet.unit.drawing.measurement
        hatch.set_pattern_fill(
            PATTERN,
            color=hatch.dxf.color,
            angle=item.angle_deg - PATTERN_DEG,
            scale=self.scale.size(item.gap_mm, item.space) / PATTERN_GAPS[measurement],
        )
        self._add_rings(hatch, item.rings, item.space)

    def _paragraph(self, target: BaseLayout, item: Paragraph) -> None:
        first = item.lines[0]
        if not any(line.text for line in item.lines):
            # a cell without a figure
            return
        look = self._look(first)
        alone = len(item.lines) == 1 and item.mask is None and id(item) not in self.led
        if first.space == "model" and alone:
            # what any program shows and finds
            add_line(target, first, look, self.scale)
            return
        self.labels[id(item)] = add_paragraph(target, item, look, self.scale)

    def _leader(self, target: BaseLayout, item: Led) -> None:
        leader = add_leader(target, item, self._look(item.path), self.scale)
        if item.label is not None:
            self.leaders.append((leader, id(item.label)))

    def _symbol(self, target: BaseLayout, item: Symbol) -> None:
        place = self.scale.point(item.at, item.space)
        size = self.scale.size(item.size_mm, item.space)
        look = {**self._look(item), "xscale": size, "yscale": size, "zscale": size}
        insert = target.add_blockref(block_name(item.name), place, dxfattribs=look)
        insert.dxf.rotation = item.angle_deg
        if item.mark is not None:
            insert.set_xdata(APPLICATION, to_xdata(item.mark))
        for tag, value in item.attributes:
            # the number a reader sees is plain text: some programs show no attributes
            attribute = insert.add_attrib(tag, value, place, {"layer": item.layer})
            attribute.dxf.height = size
            attribute.is_invisible = True
            if tag == "ELEMENT":
                self._tell(insert, self.record.elements.get(value))

    def _tell(self, entity: Any, told: Told | None) -> None:
        """Let what draws an element say which, for programs that read the drawing."""
        if told is not None:
            entity.set_xdata(ELEMENT_DATA, told.xdata(self.scale.unit))

    def _dimension(self, target: BaseLayout, item: Dimension) -> None:
        block = self.doc.blocks.new_anonymous_block(type_char="D")
        ink = dimension_ink(item, self.sheet.view)
        figure, mask = text_of(item), self.found.masked.get(id(item))
        if mask is None:
            add_line(block, figure, self._look(figure), self.scale)
        else:
            # first, so that its background wipes nothing of its own dimension
            masked = Paragraph((figure,), mask=mask)
            add_paragraph(block, masked, self._look(figure), self.scale)
        for line in (ink.line, *ink.extensions):
            self._polyline(block, Polyline(line, item.style, item.layer))
        for arrow in ink.arrows:
            block.add_solid(self.scale.points(arrow, "model"), dxfattribs=self._look(item))
        start, end, middle, line_end = self.scale.points(
            (item.start, item.end, self._middle(item), ink.line[1]), "model"
        )
        style = DIMENSION_STYLE if ink.extensions else WITHOUT_EXTENSIONS
        dimension: Any = target.new_entity(
            "DIMENSION",
            {
                **self._look(item), "dimtype": 1 + 32 + 128, "geometry": block.name,
                "dimstyle": style, "text": item.text, "defpoint": line_end,
                "defpoint2": start, "defpoint3": end, "text_midpoint": middle,
                "actual_measurement": math.dist(start, end), **_turned(item, start, end),
            },
        )  # fmt: skip
        own = self._own_sizes(ink.arrows[0], style)
        if mask is not None:
            own["dimtfill"] = 1  # wiped in the colour of the screen
        if own:
            # extended data of the program that the format comes from, group codes 1070 and 1040
            DimStyleOverride(dimension, own).commit()

    def _middle(self, item: Dimension) -> XY:
        """Middle of a dimension's text, which stands on its base line."""
        up, half = math.radians(item.text_angle_deg + 90.0), item.height_mm / 2
        rise = self.sheet.view.metres(half)
        return item.text_at[0] + rise * math.cos(up), item.text_at[1] + rise * math.sin(up)

    def _own_sizes(self, arrow: Ring, style: str) -> dict[str, float]:
        """Sizes that a dimension has otherwise than its style: a short one has short arrows."""
        length = math.dist(arrow[0], _between(arrow[1], arrow[2])) * 1000.0 / self.sheet.view.ratio
        usual = self.doc.dimstyles.get(style).dxf.dimasz
        own = length * self.scale.paper
        return {} if math.isclose(own, usual, rel_tol=1e-6) else {"dimasz": own}


def _turned(item: Dimension, start: XY, end: XY) -> dict[str, float]:
    """How far a text is turned from the direction of its line, where it does not run along it."""
    along = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    apart = (item.text_angle_deg - along + 90.0) % 180.0 - 90.0
    return {} if abs(apart) < 0.01 else {"text_rotation": apart}


def _between(one: XY, other: XY) -> XY:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
