"""Sheets as the pages of one PDF, true to scale, with searchable text and bookmarks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Final

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFDocument, PDFInfo, PDFString
from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from siteplan.export.about import About
from siteplan.export.fonts import CAPITAL, NAMES, font_file
from siteplan.export.ink import Fill, Ink, Letters, Points, Stroke

POINT: Final = 72 / 25.4
"""Points in a millimetre."""
# streams as plain bytes (as text they would be a tenth larger), and no font that is not embedded
rl_config.useA85 = 0
rl_config.canvas_basefontname = NAMES[False]


def write_pages(inks: Sequence[Ink], path: Path, *, about: About, names: Sequence[str]) -> None:
    """Write a page for each sheet, with a bookmark; a viewer calls it by its number.

    Parameters
    ----------
    names
        Number and name of each sheet, as ``L1A PART OF PLAN``.
    """
    _register_fonts()
    canvas = Canvas(str(path), pageCompression=1, invariant=1)
    # the library has no public way to leave out a date
    canvas._doc.info = _Information(about)  # type: ignore[attr-defined]
    # a viewer would shrink the sheet to what its printer reaches, and the scale would be wrong
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for page, (ink, name) in enumerate(zip(inks, names, strict=True)):
        canvas.setPageSize((ink.width_mm * POINT, ink.height_mm * POINT))
        canvas.addPageLabel(page, prefix=name.partition(" ")[0])
        canvas.bookmarkPage(name)
        canvas.addOutlineEntry(name, name)
        _draw(ink, canvas)
        canvas.showPage()
    canvas.showOutline()
    canvas.save()


class _Information(PDFInfo):
    """What the file says of itself, and no more.

    The library would add a date that is none, and itself as the producer.
    """

    def __init__(self, about: About) -> None:
        super().__init__()
        self.title, self.author = about.title, about.author
        self.subject, self.keywords = about.subject, about.keywords

    def format(self, document: PDFDocument) -> bytes:
        """The entries as the file holds them."""
        entries = {
            "Title": self.title, "Author": self.author, "Subject": self.subject,
            "Keywords": self.keywords,
        }  # fmt: skip
        said = {name: PDFString(text) for name, text in entries.items() if text}
        return PDFDictionary(said).format(document)


@cache
def _register_fonts() -> None:
    """Make the fonts known; each file then holds the letters it uses."""
    for bold, name in NAMES.items():
        # letters stand as far apart as they were measured, so none is shaped
        registerFont(TTFont(name, str(font_file(bold=bold)), asciiReadable=False, shapable=False))


def _draw(ink: Ink, canvas: Canvas) -> None:
    window = [value * POINT for value in ink.window]
    for mark in ink.marks:
        canvas.saveState()
        if mark.clipped:
            edge = canvas.beginPath()
            edge.rect(*window)
            canvas.clipPath(edge, stroke=0)
        if isinstance(mark, Stroke):
            _stroke(mark, canvas)
        else:
            _fill(mark, canvas)
        canvas.restoreState()
    _write(ink.letters, canvas)


def _stroke(stroke: Stroke, canvas: Canvas) -> None:
    canvas.setLineWidth(stroke.width_mm * POINT)
    canvas.setDash([length * POINT for length in stroke.dashes_mm])
    canvas.setStrokeColor(HexColor(stroke.color))
    for line in stroke.lines:
        path = canvas.beginPath()
        closed = len(line) > 2 and bool((line[0] == line[-1]).all())
        _trace(line[:-1] if closed else line, path, closed=closed)
        canvas.drawPath(path)


def _fill(fill: Fill, canvas: Canvas) -> None:
    canvas.setFillColor(HexColor(fill.color))
    for rings in fill.areas:
        path = canvas.beginPath()
        for ring in rings:
            _trace(ring, path, closed=True)
        canvas.drawPath(path, stroke=0, fill=1)


def _trace(points: Points, path: PDFPathObject, *, closed: bool) -> None:
    start, *others = (points * POINT).tolist()
    path.moveTo(*start)
    for point in others:
        path.lineTo(*point)
    if closed:
        path.close()


def _write(letters: Iterable[Letters], canvas: Canvas) -> None:
    text = canvas.beginText()
    for letter in letters:
        angle, (x, y) = math.radians(letter.angle_deg), letter.start
        cosine, sine = math.cos(angle), math.sin(angle)
        text.setFillColor(HexColor(letter.color))
        text.setFont(NAMES[letter.bold], letter.height_mm / CAPITAL * POINT)
        text.setTextTransform(cosine, sine, -sine, cosine, x * POINT, y * POINT)
        text.textOut(letter.text)
    canvas.drawText(text)
