"""Features as a source writes them: in the source's coordinates, not yet judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.reading import ARRAYS, Pair, Table, as_pair
from siteplan.site.options.choices import ADJOINING, PARCEL
from siteplan.site.survey import SurveyDrawing
from siteplan.vocabulary.kinds import kind_called, kinds, plain_word

PARCEL_WORDS: Final = (
    PARCEL, "lot", "plot", "property line", "lot line", "boundary", "tax parcel", "tax lot",
    "property", "property boundary", "lot boundary", "lot outline", "parcel boundary", "my lot",
    "grundstück", "grundstücke", "grundstueck", "flurstück", "flurstücke", "flurstueck", "parzelle",
    "parzellen", "parcelle", "parcela", "particella", "perceel", "fastighet", "matrikel",
    "kiinteistö", "działka",
)  # fmt: skip
"""What people call the outline of the lot, also in other languages."""
SHAPE_KEYS: Final = {"at": "point", "line": "line", "area": "polygon"}
"""Keys of a feature's shape in a site file, and the shape that each gives."""
SHAPES_OF_OTHERS: Final = (
    "points", "point", "polygon", "polyline", "outline", "boundary", "coordinates", "coords",
    "corners", "vertices", "path", "position", "location", "geometry", "shape", "xy",
)  # fmt: skip
"""What others call the shape of a feature."""
ADJOINING_WORDS: Final = (
    ADJOINING, "adjoining lot", "adjoining property", "adjoiner", "abutter", "abutting parcel",
    "neighboring parcel", "neighbouring parcel", "neighbor parcel", "neighbor lot",
)  # fmt: skip
"""What people call the lots beside it."""


@dataclass(frozen=True, slots=True)
class RawFeature:
    """One feature of a source.

    Parameters
    ----------
    where
        File and feature, for messages.
    shape
        Geometry in the source's coordinates.
    table
        Its other keys.
    crs
        Coordinate system of the shape; None: local coordinates in the display unit.
    from_file
        Whether it comes from a geometry file, which may hold keys that are not ours.
    taped
        Whether it is yet to be placed by a tape; its shape is empty till then.
    drawing
        The drawing it is from; None: from none.
    was_open
        Whether its ring was closed in reading.
    departs_m
        How far a line may lie from what was drawn, having fewer corners [m].
    """

    where: str
    shape: BaseGeometry
    table: Table = field(repr=False)
    crs: str | None = None
    from_file: bool = False
    taped: bool = False
    drawing: SurveyDrawing | None = None
    was_open: bool = False
    departs_m: float = 0.0

    @property
    def moves_with(self) -> str:
        """The drawing in whose own coordinates the shape is; empty: it is in none."""
        return self.drawing.file if self.drawing is not None and self.crs is None else ""

    @property
    def kind(self) -> str:
        """Kind as we call it, whatever the source calls it; empty where it does not say."""
        return plain_kind(self.table.text("kind"))


def plain_kind(word: str) -> str:
    """Our name for a kind, also for one that rules do not speak of; else the word itself."""
    called = kind_called(word)
    plain = plain_word(called)
    forms = {plain, plain.removesuffix("s")}
    for own, words in ((PARCEL, PARCEL_WORDS), (ADJOINING, ADJOINING_WORDS)):
        if forms & set(words):
            return own
    return called


def shape_name(shape: BaseGeometry) -> str:
    """Plain name of a geometry: point, line or polygon."""
    return {"LineString": "line", "MultiLineString": "line", "MultiPolygon": "polygon"}.get(
        shape.geom_type, shape.geom_type.lower()
    )


def corners_of(shape: BaseGeometry) -> int:
    """How many corners a shape has; a ring that comes back to its first has it once.

    Examples
    --------
    >>> corners_of(shapely.box(0, 0, 1, 1)), corners_of(shapely.LineString([(0, 0), (1, 1)]))
    (4, 2)
    """
    rings = sum(
        1 + len(part.interiors)
        for part in shapely.get_parts(shape)
        if isinstance(part, shapely.Polygon) and not part.is_empty
    )
    return int(shapely.get_num_coordinates(shape)) - rings


def make_shape(kind: str, points: Sequence[Pair], table: Table, key: str) -> BaseGeometry | None:
    """Point, line or polygon of checked coordinates; too few points is a fault."""
    least = {"point": 1, "line": 2, "polygon": 3}[kind]
    distinct = len(set(points))
    if distinct < least:
        table.fault(
            key, f"has {distinct} different points.", f"A {kind} needs {least}; add the others."
        )
        return None
    if kind == "point":
        return shapely.Point(points[0])
    return shapely.LineString(points) if kind == "line" else shapely.Polygon(points)


def shape_of_others(table: Table, kind: str) -> tuple[str, str] | None:
    """Key under which a feature's shape is written in the words of others, and what to write.

    None where there is none.
    """
    for key in SHAPES_OF_OTHERS:
        value = table.values.get(key)
        if not isinstance(value, ARRAYS) or not table.has(key):
            continue
        if as_pair(value) is not None:
            return key, "write at = [x, y]."
        shapes = kinds()[kind].shapes if kind in kinds() else ("line", "polygon")
        corners = len(value) > 2
        may = {"line": "line" in shapes, "area": "polygon" in shapes and corners}
        forms = {"line": "line = [...] for a way", "area": "area = [...] for an outline"}
        return key, f"write {' or '.join(forms[name] for name in may if may[name])}."
    return None
