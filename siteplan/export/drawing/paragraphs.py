"""Which lines of text are one paragraph, which mask lies under it, and which leader is its own.

A sheet has text line by line, and each mask and each leader by itself: printers need no more. A
drafter wants to move a label with its leader, and to write in a paragraph.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely
from shapely import STRtree

from siteplan.sheet.marks import TITLE_BLOCK, Mark
from siteplan.sheet.model import XY, Dimension, Polygon, Polyline, Primitive, Ring, Sheet, Text
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width

LEADER, ARROW, MASK = "leader", "ink-fill", "mask"
MOST_PITCH: Final = 2.4
"""Lines farther apart than so many times their height are no paragraph."""
SAME_MM: Final = 0.02
"""What two places on paper may differ by and be one [mm]."""
LED_MM: Final = 2.0
"""A label so near to the foot of a leader is what it leads to [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Paragraph:
    """Lines of text below each other.

    Parameters
    ----------
    lines
        From the top down, all of one look.
    pitch_mm
        From one base line to the next on the plotted sheet [mm].
    mask
        What is wiped under it; None where nothing is.
    """

    lines: tuple[Text, ...]
    pitch_mm: float = 0.0
    mask: Polygon | None = None

    @property
    def width_mm(self) -> float:
        """Width of its widest line [mm]."""
        return max(text_width(line.text, line.height_mm, bold=line.bold) for line in self.lines)


@dataclass(frozen=True, slots=True, eq=False)
class Led:
    """A leader, and the paragraph that it leads from; None where that stands in a dimension."""

    path: Polyline
    label: Paragraph | None


Thing = Primitive | Paragraph | Led


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """What stands on a sheet, in drawing order.

    Parameters
    ----------
    masked
        Masks under the figures of dimensions, by the identity of the dimension.
    """

    things: tuple[Thing, ...]
    masked: dict[int, Polygon] = field(default_factory=dict)


def gathered(sheet: Sheet) -> Gathered:
    """The sheet with its lines of text put together."""
    paragraphs = _paragraphs(sheet)
    masks = _masks(sheet, paragraphs)
    paragraphs = [
        replace(paragraph, mask=masks.get(id(paragraph.lines[0]))) for paragraph in paragraphs
    ]
    masked = {
        id(figure): masks[id(figure)] for figure in sheet.of_type(Dimension) if id(figure) in masks
    }
    first = {id(paragraph.lines[0]): paragraph for paragraph in paragraphs}
    own = {id(paragraph.mask): paragraph for paragraph in paragraphs if paragraph.mask is not None}
    gone = {id(mask) for mask in masked.values()}
    tips = {item.points[-1] for item in sheet.of_type(Polyline) if item.style == LEADER}
    labels = _leaders(sheet, paragraphs)
    things: list[Thing] = []
    for item in sheet.primitives:
        if isinstance(item, Text):
            # a paragraph with a mask lies as low as its mask
            paragraph = first.get(id(item))
            if paragraph is not None and paragraph.mask is None:
                things.append(paragraph)
        elif isinstance(item, Polygon) and id(item) in own:
            things.append(own[id(item)])
        elif isinstance(item, Polygon) and (id(item) in gone or _is_tip(item, tips)):
            continue
        elif isinstance(item, Polyline) and item.style == LEADER:
            things.append(Led(item, labels.get(id(item))))
        else:
            things.append(item)
    return Gathered(tuple(things), masked)


def _is_tip(item: Polygon, tips: set[XY]) -> bool:
    return item.style == ARROW and item.rings[0][0] in tips


# --- lines of one paragraph


def _paragraphs(sheet: Sheet) -> list[Paragraph]:
    """All lines of text, put together."""
    open_ones: dict[tuple[object, ...], list[Text]] = {}
    found: list[list[Text]] = []
    for item in sheet.of_type(Text):
        key = _look(item)
        lines = open_ones.get(key)
        if lines is not None and _goes_on(lines, item, sheet):
            lines.append(item)
            continue
        open_ones[key] = [item]
        found.append(open_ones[key])
    return [Paragraph(tuple(lines), _pitch_mm(lines, sheet)) for lines in found]


def _look(item: Text) -> tuple[object, ...]:
    mark = item.mark
    known = None if mark is None else (mark.block, mark.row, mark.column)
    look = (item.style, item.layer, item.height_mm, item.bold, item.anchor, item.angle_deg)
    return (known, item.space, *look)


def _goes_on(lines: Sequence[Text], item: Text, sheet: Sheet) -> bool:
    """Whether a line is the next of a paragraph: by its mark, and by where it stands."""
    last = lines[-1]
    if item.mark is not None and item.mark.block == TITLE_BLOCK:
        # each has a field of its own
        return False
    if not _follows(last.mark, item.mark):
        return False
    aside, down = _step(last, item, sheet)
    if abs(aside) > SAME_MM or not 0.0 < down <= MOST_PITCH * item.height_mm:
        return False
    return len(lines) == 1 or abs(down - _pitch_mm(lines, sheet)) <= SAME_MM


def _follows(last: Mark | None, mark: Mark | None) -> bool:
    if last is None or mark is None:
        return last is mark
    return mark.line == last.line + 1


def _step(last: Text, item: Text, sheet: Sheet) -> tuple[float, float]:
    """How far aside and how far below a line the next one begins, on the plotted sheet [mm]."""
    on_paper = 1000.0 / sheet.view.ratio if item.space == "model" else 1.0
    x, y = (here - there for here, there in zip(item.at, last.at, strict=True))
    angle = math.radians(item.angle_deg)
    aside = x * math.cos(angle) + y * math.sin(angle)
    down = x * math.sin(angle) - y * math.cos(angle)
    return aside * on_paper, down * on_paper


def _pitch_mm(lines: Sequence[Text], sheet: Sheet) -> float:
    return _step(lines[0], lines[1], sheet)[1] if len(lines) > 1 else 0.0


# --- masks


def _masks(sheet: Sheet, paragraphs: Sequence[Paragraph]) -> dict[int, Polygon]:
    """Mask under each paragraph and figure, by the identity of its first line or dimension."""
    masks = [item for item in sheet.of_type(Polygon) if MASK in item.style]
    if not masks:
        return {}
    tree = STRtree([shapely.Polygon(mask.rings[0]) for mask in masks])
    names = [(paragraph.lines[0], _middle(paragraph, sheet), False) for paragraph in paragraphs]
    figures = [(figure, figure.text_at, True) for figure in sheet.of_type(Dimension)]
    spots: list[tuple[Text | Dimension, XY, bool]] = [*names, *figures]
    found = tree.query(shapely.points([at for _, at, _ in spots]), "within")
    taken: dict[int, int] = {}
    for number, which in found.T.tolist():
        (item, _, low), mask = spots[number], masks[which]
        # under a figure lies a low mask, under a name a high one
        if mask.space == item.space and mask.style.endswith("-low") == low:
            taken.setdefault(which, id(item))
    return {item: masks[which] for which, item in taken.items()}


def _middle(paragraph: Paragraph, sheet: Sheet) -> XY:
    """A place in the middle of a paragraph, in its space."""
    first = paragraph.lines[0]
    ring = _box(paragraph, sheet)
    x, y = np.mean(ring, axis=0).tolist()
    return (x, y) if first.text else first.at


def _box(paragraph: Paragraph, sheet: Sheet) -> Ring:
    """Corners of what a paragraph takes from its first line to its last, in its space."""
    first = paragraph.lines[0]
    size = sheet.view.ratio / 1000.0 if first.space == "model" else 1.0
    width = paragraph.width_mm * size
    left = -width * {"left": 0.0, "center": 0.5, "right": 1.0}[first.anchor]
    deep = (len(paragraph.lines) - 1) * paragraph.pitch_mm * size
    angle = math.radians(first.angle_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return tuple(
        (first.at[0] + x * cosine - y * sine, first.at[1] + x * sine + y * cosine)
        for x, y in (
            (left, -deep),
            (left + width, -deep),
            (left + width, first.height_mm * size),
            (left, first.height_mm * size),
        )
    )


# --- leaders


def _leaders(sheet: Sheet, paragraphs: Sequence[Paragraph]) -> dict[int, Paragraph]:
    """The paragraph that each leader leads from, by the identity of the leader."""
    leaders = [item for item in sheet.of_type(Polyline) if item.style == LEADER]
    labels = [label for label in paragraphs if label.lines[0].layer != layer("dimension")]
    if not leaders or not labels:
        return {}
    tree = STRtree([shapely.Polygon(_box(label, sheet)) for label in labels])
    return dict(_led(leaders, labels, tree, sheet))


def _led(
    leaders: Sequence[Polyline], labels: Sequence[Paragraph], tree: STRtree, sheet: Sheet
) -> Iterator[tuple[int, Paragraph]]:
    for leader in leaders:
        reach = sheet.view.metres(LED_MM) if leader.space == "model" else LED_MM
        foot = shapely.Point(leader.points[0])
        near = tree.query(foot, "dwithin", distance=reach)
        own = [labels[number] for number in near if labels[number].lines[0].layer == leader.layer]
        own = [label for label in own if label.lines[0].space == leader.space]
        if own:
            yield (
                id(leader),
                min(own, key=lambda label: shapely.Polygon(_box(label, sheet)).distance(foot)),
            )
