"""What else a county's file knows around a lot: layers that are called as people call a kind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from shapely.geometry.base import BaseGeometry

from siteplan.intake.pick import PickedLot
from siteplan.limits import MOST_FEATURES
from siteplan.site.frame import LocalFrame
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.geodata import layers_of, read_rows
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import Near
from siteplan.site.readers.vetted import refused
from siteplan.vocabulary.kinds import Kind, ShapeName, kind_called, kinds

ALONG_M: Final = 100.0
"""How far around the lot wells, tanks, lines and streets are taken in; about 330 ft [m]."""
SHAPES: Final[dict[str, ShapeName]] = {"Point": "point", "LineString": "line", "Polygon": "polygon"}


@dataclass(frozen=True, slots=True)
class Thing:
    """A feature of the county's file: kind, what it is called here, shape [m], layer."""

    kind: str
    name: str
    shape: BaseGeometry
    layer: str


def layer_called(path: Path, kind: str) -> str | None:
    """Name of the one layer of a file that is called as a kind is; None where there is no such."""
    layers = [info.name for info in layers_of(path) if kind_called(info.name) == kind]
    return layers[0] if len(layers) == 1 else None


def building_layer(path: Path) -> str | None:
    """Layer of a file of buildings; None where it has one layer alone.

    Raises
    ------
    InputError
        It has several, and not one of them is called buildings.
    """
    names = [info.name for info in layers_of(path)]
    if len(names) < 2:
        return None
    layer = layer_called(path, "building")
    if layer is None:
        what = f"has {len(names)} layers, and not one alone is called buildings."
        raise refused(path, what, f"Rename or export one of {', '.join(names)}.")
    return layer


def things_along(frame: LocalFrame, path: Path, lot: PickedLot) -> tuple[Thing, ...]:
    """Features near a lot in the layers of its file that are called as a kind is, buildings aside.

    Raises
    ------
    InputError
        A layer cannot be read, or holds more than one lot has.
    """
    things: list[Thing] = []
    near = Near(lot.shape, lot.crs, ALONG_M)
    for info in layers_of(path):
        kind = kinds().get(kind_called(info.name))
        if kind is not None and kind.name != "building" and info.rows:
            rows = read_rows(path, layer=info.name, crs=lot.crs, near=near)
            shapes = (frame.localize(shape, rows.crs or lot.crs) for shape in rows.shapes)
            things += _of_kind(kind, info.name, shapes)
    if len(things) > MOST_FEATURES:
        what = f"has {len(things):,} features around the lot; {MOST_FEATURES:,} are read."
        raise refused(path, what, "Leave out what lies far from the lot.")
    return tuple(things)


def layers_aside(path: Path, taken: Collection[str | None]) -> tuple[str, ...]:
    """Layers of a county's file of which nothing says what they are.

    One that is called as a kind is was looked at: nothing of it need lie near the lot. Several
    that are called buildings are not told apart here.
    """
    called = (PARCEL, *(name for name in kinds() if name != "building"))
    return tuple(
        info.name
        for info in layers_of(path)
        if info.rows and info.name not in taken and plain_kind(info.name) not in called
    )


def _of_kind(kind: Kind, layer: str, shapes: Iterator[BaseGeometry]) -> Iterator[Thing]:
    """Shapes that a site file may give a kind, with a name each."""
    sound = (shape for shape in shapes if shape.is_valid and not shape.is_empty)
    fitting = (shape for shape in sound if SHAPES.get(shape.geom_type) in kind.shapes)
    for number, shape in enumerate(fitting, start=1):
        yield Thing(kind.name, f"{kind.name} {number}", shape, layer)


def told_along(things: tuple[Thing, ...]) -> str:
    """What was taken, in words.

    Examples
    --------
    >>> from shapely import Point
    >>> told_along((Thing("tree", "tree 1", Point(0, 0), "TREES"),))
    '1 tree (layer TREES)'
    """
    counts = Counter((thing.kind, thing.layer) for thing in things)
    return ", ".join(
        f"{number} {kind if number == 1 else f'{kind}s'} (layer {layer})"
        for (kind, layer), number in counts.items()
    )
