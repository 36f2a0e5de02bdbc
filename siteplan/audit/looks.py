"""How what is drawn is shown: nothing that hides it, or makes another line of it, goes unseen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

FLAT: Final = 1e-9
"""What lies no higher or lower than this lies in the plane of the sheet, in drawing units."""
LIES_AT: Final = (
    "insert", "align_point", "elevation", "start", "end", "center", "location",
    "vtx0", "vtx1", "vtx2", "vtx3", "defpoint", "defpoint2", "defpoint3", "text_midpoint",
)  # fmt: skip
"""Attributes that say where a thing lies, or how high."""
UP: Final = (0.0, 0.0, 1.0)
"""Direction out of the plane of a plan that was not turned (DXF reference, group code 210)."""
BY_LAYER: Final = 256
"""Number of the colour that a thing has from its layer (DXF reference, group code 62)."""


def look_of(entity: Any) -> tuple[str, ...]:
    """What a thing has of its own: hidden or not, colour, linetype, pattern of a fill, height.

    Parameters
    ----------
    entity
        An entity of ezdxf.
    """
    dxf = entity.dxf
    looks = ["hidden"] if dxf.get("invisible", 0) else []
    if dxf.get("color", BY_LAYER) != BY_LAYER:
        looks.append(f"colour {dxf.color}")
    if dxf.hasattr("true_color"):
        looks.append(f"colour #{dxf.true_color:06x}")
    if dxf.get("linetype", "BYLAYER").upper() != "BYLAYER":
        looks.append(f"linetype {dxf.linetype}")
    if entity.dxftype() == "HATCH":
        looks.append(f"pattern {dxf.pattern_name}")
    if entity.dxftype() in ("DIMENSION", "LEADER"):
        looks.append(f"dimension style {dxf.get('dimstyle', 'Standard')}")
    if entity.dxftype() == "VIEWPORT":
        looks += [f"without layer {name}" for name in sorted(map(str, entity.frozen_layers))]
    looks += [f"height {high:g}" for high in sorted({high for high in _heights(entity) if high})]
    if dxf.is_supported("thickness") and dxf.get("thickness", 0.0):
        looks.append(f"thickness {dxf.thickness:g}")
    if dxf.is_supported("extrusion") and tuple(dxf.get("extrusion", UP)) != UP:
        looks.append("turned out of the plane")
    return tuple(looks)


def _heights(entity: Any) -> Iterator[float]:
    """How high each place of a thing lies, in units of the drawing: a plan is flat."""
    for name in LIES_AT:
        at = entity.dxf.get(name) if entity.dxf.is_supported(name) else None
        if at is not None:
            yield _high(at if isinstance(at, int | float) else at[2])
    corners = getattr(entity, "vertices", ()) if entity.dxftype() in ("LEADER", "POLYLINE") else ()
    for corner in corners:
        at = corner.dxf.location if hasattr(corner, "dxf") else corner
        yield _high(at[2] if len(at) > 2 else 0.0)


def _high(value: float) -> float:
    return 0.0 if abs(value) < FLAT else float(value)


def look_of_paper(layout: Any) -> tuple[str, ...]:
    """Size of the paper of a layout of ezdxf, turned or not."""
    dxf = layout.dxf
    turned = dxf.get("plot_rotation", 0) * 90
    size = f"paper {dxf.paper_width:.1f} by {dxf.paper_height:.1f} mm"
    return (size, f"plotted turned by {turned} degrees") if turned else (size,)


def look_of_style(style: Any) -> tuple[str, ...]:
    """Font, width and slant of a text style of ezdxf: letters a tenth as wide cannot be read."""
    dxf = style.dxf
    return (f"font {dxf.font}", f"width {dxf.width:g}", f"slant {dxf.oblique:g}")


def look_of_layer(layer: Any) -> tuple[str, ...]:
    """How a layer is shown, with its colour and linetype, and what it is said to hold.

    Parameters
    ----------
    layer
        An entry of the table of layers of ezdxf.
    """
    states = {
        "off": layer.is_off(), "frozen": layer.is_frozen(), "not plotted": not layer.dxf.plot,
    }  # fmt: skip
    looks = [state for state, holds in states.items() if holds]
    # of a layer that is off the colour is negative
    colour = f"#{layer.dxf.true_color:06x}" if layer.dxf.hasattr("true_color") else layer.color
    said = f"described as {layer.description}" if layer.description else "not described"
    return (*looks, f"colour {colour}", f"linetype {layer.dxf.linetype}", said)
