"""All that is drawn in a file, thing by thing, so that one drawing can be laid over another."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from siteplan.audit.looks import look_of, look_of_layer, look_of_paper, look_of_style
from siteplan.audit.opened import is_part, opened
from siteplan.export.drawing.record import DISTANCE, ELEMENT_DATA
from siteplan.export.xdata import APPLICATION, from_xdata
from siteplan.sheet.marks import Mark

XY = tuple[float, float]

MODEL: Final = "Model"
GEODATA: Final = "GEODATA"
LAYERS: Final = "layers"
PAPER: Final = "PAPER"
PLACES: Final = ("center", "start", "end", "insert", "location")
"""Attributes that say where a thing lies, of types that a plan has none of."""


@dataclass(frozen=True, slots=True)
class Ink:
    """One thing drawn.

    Parameters
    ----------
    space
        Model, the layout, or the block in which it stands.
    type, layer
        Its type in the format, and its layer.
    points
        Where it lies, in units of its space.
    sizes
        Heights, scales, turns and what else has a size.
    text
        What it says, or what its block is called.
    told
        What it tells programs of the element that it draws.
    look
        Whether it is hidden, colour, linetype and pattern of its own, and how high it lies.
    handle, mark
        By which it is found; they do not count where two are compared.
    """

    space: str
    type: str
    layer: str
    points: tuple[XY, ...]
    sizes: tuple[float, ...] = ()
    text: str = ""
    told: tuple[str, ...] = ()
    look: tuple[str, ...] = ()
    handle: str = field(default="", compare=False)
    mark: Mark | None = field(default=None, compare=False)

    @property
    def is_whole(self) -> bool:
        """Whether all of its figures are numbers."""
        return all(map(math.isfinite, (*self.sizes, *(v for at in self.points for v in at))))

    @property
    def is_something(self) -> bool:
        """Whether it has a length, a size or an area where its type has one."""
        if self.type in ("LINE", "LWPOLYLINE", "POLYLINE", "LEADER", "DIMENSION", "HATCH", "SOLID"):
            return not self.points or len(set(self.points)) > 1
        if self.type in ("TEXT", "ATTRIB", "MTEXT", "INSERT", "CIRCLE", "ARC"):
            return bool(self.sizes) and self.sizes[0] != 0.0
        return True


def inks_of(document: Any) -> tuple[Ink, ...]:
    """All that stands in the model, on the layouts, and in the blocks of symbols.

    Parameters
    ----------
    document
        An ezdxf document.
    """
    model = document.modelspace()
    inks = [*_of_space(model, MODEL), *_of_place(model), *layers_of(document)]
    for name in document.layout_names_in_taborder():
        if name != MODEL:
            layout = document.layout(name)
            inks += _of_space(opened(layout), str(name))
            inks.append(_paper(layout, str(name)))
    for block in document.blocks:
        # those of layouts, of dimensions and of parts of sheets stand with what they belong to
        if not (str(block.name).startswith("*") or is_part(block.name)):
            inks += _of_space(block, f"block {block.name}")
    return tuple(inks)


def layers_of(document: Any) -> Iterator[Ink]:
    """How each layer is shown, and each text style: a layer that is off hides what lies on it."""
    for layer in document.layers:
        name, handle = str(layer.dxf.name), str(layer.dxf.handle)
        yield Ink(LAYERS, "LAYER", name, (), (), name, (), look_of_layer(layer), handle)
    for style in document.styles:
        name, handle = str(style.dxf.name), str(style.dxf.handle)
        yield Ink(LAYERS, "STYLE", name, (), (), name, (), look_of_style(style), handle)


def _paper(layout: Any, name: str) -> Ink:
    handle = str(layout.dxf.handle)
    return Ink(LAYERS, PAPER, name, (), (), name, (), look_of_paper(layout), handle)


def _of_space(space: Iterable[Any], name: str) -> Iterator[Ink]:
    for entity in space:
        kind = entity.dxftype()
        # the first window of a layout is the paper itself
        if kind == "VIEWPORT" and entity.dxf.get("id", 2) == 1:
            continue
        points, sizes, text = _figures(entity, kind)
        tags = entity.get_xdata(APPLICATION) if entity.has_xdata(APPLICATION) else None
        mark = None if tags is None else from_xdata(tags)
        layer = str(entity.dxf.layer)
        told, look = tuple(_told(entity)), look_of(entity)
        yield Ink(name, kind, layer, points, sizes, text, told, look, str(entity.dxf.handle), mark)
        if kind == "DIMENSION":
            yield from _of_dimension(entity, name)


def _told(entity: Any) -> Iterator[str]:
    """What a thing tells programs of its element, word by word; figures to a thousandth."""
    if entity.has_xdata(ELEMENT_DATA):
        for code, value in entity.get_xdata(ELEMENT_DATA):
            yield f"{float(value):.3f}" if code == DISTANCE else str(value)


def _of_place(model: Any) -> Iterator[Ink]:
    """Where on the earth the model says that it lies.

    Its figures do not move with the model, and are therefore no points.
    """
    data = model.get_geodata()
    if data is not None:
        dxf = data.dxf
        ends = (dxf.design_point, dxf.reference_point, dxf.north_direction)
        sizes = (
            *(v for at in map(_xy, ends) for v in at),
            dxf.user_scale_factor,
            dxf.horizontal_unit_scale,
        )
        yield Ink(MODEL, GEODATA, "", (), tuple(map(float, sizes)), handle=str(dxf.handle))


def _of_dimension(entity: Any, name: str) -> Iterator[Ink]:
    """What a dimension shows on the plan, whatever it says that it measures."""
    block = entity.get_geometry_block()
    for ink in _of_space(block or (), name):
        yield Ink(
            name, f"DIMENSION {ink.type}", ink.layer, ink.points, ink.sizes, ink.text, ink.told,
            ink.look, str(entity.dxf.handle), ink.mark,
        )  # fmt: skip


Figures = tuple[tuple[XY, ...], tuple[float, ...], str]
"""Places, sizes and text of a thing."""


def _figures(entity: Any, kind: str) -> Figures:
    reader = READERS.get(kind)
    if reader is not None:
        return reader(entity)
    dxf = entity.dxf
    known = [name for name in PLACES if dxf.is_supported(name) and dxf.hasattr(name)]
    size = (float(dxf.radius),) if dxf.is_supported("radius") else ()
    return tuple(_xy(dxf.get(name)) for name in known), size, ""


def _polyline(entity: Any) -> Figures:
    rows = [(float(x), float(y), float(bulge)) for x, y, bulge in entity.get_points("xyb")]
    bulges = tuple(bulge for *_, bulge in rows) if any(row[2] for row in rows) else ()
    return tuple((x, y) for x, y, _ in rows), (float(entity.closed), *bulges), ""


def _old_polyline(entity: Any) -> Figures:
    # of this type are meshes and faces too, of which no plan has any
    if not (entity.is_2d_polyline or entity.is_3d_polyline):
        return (), (), ""
    return tuple(map(_xy, entity.points())), (float(entity.is_closed),), ""


def _text(entity: Any) -> Figures:
    dxf = entity.dxf
    at = dxf.align_point if dxf.halign and dxf.hasattr("align_point") else dxf.insert
    return (_xy(at),), (float(dxf.height), turn_of(float(dxf.rotation))), str(dxf.text)


def _paragraph(entity: Any) -> Figures:
    dxf = entity.dxf
    sizes = (float(dxf.char_height), turn_of(float(entity.get_rotation())), _wiped(entity))
    text = " ".join(entity.plain_text(split=True))
    return (_xy(dxf.insert),), sizes, text


def _wiped(entity: Any) -> float:
    """How far the background of a paragraph goes beyond it, in heights; 0 where it has none."""
    dxf = entity.dxf
    return float(dxf.get("box_fill_scale", 1.0)) if dxf.get("bg_fill", 0) else 0.0


def _leader(entity: Any) -> Figures:
    return tuple(map(_xy, entity.vertices)), (), ""


def _insert(entity: Any) -> Figures:
    dxf = entity.dxf
    said = "".join(f" {row.dxf.tag}={row.dxf.text}" for row in entity.attribs)
    sizes = (float(dxf.xscale), float(dxf.yscale), turn_of(float(dxf.rotation)))
    return (_xy(dxf.insert),), sizes, f"{dxf.name}{said}"


def _hatch(entity: Any) -> Figures:
    return tuple(_of_paths(entity)), (), ""


def _dimension(entity: Any) -> Figures:
    ends = (entity.dxf.defpoint2, entity.dxf.defpoint3, entity.dxf.defpoint)
    return tuple(map(_xy, ends)), (), str(entity.dxf.text)


def _mask(entity: Any) -> Figures:
    return tuple(map(_xy, entity.boundary_path_wcs())), (), ""


def _solid(entity: Any) -> Figures:
    return tuple(_xy(entity.dxf.get(f"vtx{k}", (0, 0))) for k in range(4)), (), ""


def _window(entity: Any) -> Figures:
    dxf = entity.dxf
    sizes = (dxf.width, dxf.height, dxf.view_height, dxf.get("view_twist_angle", 0.0))
    return (_xy(dxf.center), _xy(dxf.view_center_point)), tuple(map(float, sizes)), ""


READERS: Final[dict[str, Callable[[Any], Figures]]] = {
    "LWPOLYLINE": _polyline, "POLYLINE": _old_polyline, "TEXT": _text, "ATTRIB": _text,
    "MTEXT": _paragraph, "INSERT": _insert, "HATCH": _hatch, "DIMENSION": _dimension,
    "WIPEOUT": _mask, "SOLID": _solid, "VIEWPORT": _window, "LEADER": _leader,
}  # fmt: skip
"""What reads a thing of each type that a plan has."""


def _of_paths(entity: Any) -> Iterator[XY]:
    for path in entity.paths:
        if hasattr(path, "vertices"):
            yield from (_xy(at) for at in path.vertices)
            continue
        for edge in path.edges:
            yield from (_xy(at) for at in (edge.start_point, edge.end_point))


def turn_of(degrees: float) -> float:
    """A turn as an angle from 0 to below 360: what is a hair below a whole turn is none [deg]."""
    return round(degrees, 6) % 360.0


def _xy(at: Any) -> XY:
    return float(at[0]), float(at[1])
