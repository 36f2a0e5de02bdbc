"""Text, paragraphs with what is wiped under them, and leaders, as entities of a drawing."""

from __future__ import annotations

import math
from typing import Any, Final

from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts.base import BaseLayout

from siteplan.export.drawing.boxes import tag_of
from siteplan.export.drawing.document import DIMENSION_STYLE, FONTS
from siteplan.export.drawing.paragraphs import Led, Paragraph
from siteplan.export.drawing.scales import Scale
from siteplan.export.drawing.written import written
from siteplan.export.xdata import APPLICATION, to_xdata
from siteplan.sheet.model import XY, Polygon, Text
from siteplan.sheet.style.dimensions import LEADER_ARROW_MM, LEADER_GAP_MM
from siteplan.sheet.style.styles import styles

ANCHORS: Final = {
    "left": TextEntityAlignment.LEFT,
    "center": TextEntityAlignment.CENTER,
    "right": TextEntityAlignment.RIGHT,
}
TOP: Final = {"left": 1, "center": 2, "right": 3}
"""Where a paragraph hangs from: above its first line (group code 71)."""
USUAL_PITCH: Final = 5.0 / 3.0
"""From base line to base line at a spacing of 1, in heights of a capital."""
EXACT: Final = 2
"""Lines stand as far apart as is said, however tall their letters (group code 73)."""
ROOM: Final = 1.02
"""A paragraph is a little wider than its widest line, so that no program breaks that once more."""
CANVAS: Final = "mask"
"""Masks of this name take the colour of the screen; the others are as what they lie on."""
WITH_TEXT, WITHOUT = 0, 3
"""What a leader leads from (group code 73)."""

Look = dict[str, Any]
"""Attributes of an entity."""


def add_line(target: BaseLayout, item: Text, look: Look, scale: Scale) -> Any:
    """One line of text as it stands."""
    text = target.add_text(
        item.text.replace("%%", "%%%%%%"),
        height=scale.size(item.height_mm, item.space),
        rotation=item.angle_deg,
        dxfattribs={**look, "style": FONTS[item.bold][0]},
    )
    text.set_placement(scale.point(item.at, item.space), align=ANCHORS[item.anchor])
    _mark(text, item)
    return text


def add_paragraph(target: BaseLayout, item: Paragraph, look: Look, scale: Scale) -> Any:
    """Lines of text as one paragraph, and what is wiped under it as its background."""
    first = item.lines[0]
    height = scale.size(first.height_mm, first.space)
    text = target.add_mtext(
        written([line.text for line in item.lines]),
        {
            **look, "style": FONTS[first.bold][0], "char_height": height,
            "insert": _above(scale.point(first.at, first.space), first.angle_deg, height),
            "rotation": first.angle_deg, "attachment_point": TOP[first.anchor],
            "width": scale.size(item.width_mm * ROOM, first.space), "flow_direction": 1,
        },
    )  # fmt: skip
    if len(item.lines) > 1:
        text.dxf.line_spacing_style = EXACT
        text.dxf.line_spacing_factor = item.pitch_mm / (USUAL_PITCH * first.height_mm)
    if item.mask is not None:
        _wipe(text, item, item.mask, scale)
    _mark(text, first)
    return text


def add_field(block: Any, insert: Any, item: Text, look: Look, scale: Scale) -> None:
    """A field of the title block: its place in the block, and what it says on this sheet."""
    assert item.mark is not None
    tag, height = tag_of(item.mark), scale.size(item.height_mm, item.space)
    look = {**look, "style": FONTS[item.bold][0], "height": height, "rotation": item.angle_deg}
    place, align = scale.point(item.at, item.space), ANCHORS[item.anchor]
    asked = block.add_attdef(tag, dxfattribs={**look, "prompt": tag.replace("_", " ")})
    asked.set_placement(place, align=align)
    said = insert.add_attrib(tag, item.text, dxfattribs=look)
    said.set_placement(place, align=align)
    _mark(said, item)


def _above(at: XY, angle_deg: float, height: float) -> XY:
    """Where a line hangs from that has its base line at a place."""
    up = math.radians(angle_deg + 90.0)
    return at[0] + height * math.cos(up), at[1] + height * math.sin(up)


def _mark(text: Any, item: Text) -> None:
    if item.mark is not None:
        text.set_xdata(APPLICATION, to_xdata(item.mark))


def _wipe(text: Any, item: Paragraph, mask: Polygon, scale: Scale) -> None:
    """Give a paragraph a background as wide as its mask, never wider."""
    first = item.lines[0]
    whole = _extent(mask, first.angle_deg) / (scale.metres if first.space == "model" else 1.0)
    spare = max(whole - item.width_mm, 0.0)
    text.dxf.width = scale.size(item.width_mm + spare / 2, first.space)
    border = 1.0 + spare / 4 / first.height_mm
    style = styles()[mask.style]
    plain = mask.style.removesuffix("-low") == CANVAS
    color = "canvas" if plain else tuple(bytes.fromhex(style.color.lstrip("#")))
    text.set_bg_color(color, scale=border)


def _extent(mask: Polygon, angle_deg: float) -> float:
    """Length of a mask in a direction, in its space."""
    angle = math.radians(angle_deg)
    along = [x * math.cos(angle) + y * math.sin(angle) for x, y in mask.rings[0]]
    return max(along) - min(along)


def add_leader(target: BaseLayout, item: Led, look: Look, scale: Scale) -> Any:
    """A leader from its arrow to its text, with sizes as the sheet has them."""
    look = {name: value for name, value in look.items() if name != "ltscale"}
    return target.add_leader(
        scale.points(item.path.points[::-1], item.path.space),
        dimstyle=DIMENSION_STYLE,
        override={
            "dimasz": LEADER_ARROW_MM * scale.paper, "dimgap": LEADER_GAP_MM * scale.paper,
            "dimtad": 0,
        },
        dxfattribs={**look, "has_hookline": 0, "annotation_type": WITHOUT},
    )  # fmt: skip


def join(leader: Any, text: Any) -> None:
    """Let a leader go with its text: who moves the one moves the other."""
    leader.dxf.annotation_type = WITH_TEXT
    leader.dxf.annotation_handle = text.dxf.handle
    leader.dxf.text_height, leader.dxf.text_width = text.dxf.char_height, text.dxf.width
    text.append_reactor_handle(leader.dxf.handle)
