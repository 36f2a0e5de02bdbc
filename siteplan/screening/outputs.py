"""What a county run leaves: a GeoPackage or GeoParquet and a CSV of its lots, and a summary."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyogrio
import shapely

from siteplan.errors import ExportError
from siteplan.screening import parquet
from siteplan.screening.judge import DOES_NOT, FITS, NOT_ASKED, UNDECIDED
from siteplan.screening.part import NOT_SCREENED, SHORT, Rows
from siteplan.units.lengths import ACRE

LAYER: Final = "screened lots"
WRITING: Final = {
    "OGR_CURRENT_DATE": "2000-01-01T00:00:00.000Z", "OGR_SQLITE_SYNCHRONOUS": "OFF"
}  # fmt: skip
"""How a GeoPackage is written: no clock in it, and the disk is not waited for after each part."""
CLASSES: Final = (0.25, 0.5, 1.0, 2.0, 5.0)
"""Limits of the classes of lot sizes in the summary [ac]."""
VERDICTS: Final = (FITS, DOES_NOT, UNDECIDED, NOT_ASKED, NOT_SCREENED)
LARGEST: Final = "the largest of "
MOST_BLAMED: Final = 5
"""Reasons told in the summary."""


@dataclass(slots=True)
class Summary:
    """Counts over all lots of a run, filled as its parts come.

    Parameters
    ----------
    lots, failed, units
        Rows of the output, those that could not be screened, rows of the input that they stand
        for.
    verdicts
        Lots by column of the loop type, class of size and verdict.
    blamed
        Lots that do not fit by column of the loop type and reason.
    assumed, mended, failures
        Lots by what is assumed on them, by what was mended, and by why they could not be screened.
    """

    lots: int = 0
    failed: int = 0
    units: int = 0
    verdicts: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    blamed: Counter[tuple[str, str]] = field(default_factory=Counter)
    assumed: Counter[str] = field(default_factory=Counter)
    mended: Counter[str] = field(default_factory=Counter)
    failures: Counter[str] = field(default_factory=Counter)

    def add(self, rows: Rows) -> None:
        """Count rows."""
        columns = rows.columns
        wrong = columns["why_not"] != ""
        self.lots += len(wrong)
        self.failed += int(wrong.sum())
        self.units += int(columns["units"].sum())
        self.mended.update(_mended(columns))
        self.failures.update(columns["why_not"][wrong].tolist())
        for words in columns["assumed"][~wrong].tolist():
            self.assumed.update(words.split("; ") if words else ())
        sizes = _classes(columns["lot_m2"])
        for short in SHORT.values():
            told = columns[short].tolist()
            self.verdicts.update(
                (short, size, verdict) for size, verdict in zip(sizes, told, strict=True)
            )
            stopped = columns[short] == DOES_NOT
            self.blamed.update((short, why) for why in columns[f"{short}_why"][stopped].tolist())

    def count(self, short: str, verdict: str, size: str | None = None) -> int:
        """Lots of a verdict, of one class of size or of all."""
        return sum(
            number
            for (loop, own, said), number in self.verdicts.items()
            if loop == short and said == verdict and size in (None, own)
        )

    def lines(self) -> Iterator[tuple[str, str, str, int]]:
        """Rows of the summary: what, loop type, which, how many lots."""
        for short in SHORT.values():
            for verdict in VERDICTS:
                if self.count(short, verdict):
                    yield "verdict", short, verdict, self.count(short, verdict)
            for size in size_names():
                for verdict in VERDICTS:
                    if self.count(short, verdict, size):
                        yield f"size {size}", short, verdict, self.count(short, verdict, size)
            blamed = [(why, n) for (loop, why), n in self.blamed.most_common() if loop == short]
            for why, number in blamed[:MOST_BLAMED]:
                yield "stopped by", short, why, number
        told = {"assumed": self.assumed, "mended": self.mended, "not screened": self.failures}
        for what, counts in told.items():
            yield from ((what, "", words, number) for words, number in sorted(counts.items()))


def _mended(columns: dict[str, np.ndarray[Any, np.dtype[Any]]]) -> Iterator[str]:
    """What was mended of each lot that it was, and which lots stand for several rows."""
    for words in columns["mended"][columns["mended"] != ""].tolist():
        # however many parts a lot has
        yield f"{LARGEST}several parts" if words.startswith(LARGEST) else words
    yield from ["one lot for several rows"] * int((columns["units"] > 1).sum())


def size_names() -> tuple[str, ...]:
    """Names of the classes of lot sizes, the smallest first."""
    limits = [f"{limit:g}" for limit in CLASSES]
    between = [f"{low} to {high} ac" for low, high in pairwise(limits)]
    return (f"under {limits[0]} ac", *between, f"{limits[-1]} ac and more")


def _classes(lot_m2: np.ndarray[Any, np.dtype[np.float64]]) -> list[str]:
    names = size_names()
    which = np.searchsorted(np.array(CLASSES) * ACRE, lot_m2, side="right")
    return [
        names[min(k, len(names) - 1)] if np.isfinite(size) else "size not known"
        for k, size in zip(which.tolist(), lot_m2.tolist(), strict=True)
    ]


def write_county(rows: Iterable[Rows], path: Path, crs: str, about: str) -> Summary:
    """Summary of a run whose rows are written: GeoPackage or GeoParquet, and a CSV beside it.

    Raises
    ------
    ExportError
        A file cannot be written.
    """
    summary = Summary()
    written = {
        path: path.with_name(f".{path.stem}.writing{path.suffix.lower()}"),
        path.with_suffix(".csv"): path.with_name(f".{path.stem}.writing.csv"),
        path.with_name(f"{path.stem}-summary.csv"): path.with_name(f".{path.stem}.counts.csv"),
    }
    shapes, table, counts = written.values()
    pyogrio.set_gdal_config_options(WRITING)
    try:
        shapes.unlink(missing_ok=True)
        packed = parquet.written(shapes, crs, about) if parquet.is_parquet(path) else nullcontext()
        with table.open("w", newline="", encoding="utf-8") as file, packed as parts:
            for number, each in enumerate(rows):
                if parts is not None:
                    parts.add(each)
                else:
                    _append(each, shapes, crs, first=number == 0, about=about)
                _write_rows(csv.writer(file, lineterminator="\n"), each, heads=number == 0)
                summary.add(each)
        with counts.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["what", "loop type", "which", "lots"])
            writer.writerows(summary.lines())
        # what was there stays until all of it is written anew
        for final, temporary in written.items():
            temporary.replace(final)
    except (OSError, pyogrio.errors.DataSourceError) as error:
        raise ExportError(f"{path} cannot be written ({error}).") from error
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(WRITING))
        for temporary in written.values():
            temporary.unlink(missing_ok=True)
    return summary


def _append(rows: Rows, path: Path, crs: str, *, first: bool, about: str) -> None:
    names = list(rows.columns)
    several = shapely.get_type_id(rows.shapes) == 3
    shapes = rows.shapes.copy()
    shapes[several] = shapely.multipolygons(
        rows.shapes[several], indices=np.arange(int(several.sum()))
    )
    values = [
        column.astype(object) if column.dtype.kind == "U" else column
        for column in rows.columns.values()
    ]
    pyogrio.raw.write(
        path, shapely.to_wkb(shapes), values, names, layer=LAYER, driver="GPKG",
        geometry_type="MultiPolygon", crs=crs, append=not first, nan_as_null=True,
        layer_metadata={"about": about} if first else None,
    )  # fmt: skip


def _write_rows(writer: Any, rows: Rows, *, heads: bool) -> None:
    if heads:
        writer.writerow(rows.columns)
    columns = [_plain(column) for column in rows.columns.values()]
    writer.writerows(zip(*columns, strict=True))


def _plain(column: np.ndarray[Any, np.dtype[Any]]) -> list[object]:
    """Cells of a column: a number that is not known is empty, a whole one has no decimals."""
    if column.dtype.kind != "f":
        return list(column.tolist())
    return ["" if value != value else f"{value:.10g}" for value in column.tolist()]  # noqa: PLR0124
