"""A sheet as a picture, drawn by matplotlib's renderer; translation only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_rgb
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path as Outline
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D, Bbox

from siteplan.export.fonts import CAPITAL, font_file
from siteplan.export.ink import Fill, Ink, Letters, Points, Stroke
from siteplan.export.png import png_bytes
from siteplan.sheet.style.text import text_width

MM: Final = 1.0 / 25.4
"""Inches in a millimetre."""
POINT_MM: Final = 25.4 / 72

Codes = npt.NDArray[np.uint8]


def write_picture(ink: Ink, path: Path, *, dpi: int) -> None:
    """Write a sheet as a picture of ``dpi`` dots per inch."""
    size = (round(ink.width_mm * MM * dpi), round(ink.height_mm * MM * dpi))
    painter = _Painter(size, ink, dpi)
    painter.ground()
    for mark in ink.marks:
        if isinstance(mark, Stroke):
            painter.stroke(mark)
        else:
            painter.fill(mark)
    painter.letters(ink.letters)
    dots = np.asarray(painter.renderer.buffer_rgba())[:, :, :3]
    path.write_bytes(png_bytes(dots, dpi))


class _Painter:
    """Draws marks in millimetres on paper."""

    def __init__(self, size: tuple[int, int], ink: Ink, dpi: int) -> None:
        self.size = size
        agg: Any = RendererAgg  # without types
        self.renderer = agg(*size, dpi)
        self.to_dots = Affine2D().scale(dpi * MM)
        left, bottom, width, height = ink.window
        window = Bbox.from_bounds(left, bottom, width, height)
        self.window = self.to_dots.transform_bbox(window)

    def _context(self, *, clipped: bool, snap: bool = False, width_mm: float = 0.0) -> Any:
        context = self.renderer.new_gc()
        context.set_linewidth(width_mm / POINT_MM)
        context.set_capstyle("butt")
        context.set_joinstyle("miter")
        context.set_snap(snap)
        if clipped:
            context.set_clip_rectangle(self.window)
        return context

    def ground(self) -> None:
        """Make the paper white."""
        wide, high = self.size
        corners = Outline([(0, 0), (wide, 0), (wide, high), (0, high), (0, 0)], closed=True)
        context = self._context(clipped=False)
        self.renderer.draw_path(context, corners, Affine2D(), (1.0, 1.0, 1.0))

    def stroke(self, stroke: Stroke) -> None:
        """Draw lines: level and upright ones on whole dots, so that they come out sharp."""
        for snap in (False, True):
            lines = [line for line in stroke.lines if _is_square(line) == snap]
            if not lines:
                continue
            context = self._context(clipped=stroke.clipped, snap=snap, width_mm=stroke.width_mm)
            context.set_foreground(stroke.color)
            if stroke.dashes_mm:
                context.set_dashes(0.0, [length / POINT_MM for length in stroke.dashes_mm])
            self.renderer.draw_path(context, _lines(lines), self.to_dots)

    def fill(self, fill: Fill) -> None:
        """Fill areas."""
        context = self._context(clipped=fill.clipped)
        for rings in fill.areas:
            self.renderer.draw_path(context, _area(rings), self.to_dots, to_rgb(fill.color))

    def letters(self, letters: Sequence[Letters]) -> None:
        """Draw text, all of one colour at once."""
        context = self._context(clipped=False)
        for color in dict.fromkeys(letter.color for letter in letters):
            outline = _written([letter for letter in letters if letter.color == color])
            if outline is not None:
                self.renderer.draw_path(context, outline, self.to_dots, to_rgb(color))


def _is_square(line: Points) -> bool:
    """Whether every piece of a line is level or upright."""
    steps = np.abs(np.diff(line, axis=0)) < 1e-9
    return bool(steps.any(axis=1).all())


def _joined(vertices: list[Points], codes: list[Codes]) -> Outline:
    joined = Outline(np.concatenate(vertices), np.concatenate(codes))
    joined.should_simplify = False
    return joined


def _lines(lines: Iterable[Points]) -> Outline:
    """One path of several lines; the ends of a closed one are joined."""
    vertices, codes = [], []
    for line in lines:
        code = np.full(len(line), Outline.LINETO, np.uint8)
        code[0] = Outline.MOVETO
        if len(line) > 2 and bool((line[0] == line[-1]).all()):
            code[-1] = Outline.CLOSEPOLY
        vertices.append(line)
        codes.append(code)
    return _joined(vertices, codes)


def _area(rings: Iterable[Points]) -> Outline:
    """One path of several rings."""
    return _lines(np.vstack([ring, ring[:1]]) for ring in rings)


def _written(letters: Sequence[Letters]) -> Outline | None:
    """Outlines of all letters as one path on paper [mm]; None where all are blank."""
    spots: dict[tuple[bool, str], list[tuple[float, ...]]] = {}
    for letter in letters:
        angle = np.radians(letter.angle_deg)
        along = (
            np.cos(angle) * letter.height_mm / CAPITAL,
            np.sin(angle) * letter.height_mm / CAPITAL,
        )
        far = 0.0
        for character in letter.text:
            x, y = letter.start[0] + far * along[0], letter.start[1] + far * along[1]
            if not character.isspace():
                # by letter: its outline is turned once for all the places where it stands
                spots.setdefault((letter.bold, character), []).append((*along, x, y))
            far += text_width(character, CAPITAL, bold=letter.bold)
    vertices, codes = [], []
    for (bold, character), places in spots.items():
        points, code = _shape(character, bold=bold)
        cosine, sine, x, y = np.array(places).T[:, :, None]
        across, up = points[None, :, 0], points[None, :, 1]
        turned = np.stack(
            [across * cosine - up * sine + x, across * sine + up * cosine + y], axis=2
        )
        vertices.append(turned.reshape(-1, 2))
        codes.append(np.tile(code, len(places)))
    return _joined(vertices, codes) if vertices else None


@cache
def _shape(character: str, *, bold: bool) -> tuple[Points, Codes]:
    """Outline of a letter, in parts of the font size."""
    look = FontProperties(fname=str(font_file(bold=bold)))
    outline = TextPath((0.0, 0.0), character, size=1.0, prop=look)
    return np.asarray(outline.vertices, float), np.asarray(outline.codes, np.uint8)
