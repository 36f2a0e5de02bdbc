"""Rows and columns of bores that somebody typed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BoreGrid:
    """A grid of bores typed by hand: it is checked, not trusted.

    Parameters
    ----------
    rows, columns
        Number of rows, and of bores in each.
    spacing_m
        Distance from bore to bore along a row, centre to centre [m].
    row_spacing_m
        Distance from row to row [m].
    corner
        Place of the first bore, x and y [m]; None: wherever the grid does best.
    along_deg
        Direction of the rows, clockwise from the y axis [deg]; further rows stand to the left of
        it. None: whichever does best.
    """

    rows: int
    columns: int
    spacing_m: float
    row_spacing_m: float
    corner: tuple[float, float] | None = None
    along_deg: float | None = None
