"""Length required against spacing as a picture; translation only."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from siteplan.alternatives.length_study import Spaced
from siteplan.units.lengths import to_unit
from siteplan.units.model import UnitSystem


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
    figure = Figure(figsize=(7.0, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
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
    axes.set_title(title, fontsize=10)
    axes.grid(color="0.85", linewidth=0.6)
    axes.legend(frameon=False)
    figure.savefig(path, format="png", dpi=150, metadata={"Software": None})
