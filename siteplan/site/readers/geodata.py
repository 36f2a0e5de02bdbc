"""Files of a geographic information system: rows of shapes with their columns; geopandas alone."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.limits import FARTHEST, MOST_ROWS
from siteplan.reading import did_you_mean
from siteplan.site.frame import frame_around, known_crs
from siteplan.site.readers.geoparquet import PARQUET, parquet_info, parquet_rows
from siteplan.site.readers.rows import (
    Bounds,
    LayerInfo,
    Near,
    Rows,
    condition,
    is_number,
    library_faults,
)
from siteplan.site.readers.vetted import on_earth, refused, vetted

if TYPE_CHECKING:
    import geopandas

TOLD: Final = 5
"""So many values or names are told where one is not found."""


def layers_of(path: Path) -> tuple[LayerInfo, ...]:
    """What the layers of a file say of themselves.

    Raises
    ------
    InputError
        The file is not there, cannot be read, or is not what its name says.
    """
    source = vetted(path)
    if path.suffix.lower() == PARQUET:
        return (parquet_info(path),)
    told = path.stat()
    return _layers_of(path, source, told.st_mtime_ns, told.st_size)


@lru_cache(maxsize=16)
def _layers_of(path: Path, source: str, _changed: int, _size: int) -> tuple[LayerInfo, ...]:
    """The layers of a file that has not changed since: some formats are read whole for them."""
    import pyogrio  # noqa: PLC0415

    with library_faults(path):
        shown = [str(name) for name, shape in pyogrio.list_layers(source) if shape is not None]
        _no_views(path, source, shown)
        return tuple(_info(source, name) for name in shown)


def _no_views(path: Path, source: str, names: Sequence[str]) -> None:
    """Refuse a GeoPackage whose layers are made by queries: one that never ends is soon written."""
    import pyogrio  # noqa: PLC0415

    if not source.lower().endswith(".gpkg"):
        return
    found = pyogrio.read_dataframe(
        source, sql="SELECT name FROM sqlite_master WHERE type = 'view'", read_geometry=False
    )
    views = sorted(set(names) & {str(name) for name in found["name"]})
    if views:
        what = f"has layers that are views: {', '.join(views[:TOLD])}."
        raise refused(path, what, "Export them as tables.")


def read_rows(
    path: Path,
    *,
    layer: str | None = None,
    where: str | None = None,
    crs: str | None = None,
    near: Near | None = None,
) -> Rows:
    """Rows of one layer of a file.

    Parameters
    ----------
    path
        The file.
    layer
        Name of the layer; None: the one that the file has.
    where
        ``COLUMN = value``: only rows that say so.
    crs
        Coordinate system where the file does not say.
    near
        Only rows near a shape.

    Raises
    ------
    InputError
        The file cannot be read; there is no such layer, column or row; more rows than one lot
        has.
    """
    info = _the_layer(path, layer)
    system = info.crs or crs
    if near is not None and system is None:
        raise refused(path, "does not say its coordinate system.", 'Add crs = "EPSG:...".')
    with on_earth(path):
        box = _box(near, system) if near is not None and system else None
    frame, opened = _frame(path, info, where=where, box=box)
    if len(frame) > MOST_ROWS:
        raise refused(
            path,
            f"has more than {MOST_ROWS:,} rows for one lot.",
            'Say which: where = "COLUMN = value"; or let siteplan new take out the lot.',
        )
    if where and frame.empty:
        raise refused(
            path, f"has no row where {where}.", f"Such as: {_some_values(path, info, where)}."
        )
    rows = _rows(frame, opened, system, box if near is not None and near.cut else None)
    if rows.broken:
        what = f"has a corner that is no place, in row {rows.broken[0]}."
        raise refused(path, what, "Mend it there, or ask for other rows.")
    return rows


def first_rows(path: Path, info: LayerInfo) -> Rows:
    """The first rows of a layer, as many as one lot may have.

    Raises
    ------
    InputError
        The file cannot be read.
    """
    frame, opened = _frame(path, info)
    return _rows(frame[:MOST_ROWS], opened[:MOST_ROWS], info.crs, None)


def _frame(
    path: Path, info: LayerInfo, *, where: str | None = None, box: Bounds | None = None
) -> tuple[geopandas.GeoDataFrame, NDArray[np.bool_]]:
    """Rows of a layer, one more than a lot may have at most, and which had an outline left open."""
    query = query_of(path, info, where) if where else None
    import geopandas  # noqa: PLC0415

    if path.suffix.lower() == PARQUET:
        frame = parquet_rows(path, where, box)
        return frame, np.zeros(len(frame), dtype=bool)

    def read(on_invalid: str) -> geopandas.GeoDataFrame:
        return geopandas.read_file(
            vetted(path), layer=info.name, where=query, bbox=box, engine="pyogrio",
            max_features=MOST_ROWS + 1, fid_as_index=True, on_invalid=on_invalid,
        )  # fmt: skip

    with library_faults(path):
        frame = read("ignore")
        unread = np.asarray(frame.geometry.isna())
        if not unread.any():
            return frame, unread
        # of an outline that ends where it did not begin nothing comes, unless it is to be closed
        closed = read("fix")
        return closed, unread & ~np.asarray(closed.geometry.isna())


def _rows(
    frame: geopandas.GeoDataFrame, opened: NDArray[np.bool_], crs: str | None, box: Bounds | None
) -> Rows:
    shapes = np.asarray(shapely.force_2d(frame.geometry.to_numpy()))
    missing = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    broken = ~missing & ~(np.abs(shapely.bounds(shapes)) < FARTHEST).all(axis=1)
    broken |= ~missing & ~_whole(shapes)
    there = ~(missing | broken)
    parts, owner = shapely.get_parts(_clipped(shapes[there], box), return_index=True)
    records = frame.drop(columns=frame.geometry.name)[there].to_dict("records")
    records = records or [{}] * int(there.sum())  # of a table without columns pandas lists no rows
    plain = ({key: _plain(value) for key, value in row.items()} for row in records)
    told = [{key: value for key, value in row.items() if _says(value)} for row in plain]
    numbers = [int(number) for number in np.flatnonzero(there) + 1]
    return Rows(
        tuple(parts),
        tuple(told[index] for index in owner),
        tuple(numbers[index] for index in owner),
        crs,
        int(missing.sum()),
        tuple(int(number) for number in np.flatnonzero(broken) + 1),
        tuple(int(number) for number in np.flatnonzero(opened & there) + 1),
    )


def _whole(shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Whether all coordinates of each shape are numbers."""
    points, owner = shapely.get_coordinates(shapes, return_index=True)
    whole = np.ones(len(shapes), dtype=bool)
    whole[owner[~np.isfinite(points).all(axis=1)]] = False
    return whole


def _clipped(shapes: NDArray[np.object_], box: Bounds | None) -> NDArray[np.object_]:
    """Shapes without what lies beyond a box."""
    if box is None:
        return shapes
    large = shapely.is_valid(shapes) & ~shapely.covers(shapely.box(*box), shapes)
    shapes[large] = shapely.clip_by_rect(shapes[large], *box)
    return shapes


def _plain(value: object) -> object:
    """A cell as it is; of one that lists several values these in one text."""
    if isinstance(value, (np.ndarray, list, tuple)):
        return ", ".join(str(one) for one in np.asarray(value, dtype=object).ravel().tolist())
    return value


def _says(value: object) -> bool:
    """Whether a cell says anything: empty ones come as None, NaN or an empty text."""
    return value is not None and value == value and value != ""  # noqa: PLR0124


def _info(source: str, name: str) -> LayerInfo:
    import pyogrio  # noqa: PLC0415

    told = pyogrio.read_info(source, layer=name, force_feature_count=True, force_total_bounds=True)
    bounds = told["total_bounds"]
    whole = bounds is not None and np.isfinite(bounds).all()
    return LayerInfo(
        name,
        str(told["geometry_type"]),
        int(told["features"]),
        tuple(zip(map(str, told["fields"]), map(str, told["dtypes"]), strict=True)),
        str(told["crs"]) if told["crs"] and known_crs(str(told["crs"])) else None,
        tuple(float(value) for value in bounds) if whole else None,  # type: ignore[arg-type]
    )


def _the_layer(path: Path, layer: str | None) -> LayerInfo:
    layers = layers_of(path)
    names = [each.name for each in layers]
    if not layers:
        raise refused(path, "has no layer with shapes.", "Export it again.")
    if layer is None and len(layers) > 1:
        raise refused(path, f"has {len(layers)} layers.", f"Say which: {', '.join(names)}.")
    if layer is not None and layer not in names:
        raise refused(path, f"has no layer {layer!r};", did_you_mean(layer, names))
    return next(each for each in layers if layer in (None, each.name))


def query_of(path: Path, info: LayerInfo, where: str) -> str:
    """What a condition is in the language of the library, names and values quoted."""
    column, value = condition(where, path)
    types = dict(info.columns)
    if column not in types:
        raise refused(path, f"has no column {column!r};", did_you_mean(column, types))
    name = column.replace('"', '""')
    if not is_number(types[column]):
        text = value.replace("'", "''")
        return f"\"{name}\" = '{text}'"
    try:
        return f'"{name}" = {float(value)!r}'
    except ValueError:
        raise refused(
            path, f"has numbers in column {column!r}.", f"{value!r} is none; give one."
        ) from None


def _column(path: Path, info: LayerInfo, column: str) -> Any:
    """One column of a layer as a table, without its shapes."""
    if path.suffix.lower() == PARQUET:
        return parquet_rows(path)[[column]]
    import pyogrio  # noqa: PLC0415

    with library_faults(path):
        return pyogrio.read_dataframe(
            vetted(path), layer=info.name, columns=[column], read_geometry=False,
            max_features=MOST_ROWS,
        )  # fmt: skip


def _some_values(path: Path, info: LayerInfo, where: str) -> str:
    """Some values of the column that a condition speaks of, the most alike first."""
    column, value = condition(where, path)
    cells = map(_plain, _column(path, info, column)[column])
    values = sorted({str(each) for each in cells if _says(each)})
    near = difflib.get_close_matches(value, values, n=TOLD)
    return ", ".join(near or values[:TOLD]) or "the column is empty"


def _box(near: Near, crs: str) -> Bounds:
    """Bounds in a coordinate system that reach so far around a shape."""
    frame = frame_around(near.shape, near.crs)
    west, south, east, north = frame.localize(near.shape).bounds
    reach = near.reach_m
    corners = shapely.box(west - reach, south - reach, east + reach, north + reach)
    return frame.written(corners, crs).bounds
