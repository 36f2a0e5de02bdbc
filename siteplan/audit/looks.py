"""How what is drawn is shown: nothing that hides it, or makes another line of it, goes unseen."""

from __future__ import annotations

from typing import Any, Final

BY_LAYER: Final = 256
"""Number of the colour that a thing has from its layer (DXF reference, group code 62)."""


def look_of(entity: Any) -> tuple[str, ...]:
    """What a thing has of its own: hidden or not, colour, linetype, pattern of a fill.

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
    if entity.dxftype() == "VIEWPORT":
        looks += [f"without layer {name}" for name in sorted(map(str, entity.frozen_layers))]
    return tuple(looks)


def look_of_style(style: Any) -> tuple[str, ...]:
    """Font, width and slant of a text style of ezdxf: letters a tenth as wide cannot be read."""
    dxf = style.dxf
    return (f"font {dxf.font}", f"width {dxf.width:g}", f"slant {dxf.oblique:g}")


def look_of_layer(layer: Any) -> tuple[str, ...]:
    """How a layer is shown, with its colour and linetype.

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
    return (*looks, f"colour {colour}", f"linetype {layer.dxf.linetype}")
