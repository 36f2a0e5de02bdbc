"""Length against spacing, a pond's year and the drift of a well, as pictures; translation only."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from siteplan.alternatives.length_study import Spaced
from siteplan.site.pond_survey import WaterYear
from siteplan.units.lengths import to_unit
from siteplan.units.model import UnitSystem

MONTHS_A_YEAR: Final = 12
LEAST_SPAN_K: Final = 1.5
"""Drawn at least on both sides of the aquifer's temperature, so that a small drift looks small
[K]."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def write_curve(
    rows: Sequence[Spaced], path: Path, *, title: str, of: str, unit: UnitSystem, asked_m: float
) -> None:
    """Write length required and held over spacing as a picture.

    Parameters
    ----------
    rows
        Spacings in rising order.
    path
        PNG to write.
    title
        Over the picture.
    of
        What the length is of, in a word.
    unit
        Of the axes.
    asked_m
        Spacing asked for [m].
    """
    figure, axes = _begun(title)
    needed = [row for row in rows if row.required_m is not None]
    spacings = [to_unit(row.spacing_m, unit) for row in rows]
    axes.plot(
        [to_unit(row.spacing_m, unit) for row in needed],
        [to_unit(row.required_m or 0.0, unit) for row in needed],
        "k-o",
        markersize=4,
        label=f"{of} required",
    )
    held = [to_unit(row.held_m, unit) for row in rows]
    axes.plot(spacings, held, "k--s", markersize=4, markerfacecolor="white", label="the lot holds")
    axes.axvline(to_unit(asked_m, unit), color="0.5", linewidth=0.8)
    axes.annotate(
        "asked for",
        (to_unit(asked_m, unit), 0.97),
        xycoords=("data", "axes fraction"),
        rotation=90,
        ha="right",
        va="top",
        fontsize=8,
        color="0.3",
    )
    axes.set_xlabel(f"spacing, {unit.center} to {unit.center} [{unit}]")
    axes.set_ylabel(f"length of {of} [{unit}]")
    axes.set_ylim(bottom=0)
    axes.legend(frameon=False)
    _save(figure, path)


def write_drift(
    water_c: float | None, drift_k: Sequence[float], path: Path, *, title: str, unit: UnitSystem
) -> None:
    """Write the temperature of a supply well over the years as a picture.

    Parameters
    ----------
    water_c
        Of the aquifer; None: not known, the drift alone is drawn [C].
    drift_k
        Drift month by month, the first season first [K].
    path
        PNG to write.
    title
        Over the picture.
    unit
        Of the axes.
    """
    figure, axes = _begun(title)
    years = [month / MONTHS_A_YEAR for month in range(1, len(drift_k) + 1)]
    measure = unit.difference if water_c is None else unit.temperature
    base = 0.0 if water_c is None else water_c
    axes.plot(years, [measure.of(base + drift) for drift in drift_k], "k-", linewidth=1.0,
              label="water pumped")  # fmt: skip
    axes.axhline(measure.of(base), color="0.4", linewidth=0.9, linestyle="--", label="aquifer")
    low, high = (measure.of(base + sign * LEAST_SPAN_K) for sign in (-1.0, 1.0))
    seen_low, seen_high = axes.get_ylim()
    axes.set_ylim(min(low, seen_low), max(high, seen_high))
    axes.set_xlim(0, len(drift_k) / MONTHS_A_YEAR)
    axes.set_xlabel("years, from half a year before the hardest month of heating")
    called = "drift of the supply well" if water_c is None else "temperature of the supply well"
    axes.set_ylabel(f"{called} [{measure.label}]")
    axes.legend(frameon=False)
    _save(figure, path)


def write_water_year(year: WaterYear, path: Path, *, title: str, unit: UnitSystem) -> None:
    """Write the year of a pond's water as a picture: with the loop and without, and its ice.

    Parameters
    ----------
    year
        As calculated.
    path
        PNG to write.
    title
        Over the picture.
    unit
        Of the axes.
    """
    figure, axes = _begun(title)
    degrees, places = unit.temperature, range(len(MONTHS))
    alone = [degrees.of(each) for each in year.alone_c]
    loop = [degrees.of(each) for each in year.with_loop_c]
    axes.plot(
        places, alone, "k--s", markersize=4, markerfacecolor="white", label="without the loop"
    )
    axes.plot(places, loop, "k-o", markersize=4, label="with the loop")
    axes.axhline(degrees.of(0.0), color="0.4", linewidth=0.8, linestyle=":")
    # room below for the ice
    axes.set_ylim(degrees.of(-10.0), degrees.of(max(*year.alone_c, 20.0) + 3.0))
    axes.annotate("freezing", (4.5, degrees.of(0.0)), fontsize=8, color="0.3", va="bottom")
    axes.set_xticks(list(places), MONTHS)
    axes.set_ylabel(f"mean of the water [{degrees.label}]")
    ice = axes.twinx()
    thick = [to_unit(each, unit) for each in year.ice_m]
    ice.bar(places, thick, width=0.5, color="0.8", label="thickest ice")
    ice.set_ylabel(f"ice [{unit}]")
    # so high that the bars stay below the curves
    ice.set_ylim(0.0, max(5.0 * max(thick), to_unit(0.3, unit)))
    axes.set_zorder(ice.get_zorder() + 1)
    axes.patch.set_visible(False)
    handles = [*axes.get_legend_handles_labels()[0], *ice.get_legend_handles_labels()[0]]
    axes.legend(handles=handles, frameon=False, loc="upper left")
    _save(figure, path)


def _begun(title: str) -> tuple[Figure, Axes]:
    """A picture with a title over it and axes with a grid."""
    figure = Figure(figsize=(7.0, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.set_title(title, fontsize=10)
    axes.grid(color="0.85", linewidth=0.6)
    return figure, axes


def _save(figure: Figure, path: Path) -> None:
    """Write a picture, without the name of a program."""
    figure.savefig(path, format="png", dpi=150, metadata={"Software": None})
