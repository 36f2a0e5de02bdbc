"""Base lines on the plan: the line from peg to peg, the pegs and their names."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.content.stakes import SettingOut, Stake
from siteplan.sheet.marks import LABEL, PEG, Mark
from siteplan.sheet.model import Symbol
from siteplan.sheet.place.candidates import Candidate, around, led
from siteplan.sheet.place.canvas import EDGE_MM, Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.element_names import ID_HEIGHT_MM
from siteplan.sheet.plan_view.exchanger import NEW_INK
from siteplan.sheet.style.styles import layer

PEG_MM: Final = 1.0
LINE_INK: Final = 150.0
"""What a label pays for lying on a base line, which has to be seen whole to be staked by."""
NEAR_MM: Final = 25.0
"""A name so near to its peg may stand off the lot [mm]."""
KEEP_OFF: Final = 1.2
"""How much more than its radius a peg keeps free of text."""


def draw_base_lines(canvas: Canvas, out: SettingOut) -> None:
    """Draw every base line, and all pegs, without their names."""
    for line in out.lines:
        ends = [line.start.at, line.end.at]
        canvas.line(ends, "base-line", layer("base-line"), ink=LINE_INK, leader=NEW_INK)
        canvas.placer.keep_leaders_apart([canvas.paper(end) for end in ends])
    for peg in out.pegs:
        mark = Mark(PEG, peg.name)
        symbol = Symbol("peg", peg.at, PEG_MM, "element", layer("tie"), mark=mark)
        canvas.symbol(symbol, keep_off=KEEP_OFF)


def label_pegs(canvas: Canvas, pegs: Sequence[Stake], parcel: Polygon) -> None:
    """Write the names of pegs beside them, or led to them: on the lot, or near if they can be."""
    lot = shapely.transform(parcel, canvas.view.to_paper)
    gap = PEG_MM * KEEP_OFF
    for peg in pegs:
        mark = Mark(LABEL, peg.name, "peg")
        label = Label((peg.name,), ID_HEIGHT_MM, "text", layer("ids"), bold=True, mark=mark)
        spot, size = canvas.paper(peg.at), (label.width, label.height)
        places = [*around(spot, *size, gap), *led(spot, *size, stand_off=gap + EDGE_MM)]
        # of the places near by none is given up for one across the field
        near = lot.union(Point(spot).buffer(NEAR_MM))
        canvas.grant([(label, places)], canvas.set_down, allows=partial(_is_in, near))


def _is_in(ground: BaseGeometry, _: Label, place: Candidate) -> bool:
    """Whether the middle of a place lies in a part of the paper."""
    return bool(ground.contains(Point(place.center)))
