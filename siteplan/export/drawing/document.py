"""An empty drawing as the sheets need it: units, styles, linetypes, layers, blocks of symbols."""

from __future__ import annotations

import math
from typing import Any, Final

from ezdxf.document import Drawing
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import new

from siteplan.export.drawing.record import ELEMENT_DATA, Place
from siteplan.export.drawing.scales import Scale, scale_of
from siteplan.export.xdata import APPLICATION
from siteplan.sheet.model import Sheet
from siteplan.sheet.style.dimensions import (
    ARROW_MM,
    EXTENSION_BEYOND_MM,
    EXTENSION_GAP_MM,
    TEXT_GAP_MM,
    TEXT_MM,
)
from siteplan.sheet.style.styles import (
    Style,
    layer,
    layer_descriptions,
    linetype,
    standard_linetypes,
    styles,
)
from siteplan.sheet.style.symbols import SymbolShape, symbol_shapes
from siteplan.units.lengths import INCH, to_unit

FONTS: Final = {False: ("PLAN", "DejaVuSans.ttf"), True: ("PLAN-BOLD", "DejaVuSans-Bold.ttf")}
"""Text style and its font file, by whether it is bold."""
DIMENSION_STYLE: Final = "PLAN"
WITHOUT_EXTENSIONS: Final = "PLAN-LINE"
"""Dimension style of a line from point to point, which has no extension lines."""
BY_BLOCK, BLACK_OR_WHITE, BY_LAYER = 0, 7, 256
"""Colour indices of the format."""


def new_document(sheet: Sheet) -> Drawing:
    """A drawing with all that the things of a sheet refer to."""
    doc = new("R2013", units=InsertUnits(sheet.unit.drawing.insunits))
    scale = scale_of(sheet)
    for bold in FONTS:
        doc.styles.add(FONTS[bold][0], font=FONTS[bold][1])
    _set_header(doc, sheet, scale)
    doc.set_wipeout_variables(frame=0)  # type: ignore[no-untyped-call]
    for application in (APPLICATION, ELEMENT_DATA):
        doc.appids.add(application)
    _add_dimension_styles(doc, sheet, scale)
    for name, pattern in standard_linetypes().items():
        _add_linetype(doc, name, pattern, scale)
    for name, style in sheet.layers:
        _add_layer(doc, name, styles()[style])
    for name, shape in symbol_shapes().items():
        _add_block(doc, name, shape)
    _show_model(doc, sheet, scale)
    return doc


def _set_header(doc: Drawing, sheet: Sheet, scale: Scale) -> None:
    header = doc.header
    header["$MEASUREMENT"] = sheet.unit.drawing.measurement
    header["$LTSCALE"] = scale.model
    # else a window would scale the dashes of the model once more
    header["$PSLTSCALE"] = 0
    header["$TEXTSTYLE"] = FONTS[False][0]
    header["$TEXTSIZE"] = scale.size(TEXT_MM * sheet.paper.enlargement, "model")
    # paper space begins at the lower left corner of the paper
    header["$PLIMMIN"] = (0.0, 0.0)
    header["$PLIMMAX"] = scale.point((sheet.paper.width_mm, sheet.paper.height_mm), "paper")


def set_place(doc: Drawing, place: Place, scale: Scale) -> None:
    """Say where on the earth the model lies: a local grid on World Mercator."""
    data = doc.modelspace().new_geodata()
    data.setup_local_grid(
        design_point=scale.point(place.at, "model"), reference_point=place.mercator
    )
    # that grid is longer than the ground, the farther from the equator the more
    data.dxf.scale_estimation_method = data.USER_SCALE
    data.dxf.user_scale_factor = place.grid_scale


def _dimension_look(sheet: Sheet, scale: Scale) -> dict[str, float]:
    """What a program needs in order to draw a dimension as the sheet has it.

    Sizes are those on paper; ``dimscale`` makes them those of the model.
    """
    text = scale.paper * sheet.paper.enlargement
    return {
        "dimscale": scale.model,
        "dimasz": ARROW_MM * scale.paper,
        "dimexo": EXTENSION_GAP_MM * scale.paper,
        "dimexe": EXTENSION_BEYOND_MM * scale.paper,
        "dimtxt": TEXT_MM * text,
        "dimgap": TEXT_GAP_MM * text,
        "dimtad": 1,  # figures over the line
        "dimtih": 0, "dimtoh": 0,  # and along it
        "dimtix": 1, "dimtofl": 1,  # between the ends, and the line too
        "dimtmove": 2,  # a figure that is moved leaves its line where it is
        "dimlunit": 2, "dimdec": sheet.unit.sign_decimals, "dimzin": 0, "dimdsep": ord("."),
        "dimlfac": 1.0, "dimclrd": BY_BLOCK, "dimclre": BY_BLOCK, "dimclrt": BY_BLOCK,
    }  # fmt: skip


def _add_dimension_styles(doc: Drawing, sheet: Sheet, scale: Scale) -> None:
    """Styles of dimensions, the header alike: with extension lines, and from point to point."""
    look = _dimension_look(sheet, scale)
    for name, value in look.items():
        doc.header[f"${name.upper()}"] = value
    doc.header["$DIMTXSTY"] = FONTS[False][0]
    doc.header["$DIMSTYLE"] = DIMENSION_STYLE
    # the style that every drawing has as well: who dimensions with it gets the sizes of the sheet
    usual = doc.dimstyles.get("Standard")
    usual.update_dxf_attribs(look)
    for style in (DIMENSION_STYLE, WITHOUT_EXTENSIONS):
        row = doc.dimstyles.duplicate_entry("Standard", style)
        row.dxf.dimpost = f"<>{_sign(sheet)}"
        row.dxf.dimtxsty = FONTS[False][0]
        row.dxf.dimse1 = row.dxf.dimse2 = int(style == WITHOUT_EXTENSIONS)


def _sign(sheet: Sheet) -> str:
    """What stands behind a length."""
    sign = sheet.unit.sign
    return f" {sign}" if sign.isalpha() else sign


def _add_linetype(doc: Drawing, name: str, pattern: tuple[float, ...], scale: Scale) -> None:
    # the pattern is given in inches; a unit of paper may be a millimetre
    unit = INCH * 1000.0 * scale.paper
    signs = [length * unit * (-1.0 if odd % 2 else 1.0) for odd, length in enumerate(pattern)]
    picture = " ".join("_" * max(1, round(16 * dash)) for dash in pattern[::2])
    description = f"{name.capitalize()} {picture}"
    doc.linetypes.add(name, pattern=[sum(pattern) * unit, *signs], description=description)


def _add_layer(doc: Drawing, name: str, style: Style) -> None:
    weight = round(style.weight * 100)
    row = doc.layers.add(name, linetype=linetype_name(style), lineweight=weight)
    row.update_dxf_attribs(color_of(style))
    row.description = layer_descriptions().get(name, "")
    if name == layer("viewport"):
        row.dxf.plot = 0


def linetype_name(style: Style) -> str:
    """Name of a style's linetype in a drawing."""
    return linetype(style.linetype).like or "CONTINUOUS"


def color_of(style: Style) -> dict[str, int]:
    """Black as index 7, which turns white on a dark screen; any other colour as it is."""
    if style.color == "#000000":
        return {"color": BLACK_OR_WHITE}
    return {"true_color": int(style.color.lstrip("#"), 16)}


def _add_block(doc: Drawing, name: str, shape: SymbolShape) -> None:
    block = doc.blocks.new(block_name(name))
    look = {"layer": "0", "color": BY_BLOCK}
    for x, y, radius in shape.circles:
        block.add_circle((x, y), radius, dxfattribs=look)
    for line in shape.lines:
        block.add_lwpolyline(line, dxfattribs=look)
    for solid in shape.solids:
        hatch = block.add_hatch(color=BY_BLOCK, dxfattribs={"layer": "0"})
        hatch.paths.add_polyline_path(solid, is_closed=True)
    for wedge in shape.wedges:
        _add_wedge(block, *wedge)


def _add_wedge(block: Any, x: float, y: float, radius: float, start: float, end: float) -> None:
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


def block_name(name: str) -> str:
    """Name of a symbol's block."""
    return name.upper()


def _show_model(doc: Drawing, sheet: Sheet, scale: Scale) -> None:
    """Let the window on model space show what the sheet shows."""
    view = sheet.view
    height = scale.size(view.height_mm, "model")
    center = tuple(to_unit(value, sheet.unit) for value in view.turned_center)
    fill = max(1.0, sheet.paper.height_mm / view.height_mm)
    port = doc.set_modelspace_vport(height=height * fill, center=center)
    port.dxf.view_twist = view.turn_deg
