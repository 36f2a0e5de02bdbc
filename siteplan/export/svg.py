"""A sheet as a picture of lines that a browser draws: layer by layer, text as text.

Coordinates are millimetres on paper, from the upper left corner as SVG counts them. Every line of
text says how long it is on the sheet, so that it keeps its place in a browser without our font.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from html import escape
from itertools import groupby
from typing import Final

from siteplan.export.fonts import CAPITAL
from siteplan.export.ink import Fill, Ink, Letters, Points, Stroke, ink
from siteplan.sheet.model import Sheet
from siteplan.sheet.style.text import text_width

DECIMALS: Final = 2
"""Decimals of a coordinate [mm]: a hundredth is far below the thinnest line."""


def svg_of(sheet: Sheet) -> str:
    """The sheet as one ``svg`` element; a group ``g`` for each run of one layer, in their order."""
    view, paper = sheet.view, sheet.paper
    top = paper.height_mm - view.bottom_mm - view.height_mm
    window = f"window-{sheet.number}"
    groups = "\n".join(_groups(sheet, window))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="sheet" id="{_quoted(sheet.number)}"'
        f' viewBox="0 0 {_number(paper.width_mm)} {_number(paper.height_mm)}"'
        f' role="img" aria-label="{_quoted(f"Sheet {sheet.number}")}">\n'
        f'<defs><clipPath id="{_quoted(window)}"><rect x="{_number(view.left_mm)}"'
        f' y="{_number(top)}" width="{_number(view.width_mm)}"'
        f' height="{_number(view.height_mm)}"/></clipPath></defs>\n{groups}\n</svg>'
    )


def _groups(sheet: Sheet, window: str) -> Iterator[str]:
    """What is drawn on each layer; all text last, so that no line lies over it."""
    runs = [
        (layer, ink(replace(sheet, primitives=tuple(run))))
        for layer, run in groupby(sheet.primitives, key=lambda primitive: primitive.layer)
    ]
    for layer, inked in runs:
        yield from _group(layer, _marks(inked, window))
    for layer, inked in runs:
        texts = [_text(letters, inked.height_mm) for letters in inked.letters if letters.text]
        yield from _group(layer, texts)


def _group(layer: str, items: Iterable[str]) -> Iterator[str]:
    drawn = "".join(items)
    if drawn:
        yield f'<g data-layer="{_quoted(layer)}">{drawn}</g>'


def _marks(inked: Ink, window: str) -> Iterator[str]:
    for mark in inked.marks:
        clip = f' clip-path="url(#{_quoted(window)})"' if mark.clipped else ""
        path, look = _drawn(mark, inked.height_mm)
        if path:
            yield f'<path d="{path}" {look}{clip}/>'


def _drawn(mark: Stroke | Fill, height_mm: float) -> tuple[str, str]:
    """Path of a mark, and how it looks."""
    if isinstance(mark, Fill):
        rings = (ring for area in mark.areas for ring in area)
        path = "".join(_path(ring, height_mm, closed=True) for ring in rings)
        return path, f'fill="{mark.color}"'
    path = "".join(_path(line, height_mm, closed=_is_closed(line)) for line in mark.lines)
    dashes = " ".join(_number(length) for length in mark.dashes_mm)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    width = _number(mark.width_mm)
    return path, f'fill="none" stroke="{mark.color}" stroke-width="{width}"{dashed}'


def _is_closed(line: Points) -> bool:
    return len(line) > 2 and bool((line[0] == line[-1]).all())


def _path(points: Points, height_mm: float, *, closed: bool) -> str:
    places = [f"{_number(x)} {_number(height_mm - y)}" for x, y in points.tolist()]
    if closed and len(places) > 1 and places[0] == places[-1]:
        places.pop()
    return f"M{'L'.join(places)}{'Z' if closed else ''}"


def _text(letters: Letters, height_mm: float) -> str:
    x, y = letters.start
    turn = f"translate({_number(x)} {_number(height_mm - y)})"
    if letters.angle_deg:
        turn += f" rotate({_number(-letters.angle_deg)})"
    weight = ' font-weight="bold"' if letters.bold else ""
    long = text_width(letters.text, letters.height_mm, bold=letters.bold)
    return (
        f'<text transform="{turn}" font-size="{_number(letters.height_mm / CAPITAL)}"{weight}'
        f' fill="{letters.color}" textLength="{_number(long)}">{escape(letters.text)}</text>'
    )


def _number(value: float) -> str:
    """A number as short as it may be written.

    Examples
    --------
    >>> _number(12.0), _number(0.5), _number(-0.001)
    ('12', '0.5', '0')
    """
    return f"{round(value, DECIMALS) + 0.0:.{DECIMALS}f}".rstrip("0").rstrip(".")


def _quoted(text: str) -> str:
    return escape(text, quote=True)
