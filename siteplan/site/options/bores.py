"""What a site file may say about a bore field: limits, count, arrangement, a grid typed by hand."""

from __future__ import annotations

from typing import cast, get_args

from siteplan.reading import Table
from siteplan.site.model import Arrangement, BoreGrid
from siteplan.units.lengths import format_length, parse_bearing

MILLIMETRE = 1e-3
GRID_EXAMPLE = "[vertical.grid] with rows = 2, columns = 3"
DEPTH_EXAMPLE = 'depth = "300 ft", or depth = { least = "150 ft", most = "400 ft" }'
SPACING_EXAMPLE = 'spacing = "20 ft", or spacing = { least = "20 ft", most = "25 ft" }'


def read_depths(table: Table, least_m: float, most_m: float) -> tuple[float, float]:
    """Least and greatest depth of a bore [m]; one length stands for both."""
    if table.has("depth") and not isinstance(table.raw("depth"), dict):
        if isinstance(table.raw("depth"), (list, bool)):
            table.fault("depth", "is neither a length nor a table.", f"Write {DEPTH_EXAMPLE}.")
            return least_m, most_m
        fixed = table.length("depth", most_m, least=MILLIMETRE)
        return fixed, fixed
    return _limits(table.table("depth", DEPTH_EXAMPLE), least_m, most_m=most_m)


def read_spacings(table: Table, least_m: float, wider: float) -> tuple[float, float]:
    """Least spacing, and the widest that is tried [m]; where that is not said, so much wider."""
    if not isinstance(table.raw("spacing"), dict):
        spacing = table.length("spacing", least_m, least=MILLIMETRE)
        return spacing, spacing * wider
    limits = table.table("spacing", SPACING_EXAMPLE)
    least_m = limits.length("least", least_m, least=MILLIMETRE)
    return _limits(limits, least_m, most_m=least_m * wider)


def _limits(table: Table, least_m: float, most_m: float) -> tuple[float, float]:
    least = table.length("least", least_m, least=MILLIMETRE)
    most = table.length("most", most_m, least=MILLIMETRE)
    table.finish()
    if most < least:
        table.fault(
            "most",
            f"of {format_length(most, table.unit)} is less than least, "
            f"{format_length(least, table.unit)}.",
            "Swap or correct them.",
        )
    return least, most


def read_count(table: Table) -> int | None:
    """Number of bores wanted, None where it follows from the length."""
    return table.count("count", 0, least=1) or None


def read_arrangement(table: Table) -> Arrangement:
    """How the bores may stand."""
    return cast("Arrangement", table.choice("arrangement", get_args(Arrangement), "best"))


def read_grid(table: Table, spacing_m: float) -> BoreGrid | None:
    """Grid typed by hand, None where none is; its spacing is the bores' where it does not say."""
    if not table.has("grid"):
        return None
    given = table.table("grid", GRID_EXAMPLE)
    for key, example in (("rows", "rows = 2"), ("columns", "columns = 3")):
        given.required(key, example)
    along = given.length("spacing", spacing_m, least=MILLIMETRE)
    corner = given.point("corner")
    factor = table.unit.metres
    grid = BoreGrid(
        rows=given.count("rows", 1),
        columns=given.count("columns", 1),
        spacing_m=along,
        row_spacing_m=given.length("row_spacing", along, least=MILLIMETRE),
        corner=None if corner is None else (corner[0] * factor, corner[1] * factor),
        along_deg=given.quantity("along", parse_bearing),
    )
    _judge_grid(grid, spacing_m, given)
    _judge_beside_grid(table)
    given.finish()
    return grid


def _judge_grid(grid: BoreGrid, spacing_m: float, given: Table) -> None:
    """Note what in a grid contradicts itself or the spacing."""
    if given.has("corner") and not given.has("along"):
        given.fault(
            "corner",
            "is given without a direction of the rows.",
            'Add along = "N 90 E" (or degrees clockwise from the y axis), or leave corner out.',
        )
    asked = format_length(spacing_m, given.unit)
    for key, spacing, several in (
        ("spacing", grid.spacing_m, grid.columns > 1),
        ("row_spacing", grid.row_spacing_m, grid.rows > 1 and given.has("row_spacing")),
    ):
        if several and spacing < spacing_m - 1e-9:
            given.fault(
                key,
                f"of {format_length(spacing, given.unit)} is less than the spacing of bores, "
                f"{asked}.",
                "Widen the grid, or lessen [vertical] spacing.",
            )


def _judge_beside_grid(table: Table) -> None:
    for key, why in (
        ("count", "rows times columns is the number of bores"),
        ("arrangement", "a grid is its own arrangement"),
    ):
        if table.has(key):
            table.fault(key, f"stands beside [grid]: {why}.", f"Leave out {key} or [grid].")
