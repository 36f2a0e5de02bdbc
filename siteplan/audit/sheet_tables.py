"""Figures of the sheets that geometry can be compared with, found by the marks of their texts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.audit.figures import figure, figures
from siteplan.audit.marked import SheetBlock, blocks_of
from siteplan.audit.model import XY
from siteplan.sheet.content.ties import END
from siteplan.sheet.marks import ELEMENTS, HEADER, SEPARATIONS
from siteplan.units.model import UnitSystem

PLACES: Final = (("", "east", "north"), ("", "start-east", "start-north"),
                 (END, "end-east", "end-north"))  # fmt: skip
"""What stands behind the name of a row for the place in two of its columns."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A place that the sheet lists under a name, such as ``B1``, ``T1 end`` or ``H2`` [m].

    ``length_m`` is the length or depth that stands beside it; None where none does.
    """

    name: str
    at: XY
    length_m: float | None = None


@dataclass(frozen=True, slots=True)
class PrintedRow:
    """A row of the table of separations: its mark, what it says it is of, and the distance [m].

    ``step_m`` is the last decimal of the distance [m].
    """

    name: str
    label: str
    provided_m: float
    step_m: float


@dataclass(frozen=True, slots=True)
class SheetTables:
    """Everything of the sheets' text that geometry can be compared with.

    Parameters
    ----------
    places
        Stakes of elements.
    header_places
        Points of the header trench.
    separations
        Rows with a distance provided.
    headings
        Headings over the elements.
    header_lines
        Lines that tell the length of the header.
    whole
        Whether some sheet lists every element.
    """

    places: tuple[Listed, ...]
    header_places: tuple[Listed, ...]
    separations: tuple[PrintedRow, ...]
    headings: tuple[str, ...]
    header_lines: tuple[str, ...]
    whole: bool


def sheet_tables(blocks: Sequence[SheetBlock], unit: UnitSystem) -> SheetTables:
    """Figures of the sheets from their blocks."""
    elements, header = (list(blocks_of(blocks, name)) for name in (ELEMENTS, HEADER))
    rows = (_printed(block, unit) for block in blocks_of(blocks, SEPARATIONS))
    return SheetTables(
        places=tuple(row for block in elements for row in _listed(block, unit)),
        header_places=tuple(row for block in header for row in _listed(block, unit)),
        separations=tuple(row for printed in rows for row in printed),
        headings=tuple(said for block in elements for said in block.headings),
        header_lines=tuple(said for block in header for said in block.headings),
        whole=any(block.rows and not block.is_cut for block in elements),
    )


def _listed(block: SheetBlock, unit: UnitSystem) -> Iterator[Listed]:
    for row in block.rows:
        sizes = [*_lengths(block, row, "length", unit), *_lengths(block, row, "depth", unit)]
        size = sizes[0] if sizes else None
        for suffix, east, north in PLACES:
            xs, ys = (_lengths(block, row, column, unit) for column in (east, north))
            # a place of which one number is lost is told as a cell
            for x, y in zip(xs, ys, strict=False):
                yield Listed(row + suffix, (x, y), size if not suffix else None)


def _lengths(block: SheetBlock, row: str, column: str, unit: UnitSystem) -> list[float]:
    """Lengths in a place, of numbers with or without their mark [m]."""
    numbers = map(figure, block.said(row, column))
    return [value * unit.metres for value in numbers if value is not None]


def _printed(block: SheetBlock, unit: UnitSystem) -> Iterator[PrintedRow]:
    for row in block.rows:
        label = block.said(row, "pair")[0]
        for text in block.said(row, "provided"):
            value = figure(text)
            if value is not None:
                decimals = len(figures(text)[0].partition(".")[2])
                step = 10.0**-decimals * unit.metres
                yield PrintedRow(row, label, value * unit.metres, step)
