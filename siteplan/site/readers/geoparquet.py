"""GeoParquet files, which the library of the other formats does not read; geopandas and pyarrow."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import shapely

from siteplan.limits import MOST_PACKED, MOST_UNPACKED
from siteplan.site.frame import known_crs
from siteplan.site.readers.rows import Bounds, LayerInfo, condition, is_number, library_faults
from siteplan.site.readers.vetted import refused, vetted

if TYPE_CHECKING:
    import geopandas

PARQUET: Final = ".parquet"
BATCH: Final = 256
"""So many rows are unpacked at once where it is found out how much they are."""


def told_of_itself(path: Path, metadata: Mapping[bytes, bytes]) -> dict[str, Any]:
    """What a GeoParquet file says of its shapes, from the metadata of its schema.

    Raises
    ------
    InputError
        It says nothing: it is a plain table.
    """
    try:
        told = dict(json.loads(metadata[b"geo"]))
        told["columns"][told["primary_column"]]["encoding"]
    except (KeyError, TypeError, ValueError):
        what = "is a table without shapes: it says nothing of GeoParquet."
        raise refused(path, what, "Export it as GeoParquet.") from None
    return told


def described_crs(about: Mapping[str, Any]) -> str | None:
    """Coordinate system of a column of shapes; None where it is unknown.

    A file that does not speak of it means longitude and latitude.
    """
    import geopandas  # noqa: PLC0415

    said = about.get("crs", "OGC:CRS84")
    crs = None if said is None else geopandas.GeoSeries([], crs=said).crs
    if crs is None:
        return None
    named = crs.to_authority()
    return ":".join(named) if named else str(crs.to_wkt())


def refuse_beyond(path: Path) -> None:
    """Refuse a GeoParquet file that unpacks to more than is sane.

    Raises
    ------
    InputError
        It is not there, is no GeoParquet, or unpacks to too much.
    """
    source = vetted(path)
    told = path.stat()
    _refuse_beyond(path, source, told.st_mtime_ns, told.st_size)


@lru_cache(maxsize=16)
def _refuse_beyond(path: Path, source: str, _changed: int, size: int) -> None:
    """The same of a file that has not changed since."""
    import pyarrow.parquet  # noqa: PLC0415

    most = min(MOST_UNPACKED, MOST_PACKED * size)
    with library_faults(path), pyarrow.parquet.ParquetFile(source) as file:
        groups = range(file.metadata.num_row_groups)
        unpacked = sum(file.metadata.row_group(group).total_byte_size for group in groups)
        # what stands once for many rows counts for each of them
        batches = file.iter_batches(batch_size=BATCH) if unpacked <= most else ()
        repeated = 0
        for batch in batches:
            repeated += batch.nbytes
            if repeated > most:
                break
    if max(unpacked, repeated) > most:
        what = f"would unpack to more than {most / 1e6:,.1f} MB."
        raise refused(path, what, "Export it again, or save it as GeoPackage.")


def parquet_rows(
    path: Path, where: str | None = None, box: Bounds | None = None
) -> geopandas.GeoDataFrame:
    """Rows of a GeoParquet file, which the library of the other formats does not read."""
    import geopandas  # noqa: PLC0415

    refuse_beyond(path)
    with library_faults(path):
        frame = geopandas.read_parquet(vetted(path))
    if where:
        column, value = condition(where, path)
        said = frame[column]
        wanted = float(value) if is_number(str(said.dtype)) else value
        frame = frame[said == wanted]
    if box is not None:
        # a corner that is no number is told by whoever checks the rows, in a sentence
        with np.errstate(invalid="ignore"):
            frame = frame[frame.intersects(shapely.box(*box))]
    return frame


def parquet_info(path: Path) -> LayerInfo:
    """What a file of one table says of itself."""
    frame = parquet_rows(path)
    columns = [name for name in frame.columns if name != frame.geometry.name]
    bounds = tuple(float(value) for value in frame.total_bounds)
    kinds = sorted({str(kind) for kind in frame.geom_type.dropna()})
    crs = frame.crs and (":".join(frame.crs.to_authority() or ()) or frame.crs.to_wkt())
    return LayerInfo(
        path.stem,
        " or ".join(kinds),
        len(frame),
        tuple((str(name), str(frame[name].dtype)) for name in columns),
        crs if crs and known_crs(crs) else None,
        bounds if np.isfinite(bounds).all() else None,  # type: ignore[arg-type]
    )
