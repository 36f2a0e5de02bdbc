"""A sheet as PNG and PDF, drawn by matplotlib from one figure; translation only."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any, Final

import matplotlib as mpl
import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle
from matplotlib.path import Path as Outline

from siteplan.export.bookmarks import add_bookmarks
from siteplan.geometry.hatching import hatch_lines
from siteplan.sheet.dimensions import dimension_ink
from siteplan.sheet.model import (
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
from siteplan.sheet.styles import Style, linetypes, styles
from siteplan.sheet.symbols import symbol_shapes

MM: Final = 1.0 / 25.4
"""Inches in a millimetre."""
POINT_MM: Final = 25.4 / 72
CAPITAL: Final = 1493 / 2048
"""Height of a capital of DejaVu Sans in parts of the font size."""

Points = npt.NDArray[np.float64]
Key = tuple[str, Space, str]


def write_png(sheet: Sheet, path: Path, *, dpi: int = 200) -> None:
    """Write the sheet as a picture of ``dpi`` dots per inch."""
    _save_png(_figure(sheet), path, dpi)


def write_pdf(sheet: Sheet, path: Path) -> None:
    """Write the sheet as a PDF page of the paper's size, true to scale, with searchable text."""
    _save_pdf(_figure(sheet), path, sheet)


def write_images(sheet: Sheet, png: Path, pdf: Path, *, dpi: int = 200) -> None:
    """Write both from one figure, which is faster than one after the other."""
    figure = _figure(sheet)
    _save_png(figure, png, dpi)
    _save_pdf(figure, pdf, sheet)


def write_set(sheets: Sequence[Sheet], pictures: Sequence[Path], pdf: Path) -> None:
    """Write a picture of each sheet, and one PDF with a page and a bookmark for each."""
    if len(sheets) == 1:
        write_images(sheets[0], pictures[0], pdf)
        return
    with mpl.rc_context({"pdf.fonttype": 42}), PdfPages(pdf, metadata=_metadata(sheets[0])) as file:
        for sheet, picture in zip(sheets, pictures, strict=True):
            figure = _figure(sheet)
            _save_png(figure, picture, 200)
            file.savefig(figure)
    add_bookmarks(pdf, [f"L{k} {sheet.name}" for k, sheet in enumerate(sheets, 1)], sheets[0].title)


def _metadata(sheet: Sheet) -> dict[str, Any]:
    """What a PDF says of itself: no dates and no program version, so that its bytes repeat."""
    return {"Title": sheet.title, "Creator": None, "Producer": None, "CreationDate": None}


def _save_png(figure: Figure, path: Path, dpi: int) -> None:
    figure.savefig(path, format="png", dpi=dpi, metadata={"Software": None})


def _save_pdf(figure: Figure, path: Path, sheet: Sheet) -> None:
    with mpl.rc_context({"pdf.fonttype": 42}):
        figure.savefig(path, format="pdf", metadata=_metadata(sheet))


def _figure(sheet: Sheet) -> Figure:
    paper = sheet.paper
    figure = Figure(figsize=(paper.width_mm * MM, paper.height_mm * MM))
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, paper.width_mm)
    axes.set_ylim(0.0, paper.height_mm)
    axes.set_autoscale_on(False)
    painter = _Painter(sheet, axes)
    for (_, space, style), run in groupby(sheet.primitives, key=_key):
        painter.paint(list(run), space, styles()[style])
    return figure


def _key(item: Primitive) -> Key:
    return type(item).__name__, item.space, item.style


class _Painter:
    """Draws runs of like primitives as one artist each, in millimetres on paper."""

    def __init__(self, sheet: Sheet, axes: Axes) -> None:
        self.view = sheet.view
        self.axes = axes
        self.order = 1.0
        view = sheet.view
        corner = (view.left_mm, view.bottom_mm)
        self.window = Rectangle(corner, view.width_mm, view.height_mm, transform=axes.transData)
        folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
        self.fonts = {
            False: folder / "DejaVuSans.ttf",
            True: folder / "DejaVuSans-Bold.ttf",
        }

    def paint(self, run: list[Any], space: Space, style: Style) -> None:
        """Draw primitives of one type, space and style."""
        self.order += 1.0
        draw: dict[type, Callable[[list[Any], Space, Style], None]] = {
            Polyline: self._polylines,
            Polygon: self._polygons,
            Hatch: self._hatches,
            Text: self._texts,
            Symbol: self._symbols,
            Dimension: self._dimensions,
        }
        draw[type(run[0])](run, space, style)

    def _place(self, points: Iterable[tuple[float, float]] | Points, space: Space) -> Points:
        array = np.asarray(points, float)
        return self.view.to_paper(array) if space == "model" else array

    def _stroke(self, lines: list[Points], space: Space, style: Style) -> None:
        width = style.weight / POINT_MM
        # collections scale dashes by the line width
        dashes = [length / POINT_MM / width for length in linetypes()[style.linetype]]
        collection = LineCollection(
            lines,
            colors=style.color,
            linewidths=width,
            linestyles=[(0.0, dashes or None)],
            capstyle="butt",
            joinstyle="miter",
            zorder=self.order,
        )
        self._add(collection, space)

    def _fill(self, areas: list[list[Points]], space: Space, style: Style) -> None:
        outlines = [_outline(rings) for rings in areas]
        collection = PathCollection(
            outlines, facecolors=style.color, edgecolors="none", zorder=self.order
        )
        self._add(collection, space)

    def _add(self, collection: LineCollection | PathCollection, space: Space) -> None:
        self.axes.add_collection(collection, autolim=False)
        if space == "model":
            collection.set_clip_path(self.window)

    def _polylines(self, run: list[Polyline], space: Space, style: Style) -> None:
        lines = [self._place(_closed(item.points, item.closed), space) for item in run]
        self._stroke(lines, space, style)

    def _polygons(self, run: list[Polygon], space: Space, style: Style) -> None:
        self._fill([[self._place(r, space) for r in item.rings] for item in run], space, style)

    def _hatches(self, run: list[Hatch], space: Space, style: Style) -> None:
        lines: list[Points] = []
        for item in run:
            rings = [self._place(ring, space) for ring in item.rings]
            lines.extend(hatch_lines(rings, item.gap_mm, item.angle_deg))
        self._stroke(lines, space, style)

    def _symbols(self, run: list[Symbol], space: Space, style: Style) -> None:
        strokes: list[Points] = []
        fills: list[list[Points]] = []
        for item in run:
            shape = symbol_shapes()[item.name]
            center = self._place([item.at], space)[0]
            turn = _turn(item.angle_deg) * item.size_mm
            strokes.extend(np.asarray(ring) @ turn + center for ring in shape.strokes())
            fills.extend([np.asarray(ring) @ turn + center] for ring in shape.fills())
        self._fill(fills, space, style)
        self._stroke(strokes, space, style)

    def _dimensions(self, run: list[Dimension], space: Space, style: Style) -> None:
        inks = [dimension_ink(item, self.view) for item in run]
        lines = [line for ink in inks for line in (ink.line, *ink.extensions)]
        self._stroke([self._place(line, space) for line in lines], space, style)
        arrows = [[self._place(arrow, space)] for ink in inks for arrow in ink.arrows]
        self._fill(arrows, space, style)
        for item in run:
            self._text(
                Text(
                    item.text, item.text_at, item.height_mm, item.text_style, item.layer,
                    angle_deg=item.text_angle_deg, anchor="center",
                )
            )  # fmt: skip

    def _texts(self, run: list[Text], space: Space, style: Style) -> None:
        del space, style
        for item in run:
            self._text(item)

    def _text(self, item: Text) -> None:
        x, y = self._place([item.at], item.space)[0]
        size = item.height_mm / CAPITAL / POINT_MM
        self.axes.text(
            x, y, item.text,
            fontproperties=FontProperties(fname=str(self.fonts[item.bold]), size=size),
            color=styles()[item.style].color, ha=item.anchor, va="baseline",
            rotation=item.angle_deg, rotation_mode="anchor", parse_math=False,
            zorder=1000.0 + self.order,
        )  # fmt: skip


def _closed(points: Ring, closed: bool) -> Ring:
    return (*points, points[0]) if closed else points


def _turn(angle_deg: float) -> Points:
    """Matrix that turns row vectors counter-clockwise."""
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[cosine, sine], [-sine, cosine]])


def _outline(rings: list[Points]) -> Outline:
    """One path of several rings; holes run against their shell."""
    parts = [_directed(ring, clockwise=index > 0) for index, ring in enumerate(rings)]
    vertices = np.concatenate([np.vstack([part, part[:1]]) for part in parts])
    codes = np.concatenate(
        [[Outline.MOVETO, *[Outline.LINETO] * (len(p) - 1), Outline.CLOSEPOLY] for p in parts]
    )
    return Outline(vertices, codes)


def _directed(ring: Points, *, clockwise: bool) -> Points:
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return ring[::-1] if (area < 0.0) != clockwise else ring
