"""One part of a county screened: read, cleaned, judged; if asked, its undecided lots planned."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.errors import GeometryError
from siteplan.intake.along import ALONG_M
from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.cascade import decided
from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.clean import Cleaned, areas_of, cleaned, refuse
from siteplan.screening.full import planned
from siteplan.screening.judge import DOES_NOT, FITS, UNDECIDED, Judged, judged
from siteplan.screening.scan import Integers, Shapes
from siteplan.screening.sources import (
    Layer,
    RowsRead,
    Sources,
    read_around,
    read_lots,
    text_of,
)
from siteplan.screening.terms import BORES, LOOPS, TRENCHES, Terms
from siteplan.site.frame import LocalFrame, frame_around

OWN_SHARE: Final = 0.5
"""Share of a building that lies on the lot where it is the lot's own."""
STREET_M: Final = 25.0
"""How far around a lot streets and buildings are looked for at the least [m]."""
NOT_SCREENED: Final = "not screened"
NOWHERE: Final = "lies nowhere on earth: is its coordinate system right?"
FAR: Final = "lies on another side of the earth than the lots around it: is its place right?"
FARTHEST_M: Final = 1e6
"""So far from the first lot of its part an outline is no longer to scale [m]."""
SHORT: Final[dict[str, str]] = {TRENCHES: "trench", BORES: "bores"}
"""How loop types are called at the head of columns."""


@dataclass(frozen=True, slots=True)
class Task:
    """What every part of a run is screened by.

    Parameters
    ----------
    sources, asked, terms
        The files, what is asked, and what holds on every lot.
    plan_undecided
        Whether the full engines plan what arithmetic leaves open.
    kept
        Columns of the lots' file that are handed on.
    verdicts_only
        Whether figures that decide nothing are left out.
    """

    sources: Sources
    asked: Asked
    terms: Terms
    plan_undecided: bool = False
    kept: tuple[str, ...] = ()
    verdicts_only: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of the output: shapes in the coordinates of the lots' file, and columns."""

    shapes: Shapes
    columns: dict[str, NDArray[Any]] = field(default_factory=dict)


def screened(task: Task, fids: Integers, anchor: tuple[float, float]) -> Rows:
    """Rows of the output of some rows of the lots' file.

    ``anchor``: a place among the lots, in the file's coordinates, that they are measured from.
    """
    lots = task.sources.lots
    read = read_lots(lots, fids, _wanted(task))
    frame, shapes = localized(read.shapes, lots.crs, anchor)
    clean = cleaned(shapes)
    with np.errstate(invalid="ignore"):
        # a corner that is no place is told by itself
        away = shapely.distance(shapes, shapely.Point(0.0, 0.0))
    refuse(clean.outlines, clean.why_not, away > FARTHEST_M, FAR)
    if frame is None:
        drawn = ~(shapely.is_missing(read.shapes) | shapely.is_empty(read.shapes))
        clean = replace(clean, why_not=np.where(drawn, NOWHERE, clean.why_not))
    which = np.flatnonzero(~shapely.is_missing(clean.outlines) & (clean.units > 0))
    found: dict[str, Judged] = {}
    told: list[list[str]] = []
    chunk, known = None, Known(task.sources.kinds)
    if frame is not None and len(which):
        chunk = chunk_of(clean.outlines[which], frame, task)
        chunk, told = with_granted(chunk, task.asked, known)
        found = dict((decided if task.verdicts_only else judged)(chunk, task.terms))
        if task.plan_undecided:
            found = {name: _settled(chunk, task, name, each) for name, each in found.items()}
    return _rows(task, read, clean, (which, chunk, told, found))


def _wanted(task: Task) -> tuple[str, ...]:
    """Columns of the lots' file that are read: no others leave it."""
    wanted = {*task.kept, task.sources.number_column}
    return tuple(name for name in task.sources.lots.columns if name in wanted)


def lost(task: Task, fids: Integers, why: str) -> Rows:
    """Rows of the output of lots that could not be looked at."""
    read = read_lots(task.sources.lots, fids, _wanted(task))
    count = len(read.fids)
    outlines = np.full(count, None, dtype=object)
    clean = Cleaned(
        outlines, np.full(count, why, dtype="<U120"), np.full(count, "", dtype="<U120"),
        np.ones(count, dtype=np.int64),
    )  # fmt: skip
    return _rows(task, read, clean, (np.zeros(0, dtype=np.int64), None, [], {}))


def localized(
    shapes: Shapes, crs: str, anchor: tuple[float, float]
) -> tuple[LocalFrame | None, Shapes]:
    """Shapes in metres of one frame; none where nothing lies on earth."""
    sound = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    if not (sound.any() and np.isfinite(anchor).all()):
        return None, np.full(len(shapes), None, dtype=object)
    local = shapes.copy()
    try:
        frame = frame_around(shapely.Point(anchor), crs)
        local[sound] = _localized(frame, shapes[sound], crs)
    except GeometryError:
        return None, np.full(len(shapes), None, dtype=object)
    return frame, local


def _localized(frame: LocalFrame, shapes: Any, crs: str) -> Shapes:
    """Shapes in local metres, all in one go."""
    return np.asarray(frame.localize(shapes, crs))


def chunk_of(outlines: Shapes, frame: LocalFrame, task: Task) -> Chunk:
    """Lots with what the layers tell around them; land of others within a lot is a thing on it."""
    origins = np.floor(shapely.bounds(outlines)[:, :2])
    shapes: list[Shapes] = []
    owners: list[Integers] = []
    kinds: list[Words] = []
    for layer in task.sources.around:
        found, owner = _near(outlines, frame, layer, task)
        shapes.append(found)
        owners.append(owner)
        kinds.append(np.full(len(found), layer.kind, dtype="<U24"))
    holes, owner = _holes(outlines)
    things = np.concatenate([*shapes, holes])
    owner = np.concatenate([*owners, owner]).astype(np.int64)
    kind = np.concatenate([*kinds, np.full(len(holes), "other keep-out", dtype="<U24")])
    order = np.argsort(owner, kind="stable")
    things, owner, kind = things[order], owner[order], kind[order]
    solid = np.asarray(shapely.polygons(shapely.get_exterior_ring(outlines)))
    houses = _own_houses(solid, things, owner, kind)
    return Chunk(_moved(solid, origins), _moved(things, origins[owner]), owner, kind, houses)


def _moved(shapes: Shapes, origins: NDArray[np.float64]) -> Shapes:
    """Shapes, each moved so that its own origin is 0, 0."""
    points, which = shapely.get_coordinates(shapes, return_index=True)
    moved = shapes.copy()
    return np.asarray(shapely.set_coordinates(moved, points - origins[which]))


def _near(outlines: Shapes, frame: LocalFrame, layer: Layer, task: Task) -> tuple[Shapes, Integers]:
    """Shapes of a layer near each lot, and the lot of each: across the edge of a part as well."""
    asked = (each.things_m.get(layer.kind, 0.0) for each in task.terms.parts.values())
    reach = max(STREET_M, 1.0 + max(asked))
    west, south, east, north = shapely.total_bounds(outlines)
    box = shapely.box(west - reach, south - reach, east + reach, north + reach)
    bounds = frame.written(shapely.segmentize(box, (east - west) / 4 + reach), layer.crs).bounds
    found = read_around(layer, bounds)
    if not len(found):
        return found, np.zeros(0, dtype=np.int64)
    local = _localized(frame, found, layer.crs)
    local = local[shapely.is_valid(local)]
    lot, thing = shapely.STRtree(local).query(outlines, predicate="dwithin", distance=reach)
    shapes, which = _cut(local[thing], outlines[lot], max(ALONG_M, reach))
    lot = lot[which]
    # by place, so that the order of a file or of a part does not matter
    where = shapely.bounds(shapes)
    order = np.lexsort((where[:, 3], where[:, 2], where[:, 1], where[:, 0], lot))
    return shapes[order], lot[order].astype(np.int64)


def _cut(shapes: Shapes, outlines: Shapes, reach: float) -> tuple[Shapes, Integers]:
    """Shapes less what of them lies far from their lots, as where a lot is brought in by itself.

    Returns
    -------
    Shapes, Integers
        What is left, in single pieces, and the number of the shape of each.
    """
    bounds = shapely.bounds(outlines) + np.array([-reach, -reach, reach, reach])
    its = shapely.bounds(shapes)
    far = (its[:, :2] < bounds[:, :2]).any(axis=1) | (its[:, 2:] > bounds[:, 2:]).any(axis=1)
    left = shapes.copy()
    left[far] = shapely.intersection(shapes[far], shapely.box(*bounds[far].T))
    parts, which = shapely.get_parts(left, return_index=True)
    # a line that touches the window leaves a point
    whole = shapely.get_dimensions(parts) == shapely.get_dimensions(shapes[which])
    return parts[whole], which[whole].astype(np.int64)


def _holes(outlines: Shapes) -> tuple[Shapes, Integers]:
    rings, owner = shapely.get_rings(outlines, return_index=True)
    inner = np.zeros(len(rings), dtype=bool)
    inner[1:] = owner[1:] == owner[:-1]
    return np.asarray(shapely.polygons(rings[inner])), owner[inner].astype(np.int64)


def _own_houses(outlines: Shapes, things: Shapes, owner: Integers, kinds: Words) -> Integers:
    """Number of the largest building that stands on each lot; -1: none."""
    houses = np.full(len(outlines), -1, dtype=np.int64)
    which = np.flatnonzero(kinds == "building")
    area = shapely.area(things[which])
    on = shapely.area(shapely.intersection(things[which], outlines[owner[which]]))
    which, area = which[on >= OWN_SHARE * area], area[on >= OWN_SHARE * area]
    order = np.argsort(area, kind="stable")
    houses[owner[which[order]]] = which[order]
    return houses


def _settled(chunk: Chunk, task: Task, name: str, found: Judged) -> Judged:
    """The verdicts, those left open settled by the full engines."""
    verdict, why = found.verdict.copy(), found.why.copy()
    # without a house there is no wall for the pipes, and no plan
    for lot in np.flatnonzero((verdict == UNDECIDED) & (chunk.houses >= 0)).tolist():
        fits, reason = planned(chunk, lot, task.asked, name)
        if fits is not None:
            verdict[lot] = FITS if fits else DOES_NOT
        why[lot] = f"planned: {reason or 'fits'}"
    return replace(found, verdict=verdict, why=why)


Screened = tuple[Integers, Chunk | None, list[list[str]], dict[str, Judged]]
"""Which rows were screened, their lots, what was assumed on each, and what is known."""


def _rows(task: Task, read: RowsRead, clean: Cleaned, done: Screened) -> Rows:
    which, chunk, told, found = done
    count, column = len(read.fids), task.sources.number_column
    kept = clean.units > 0
    numbers = read.columns.get(column, read.fids)
    columns: dict[str, NDArray[Any]] = {
        "lot": np.array([text_of(each) for each in numbers], dtype="<U80"),
        "row": read.fids.astype(np.int64),
        "where": _pick(read, column),
        "units": clean.units,
    }
    area = np.full(count, np.nan)
    area[which] = shapely.area(chunk.outlines) if chunk is not None else 0.0
    columns["lot_m2"] = np.round(area, 1)
    for name in LOOPS:
        columns |= _loop_columns(name, count, which, found.get(name))
    assumed = np.full(count, "", dtype="<U160")
    assumed[which] = ["; ".join(each) for each in told] if told else ""
    columns["assumed"] = assumed
    columns["confidence"] = _confidence(count, which, chunk, told)
    columns["mended"], columns["why_not"] = clean.mended, clean.why_not
    columns |= {name: read.columns[name] for name in task.kept}
    return Rows(areas_of(read.shapes[kept]), {name: each[kept] for name, each in columns.items()})


def _loop_columns(
    name: str, count: int, which: Integers, found: Judged | None
) -> dict[str, NDArray[Any]]:
    short, columns = SHORT[name], {}
    verdict = np.full(count, NOT_SCREENED, dtype="<U16")
    why, rule = np.full(count, "", dtype="<U160"), np.full(count, "", dtype="<U120")
    figures = {key: np.full(count, np.nan) for key in ("m2", "least", "most", "header", "taken")}
    if found is not None:
        verdict[which], why[which], rule[which] = found.verdict, found.why, found.dearest
        # never in favour of fitting: what is held is rounded down, the bound and the way up
        figures["m2"][which] = np.floor(found.usable_m2)
        figures["least"][which] = np.floor(found.least + 1e-9)
        figures["most"][which] = np.ceil(found.most - 1e-9)
        figures["header"][which] = np.ceil(found.header_m * 10) / 10
        figures["taken"][which] = np.round(found.taken_m2)
    unit = "" if name == BORES else "_m"
    columns[short] = verdict
    columns[f"{short}_why"] = why
    columns[f"{short}_usable_m2"] = figures["m2"]
    columns[f"{short}_least{unit}"] = figures["least"]
    columns[f"{short}_most{unit}"] = figures["most"]
    columns[f"{short}_header_m"] = figures["header"]
    columns[f"{short}_rule"] = rule
    columns[f"{short}_rule_m2"] = figures["taken"]
    return columns


def _confidence(count: int, which: Integers, chunk: Chunk | None, told: list[list[str]]) -> Words:
    """How much of what is on a lot a file tells: ``"high"``, ``"medium"``, ``"low"``."""
    words = np.full(count, "", dtype="<U8")
    if chunk is not None:
        streets = chunk.has(("street", "driveway"))
        words[which] = [
            "low" if "house" in each else "medium" if each or not street else "high"
            for each, street in zip(told, streets.tolist(), strict=True)
        ]
    return words


def _pick(read: RowsRead, column: str) -> Words:
    """What picks each lot out of its file again: behind ``siteplan new --screened ... --where``."""
    texts = np.array([text_of(each) for each in read.columns.get(column, read.fids)])
    names, counts = np.unique(texts, return_counts=True)
    # a number that several rows have names none of them
    single = np.isin(texts, names[(counts == 1) & (names != "")]) & (column in read.columns)
    told = [
        f"{column} = {text}" if one else f"row = {row}"
        for text, one, row in zip(texts, single.tolist(), read.fids.tolist(), strict=True)
    ]
    return np.array(told, dtype="<U120")
