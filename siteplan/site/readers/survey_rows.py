"""Layers of a surveyor's drawing as rows: outlines closed, lines joined, texts as labels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.chains import Points, chains_of
from siteplan.reading import did_you_mean
from siteplan.site.readers.dxf_curves import HATCHES
from siteplan.site.readers.rows import Rows, condition
from siteplan.site.readers.survey_dxf import TEXTS, Drawing, Drawn, damage
from siteplan.site.readers.vetted import refused

CHORD_M: Final = 0.001
"""How far a chord may lie from a curve [m]."""
JOINED_M: Final = 0.03
"""Ends of lines nearer to one another than this meet, about 0.1 ft; common practice, no source."""
SHARE: Final = 0.1
"""Ends of lines farther apart than this share of the usual line do not meet."""
SYMBOL_M: Final = 3.0
"""A block narrower than this is a mark for a point, whatever is drawn in it [m]."""
LABEL_M: Final = 10.0
"""A text farther from a point than this does not name it [m]."""
ALIKE: Final = 0.9999
"""Share of each other that two outlines cover which are one, drawn twice."""


OpenEnds = tuple[Points, Points, float]
"""Two ends of lines, and how far they are apart [m]."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What a layer of a drawing holds.

    Parameters
    ----------
    rows
        Its shapes in the unit of the drawing, with what is said of each.
    words
        What was joined, closed or left out, in words.
    open_ends
        The two ends of lines nearest to one another that do not meet, and how far [m] they are
        apart; None without lines.
    gap_m
        Widest gap between lines that was closed [m].
    """

    rows: Rows
    words: tuple[str, ...] = ()
    open_ends: OpenEnds | None = None
    gap_m: float = 0.0

    @property
    def outlines(self) -> list[tuple[Polygon, int]]:
        """Its areas, with the number of each."""
        shapes = zip(self.rows.shapes, self.rows.numbers, strict=True)
        return [(shape, number) for shape, number in shapes if isinstance(shape, Polygon)]


@dataclass(slots=True)
class _Found:
    """A shape with what is said of it, and where it comes in the drawing."""

    shape: BaseGeometry
    order: int
    says: dict[str, Any] = field(default_factory=dict)


def layer_of(drawing: Drawing, name: str | None, metres: float, *, lots: bool = False) -> Layer:
    """What one layer of a drawing holds, or all of them.

    Parameters
    ----------
    drawing
        The drawing.
    name
        Name of the layer, however it is capitalised; None: every layer.
    metres
        Unit of the drawing [m].
    lots
        Whether lines that fork close lots between them, as they do on a plat.

    Raises
    ------
    InputError
        There is no such layer, or it is frozen or off.
    """
    key = _known(drawing, name) if name is not None else None
    items = [item for item in _flat(drawing.drawn, metres) if key in (None, item.layer)]
    with damage(drawing.path):
        shapes, gap_m, ends = _shapes(items, metres, lots=lots)
    words = [f"gaps closed, the widest {gap_m:.3f} m"] if gap_m else []
    kept = _without_twins(sorted(shapes, key=lambda each: each.order))
    if len(kept) < len(shapes):
        words.append(f"{len(shapes) - len(kept)} drawn twice: taken once")
    _label(kept, [item for item in items if item.kind in TEXTS], metres)
    for number, each in enumerate(kept, start=1):
        layer = str(each.says["LAYER"])
        each.says |= {"NUMBER": number, "LAYER": drawing.layers.get(layer, layer)}
    rows = Rows(
        tuple(each.shape for each in kept),
        tuple(each.says for each in kept),
        tuple(range(1, len(kept) + 1)),
        None,
    )
    return Layer(rows, tuple(words), ends, gap_m)


def rows_where(drawing: Drawing, rows: Rows, where: str | None) -> Rows:
    """Rows that say what is asked for.

    Raises
    ------
    InputError
        No row does.
    """
    if where is None:
        return rows
    column, value = condition(where, drawing.path)
    named = {name for says in rows.columns for name in says}
    if column not in named:
        raise refused(
            drawing.path, f"has no column {column!r};", did_you_mean(column, sorted(named))
        )
    index = [at for at, says in enumerate(rows.columns) if str(says.get(column, "")) == value]
    if not index:
        told = sorted({str(says[column]) for says in rows.columns if column in says})[:5]
        raise refused(drawing.path, f"has no row where {where}.", f"Such as: {', '.join(told)}.")
    return Rows(
        tuple(rows.shapes[at] for at in index),
        tuple(rows.columns[at] for at in index),
        tuple(rows.numbers[at] for at in index),
        None,
    )


def _known(drawing: Drawing, name: str) -> str:
    key = name.upper()
    if key in drawing.layers:
        return key
    if key in drawing.hidden:
        what = f"has layer {name!r}, but it is {drawing.hidden[key]}."
        raise refused(drawing.path, what, "Thaw it and turn it on, or name another.")
    names = list(drawing.layers.values())
    hint = did_you_mean(name, names) if names else "nothing is drawn on any."
    raise refused(drawing.path, f"has nothing on a layer {name!r};", hint)


def _flat(drawn: Iterable[Drawn], metres: float) -> Iterator[Drawn]:
    """Entities, those of blocks that are no marks in place of their block."""
    for item in drawn:
        if item.kind != "INSERT" or item.size * metres < SYMBOL_M:
            yield item
        else:
            yield from _flat(item.inside, metres)


def _shapes(
    items: Sequence[Drawn], metres: float, *, lots: bool
) -> tuple[list[_Found], float, OpenEnds | None]:
    """Shapes of entities, the widest gap closed [m], and the open ends nearest to each other."""
    shapes: list[_Found] = []
    pieces: dict[str, list[tuple[Points, int]]] = {}
    for order, item in enumerate(items):
        if item.kind in ("POINT", "INSERT"):
            assert item.place is not None
            shapes.append(_Found(Point(item.place), order, _says(item)))
            continue
        lines = item.lines(CHORD_M / metres)
        rings = [line for line in lines if len(line) > 3 and (line[0] == line[-1]).all()]
        if item.kind in HATCHES:
            shapes += [_Found(part, order, _says(item)) for part in _even_odd(rings)]
            continue
        shapes += [_Found(Polygon(ring), order, _says(item)) for ring in rings]
        left = [(line, order) for line in lines if not any(line is ring for ring in rings)]
        pieces.setdefault(item.layer, []).extend(left)
    widest, nearest = 0.0, None
    for of_layer in pieces.values():
        joined, gap, ends = _joined(of_layer, items, metres, lots=lots)
        shapes += joined
        widest = max(widest, gap * metres)
        nearest = ends or nearest
    # less is how numbers are rounded, no gap
    return shapes, widest if widest > CHORD_M else 0.0, nearest


def _joined(
    pieces: Sequence[tuple[Points, int]], items: Sequence[Drawn], metres: float, *, lots: bool
) -> tuple[list[_Found], float, OpenEnds | None]:
    """Chains of lines; of lots, also the areas that lines which fork close between them."""
    lines = {_undirected(line): (line, order) for line, order in reversed(pieces)}
    kept = [lines[key] for key in reversed(lines) if len(np.unique(lines[key][0], axis=0)) > 1]
    chains = chains_of([line for line, _ in kept], _reach([line for line, _ in kept], metres))
    shapes: list[_Found] = []
    open_lines: list[_Found] = []
    for chain in chains:
        orders = sorted(kept[piece][1] for piece in chain.pieces)
        says = _says(items[orders[0]])
        says["ENTITY"] = ", ".join(dict.fromkeys(items[order].kind for order in orders))
        if not np.ptp(chain.points, axis=0).any():
            continue
        if chain.closed:
            shapes.append(_Found(Polygon(chain.points), orders[0], says))
        else:
            open_lines.append(_Found(LineString(chain.points), orders[0], says))
    faces = _faces(open_lines) if lots else []
    gap = max((chain.gap for chain in chains), default=0.0)
    ends = _nearest_ends([np.asarray(each.shape.coords) for each in open_lines], metres)
    return [*shapes, *(faces or open_lines)], gap, ends


def _reach(lines: Sequence[Points], metres: float) -> float:
    """How near ends must be to meet: in a drawing of short lines, a part of these."""
    lengths = [float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines]
    return min(JOINED_M / metres, float(np.median(lengths)) * SHARE if lengths else 0.0)


def _undirected(line: Points) -> bytes:
    return min(line.tobytes(), line[::-1].tobytes())


def _faces(lines: Sequence[_Found]) -> list[_Found]:
    """Areas that lines close between them."""
    if len(lines) < 2:
        return []
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all([o.shape for o in lines])]))
    shapes = []
    for face in faces:
        edge = face.exterior.buffer(1e-9 * max(face.length, 1.0))
        beside = [each for each in lines if edge.intersection(each.shape).length > 0]
        first = min(beside or lines, key=lambda each: each.order)
        shapes.append(_Found(face, first.order, dict(first.says)))
    return sorted(shapes, key=lambda each: (each.order, *each.shape.bounds))


def _nearest_ends(lines: Sequence[Points], metres: float) -> OpenEnds | None:
    """The two ends nearest to one another of those that do not meet."""
    from scipy.spatial import KDTree  # noqa: PLC0415

    ends = np.array([line[at] for line in lines for at in (0, -1)])
    if not len(ends):
        return None
    gaps, near = KDTree(ends).query(ends, k=min(8, len(ends)))
    away = np.where(np.asarray(gaps) * metres > JOINED_M, gaps, np.inf)
    first, at = divmod(int(away.argmin()), away.shape[1])
    if not np.isfinite(away[first, at]):
        return None
    other = int(np.asarray(near)[first, at])
    return ends[first], ends[other], float(away[first, at] * metres)


def _even_odd(rings: Sequence[Points]) -> list[Polygon]:
    """Areas within an odd number of rings; a ring that crosses itself stays as it is."""
    areas = [Polygon(ring) for ring in rings]
    if len(areas) < 2 or not all(area.is_valid for area in areas):
        return areas
    whole: BaseGeometry = areas[0]
    for area in areas[1:]:
        whole = shapely.symmetric_difference(whole, area)
    return [part for part in shapely.get_parts(whole) if isinstance(part, Polygon)]


def _without_twins(shapes: Sequence[_Found]) -> list[_Found]:
    """Shapes without those drawn again, as a hatch is over the line around it."""
    tree = shapely.STRtree([each.shape for each in shapes])
    kept: list[_Found] = []
    dropped: set[int] = set()
    for index, each in enumerate(shapes):
        before = [at for at in tree.query(each.shape).tolist() if at < index and at not in dropped]
        if any(_same(each.shape, shapes[at].shape) for at in before):
            dropped.add(index)
        else:
            kept.append(each)
    return kept


def _same(first: BaseGeometry, other: BaseGeometry) -> bool:
    if first.geom_type != other.geom_type or not np.allclose(
        first.bounds, other.bounds, rtol=0, atol=1e-3 * max(first.length, 1e-9)
    ):
        return False
    if not isinstance(first, Polygon) or not (first.is_valid and other.is_valid):
        return bool(first.equals(other))
    return bool(shapely.intersection(first, other).area >= ALIKE * max(first.area, other.area))


def _says(item: Drawn) -> dict[str, Any]:
    return {"LAYER": item.layer, "ENTITY": item.kind, **item.says}


def _label(shapes: Sequence[_Found], texts: Sequence[Drawn], metres: float) -> None:
    """Texts as what they name: the smallest area around them, else the nearest point."""
    tree = shapely.STRtree([each.shape for each in shapes])
    for text in texts:
        assert text.place is not None
        spot = Point(text.place)
        near = tree.query(spot, predicate="dwithin", distance=LABEL_M / metres).tolist()
        points = [shapes[at] for at in near if isinstance(shapes[at].shape, Point)]
        areas = [shapes[at] for at in near if isinstance(shapes[at].shape, Polygon)
                 and shapes[at].shape.covers(spot)]  # fmt: skip
        if points:
            named = min(points, key=lambda each: each.shape.distance(spot))
        elif areas:
            named = min(areas, key=lambda each: each.shape.area)
        else:
            continue
        before = named.says.get("TEXT")
        named.says["TEXT"] = f"{before} {text.text}" if before else text.text
