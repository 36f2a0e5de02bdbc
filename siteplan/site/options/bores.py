"""Bores wanted, from the table [vertical]: limits, arrangement, a grid typed by hand, a pad."""

from __future__ import annotations

from siteplan.site.bore_grid import BoreGrid
from siteplan.site.model import PadOptions, VerticalOptions
from siteplan.site.options.declared import declared
from siteplan.site.options.read import Read, default_of
from siteplan.site.options.trenches import read_length, read_places
from siteplan.units.lengths import format_length


def read_vertical(given: Read) -> VerticalOptions:
    """Bores of a site file's [vertical] table."""
    spacing, widest = _spacings(given["spacing"])
    least, most = _depths(given["depth"])
    options = VerticalOptions(
        spacing_m=spacing,
        depth_least_m=least,
        depth_most_m=most,
        diameter_m=given["diameter"],
        length=read_length(given["length"]),
        pad=_pad(given),
        spacing_most_m=widest,
        count=given["count"],
        arrangement=given["arrangement"],
        grid=_grid(given, spacing),
        places=_places(given),
    )
    if options.diameter_m >= options.spacing_m:
        given.fault("diameter", "is not less than the spacing.", "Correct one of them.")
    return options


def _spacings(given: float | Read) -> tuple[float, float]:
    """Least spacing, and the widest that is tried [m]; where that is not said, so much wider."""
    wider = declared("vertical.spacing.most").times_least or 1.0
    if not isinstance(given, Read):
        return given, given * wider
    least = given["least"]
    return _limits(given, least, given["most"] or least * wider)


def _depths(given: float | Read) -> tuple[float, float]:
    """Least and greatest depth of a bore [m]; one length stands for both."""
    if not isinstance(given, Read):
        return given, given
    return _limits(given, given["least"], given["most"])


def _limits(given: Read, least: float, most: float) -> tuple[float, float]:
    if most < least:
        given.fault(
            "most",
            f"of {format_length(most, given.unit)} is less than least, "
            f"{format_length(least, given.unit)}.",
            "Swap or correct them.",
        )
    return least, most


def _grid(given: Read, spacing_m: float) -> BoreGrid | None:
    """Grid typed by hand, None where none is; its spacing is the bores' where it does not say."""
    typed: Read | None = given["grid"]
    if typed is None:
        return None
    along = typed["spacing"] or spacing_m
    corner, factor = typed["corner"], typed.unit.metres
    grid = BoreGrid(
        rows=typed["rows"] or 1,
        columns=typed["columns"] or 1,
        spacing_m=along,
        row_spacing_m=typed["row_spacing"] or along,
        corner=None if corner is None else (corner[0] * factor, corner[1] * factor),
        along_deg=typed["along"],
    )
    _judge_grid(grid, spacing_m, typed)
    _judge_beside_grid(given)
    return grid


def _judge_grid(grid: BoreGrid, spacing_m: float, typed: Read) -> None:
    """Note what in a grid contradicts itself or the spacing."""
    if typed.says("corner") and not typed.says("along"):
        typed.fault(
            "corner",
            "is given without a direction of the rows.",
            'Add along = "N 90 E" (or degrees clockwise from the y axis), or leave corner out.',
        )
    asked = format_length(spacing_m, typed.unit)
    for key, spacing, several in (
        ("spacing", grid.spacing_m, grid.columns > 1),
        ("row_spacing", grid.row_spacing_m, grid.rows > 1 and typed.says("row_spacing")),
    ):
        if several and spacing < spacing_m - 1e-9:
            typed.fault(
                key,
                f"of {format_length(spacing, typed.unit)} is less than the spacing of bores, "
                f"{asked}.",
                "Widen the grid, or lessen [vertical] spacing.",
            )


def _judge_beside_grid(given: Read) -> None:
    for key, why in (
        ("count", "rows times columns is the number of bores"),
        ("arrangement", "a grid is its own arrangement"),
    ):
        if given.says(key):
            given.fault(key, f"stands beside [grid]: {why}.", f"Leave out {key} or [grid].")


def _places(given: Read) -> tuple[tuple[float, float], ...]:
    """Place of every bore given by hand [m]; empty where none is."""
    typed = read_places(given)
    for key in ("count", "arrangement", "grid", "pad"):
        if typed and given.says(key):
            given.fault(
                key,
                "stands beside places: the places say how many bores there are and where.",
                f"Leave out {key} or places.",
            )
    return typed


def default_pad() -> PadOptions:
    """Pad of which the site file says nothing: common practice, no source."""
    usual = {key: default_of(option) for key, option in declared("vertical.pad").options.items()}
    return PadOptions(usual["tilt"], usual["collar_spacing"], usual["line"])


def _pad(given: Read) -> PadOptions | None:
    """Pad from which bores lean, None where none is."""
    pad: Read | None = given["pad"]
    if pad is None:
        return None
    for key in ("grid", "arrangement"):
        if given.says(key):
            given.fault(
                key,
                "stands beside pad: bores from one pad are their own arrangement.",
                f"Leave out {key} or pad.",
            )
    return PadOptions(pad["tilt"], pad["collar_spacing"], pad["line"])
