"""GeoParquet files of a county: read in pieces into a GeoPackage, and written part by part.

A GeoPackage finds rows by number and by place, which a table of columns does not: so the rows of a
GeoParquet file are put into one beside the output, with the columns that are asked for alone.

Source: GeoParquet 1.1.0, https://geoparquet.org/releases/v1.1.0/ (OGC), for what the files say of
themselves.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyogrio
import shapely

from siteplan.intake.surroundings import NUMBER_COLUMNS
from siteplan.screening.part import Rows
from siteplan.site.frame import projjson_of
from siteplan.site.readers.geoparquet import PARQUET, described_crs, refuse_beyond, told_of_itself
from siteplan.site.readers.rows import library_faults
from siteplan.site.readers.vetted import refused, vetted
from siteplan.vocabulary.kinds import plain_word

BATCH: Final = 20_000
"""Rows read at a time."""
SINGLE: Final = {("Point",): "Point", ("LineString",): "LineString"}
"""Kinds of shape by which a layer says what its rows are."""
GEOMETRY: Final = "geometry"


def is_parquet(path: Path) -> bool:
    """Whether a file is GeoParquet by its name."""
    return path.suffix.lower() == PARQUET


def readable(path: Path, out: Path, wanted: tuple[str, ...] = ()) -> Path:
    """A file that is read part by part: the file itself, or its rows beside the output.

    ``wanted``: columns that are taken besides those that name a lot.
    """
    if not is_parquet(path):
        return path
    names = tuple(
        name for name in columns_in(path) if name in wanted or plain_word(name) in NUMBER_COLUMNS
    )
    return as_package(path, package_of(path, out), names)


def package_of(path: Path, out: Path) -> Path:
    """The GeoPackage that holds the rows of a GeoParquet file, beside the output."""
    return out.with_name(f"{out.stem}-rows-of-{path.stem}.gpkg")


def columns_in(path: Path) -> tuple[str, ...]:
    """Columns of a GeoParquet file beside its shapes.

    Raises
    ------
    InputError
        The file is not there, or is no GeoParquet.
    """
    file, told = _opened(path)
    own = told["primary_column"]
    return tuple(name for name in file.schema_arrow.names if name != own)


def as_package(path: Path, target: Path, columns: tuple[str, ...]) -> Path:
    """The rows of a GeoParquet file as a GeoPackage, with some of their columns.

    Raises
    ------
    InputError
        The file is not there, is no GeoParquet, or holds its shapes in a form that is not read.
    """
    file, told = _opened(path)
    own = told["primary_column"]
    about = told["columns"][own]
    if about.get("encoding") != "WKB":
        what = f"holds its shapes as {about.get('encoding')!r}, which is not read."
        raise refused(path, what, "Write them as WKB.")
    kind = SINGLE.get(tuple(about.get("geometry_types", ())), "Unknown")
    crs = described_crs(about)
    temporary = target.with_name(f".{target.stem}.{os.getpid()}.gpkg")
    temporary.unlink(missing_ok=True)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2000-01-01T00:00:00.000Z"})
    try:
        with library_faults(path):
            batches = file.iter_batches(batch_size=BATCH, columns=[own, *columns])
            for number, batch in enumerate(batches):
                shapes = np.array(batch.column(own).to_pylist(), dtype=object)
                values = [_values(batch.column(name)) for name in columns]
                pyogrio.raw.write(
                    temporary, shapes, values, list(columns), layer=path.stem, driver="GPKG",
                    geometry_type=kind, crs=crs, append=number > 0, nan_as_null=True,
                )  # fmt: skip
        if not temporary.exists():
            raise refused(path, "has no rows.", "Export it again.")
        temporary.replace(target)
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
        temporary.unlink(missing_ok=True)
    return target


def _opened(path: Path) -> tuple[Any, dict[str, Any]]:
    source = vetted(path)
    refuse_beyond(path)
    import pyarrow.parquet  # noqa: PLC0415

    with library_faults(path):
        file = pyarrow.parquet.ParquetFile(source)
    return file, told_of_itself(path, file.schema_arrow.metadata or {})


def _values(column: Any) -> np.ndarray[Any, np.dtype[Any]]:
    """A column as it goes into a GeoPackage: numbers as numbers, all else as text."""
    values = column.to_pylist()
    if all(isinstance(each, int) and not isinstance(each, bool) for each in values):
        return np.array(values, dtype=np.int64)
    if all(each is None or isinstance(each, int | float) for each in values):
        return np.array([np.nan if each is None else float(each) for each in values])
    return np.array([None if each is None else str(each) for each in values], dtype=object)


class Writer:
    """A GeoParquet file that is written part by part, each a group of rows."""

    def __init__(self, path: Path, crs: str, about: str) -> None:
        self._path, self._crs, self._about = path, crs, about
        self._file: Any = None

    def add(self, rows: Rows) -> None:
        """Write the rows of a part."""
        import pyarrow as pa  # noqa: PLC0415
        import pyarrow.parquet as pq  # noqa: PLC0415

        binary = shapely.to_wkb(rows.shapes).tolist()
        columns = {name: pa.array(_cells(each)) for name, each in rows.columns.items()}
        columns[GEOMETRY] = pa.array(binary, type=pa.binary())
        table = pa.table(columns)
        if self._file is None:
            metadata = {"geo": self._geo(), "about": self._about}
            schema = table.schema.with_metadata(metadata)
            self._file = pq.ParquetWriter(self._path, schema, compression="zstd")
        self._file.write_table(table.cast(self._file.schema))

    def close(self) -> None:
        """Finish the file."""
        if self._file is not None:
            self._file.close()

    def _geo(self) -> str:
        told = {"encoding": "WKB", "geometry_types": [], "crs": projjson_of(self._crs)}
        return json.dumps({
            "version": "1.1.0", "primary_column": GEOMETRY, "columns": {GEOMETRY: told},
        })  # fmt: skip


def _cells(column: np.ndarray[Any, np.dtype[Any]]) -> Any:
    """Cells of a column; a number that is not known is empty."""
    if column.dtype.kind != "f":
        return column.tolist() if column.dtype.kind in "UO" else column
    return [None if each != each else each for each in column.tolist()]  # noqa: PLR0124


@contextmanager
def written(path: Path, crs: str, about: str) -> Iterator[Writer]:
    """A file that is written part by part, and finished at the end."""
    writer = Writer(path, crs, about)
    try:
        yield writer
    finally:
        writer.close()
