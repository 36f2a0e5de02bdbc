"""Composing and writing sheets, beside a plain figure of the same ink in the same run."""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path as Outline

from siteplan.export.about import About
from siteplan.export.dxf import write_dxf
from siteplan.export.fonts import CAPITAL, font_file
from siteplan.export.image import write_set
from siteplan.export.ink import Ink, Stroke, ink
from siteplan.export.pdf import write_pages
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet
from siteplan.sheet.pages.advice import paper_advice
from siteplan.sheet.pages.set import compose_set
from siteplan.site.sheet_options import SheetOptions

sys.path.insert(0, str(Path(__file__).parents[1] / "lots"))
from sheet_lots import rural, suburban  # the lots of the drawing tests

RUNS = 3
POINT_MM = 25.4 / 72


def lots() -> dict[str, Callable[[], PlanContent]]:
    """Lots made by hand, made anew for every run, so that nothing kept from the last one helps."""
    many = SheetOptions("ANSI B")
    return {
        "6 trenches": rural,
        "12 bores": suburban,
        "60 bores": lambda: suburban(sheet=many, bores=60),
        "400 bores": lambda: suburban(sheet=many, bores=400),
    }


def figure_of(one: Ink) -> Figure:
    """The ink as an ordinary figure: a collection for each mark, an artist for each text."""
    figure = Figure(figsize=(one.width_mm / 25.4, one.height_mm / 25.4))
    FigureCanvasAgg(figure)
    axes: Any = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, one.width_mm)
    axes.set_ylim(0.0, one.height_mm)
    for order, mark in enumerate(one.marks):
        if isinstance(mark, Stroke):
            wide = mark.width_mm / POINT_MM
            dashes = [length / POINT_MM / wide for length in mark.dashes_mm] or None
            look = {"colors": mark.color, "linewidths": wide, "linestyles": [(0.0, dashes)]}
            axes.add_collection(LineCollection(mark.lines, zorder=order, **look), autolim=False)
        else:
            areas = [
                Outline.make_compound_path(*(Outline(r, closed=False) for r in rings))
                for rings in mark.areas
            ]
            fills = PathCollection(areas, facecolors=mark.color, edgecolors="none", zorder=order)
            axes.add_collection(fills, autolim=False)
    for text in one.letters:
        size = text.height_mm / CAPITAL / POINT_MM
        face = FontProperties(fname=str(font_file(bold=text.bold)), size=size)
        axes.text(
            *text.start, text.text, fontproperties=face, color=text.color, parse_math=False,
            rotation=text.angle_deg, rotation_mode="anchor", zorder=1e6,
        )  # fmt: skip
    return figure


def plainly(sheets: tuple[Sheet, ...], folder: Path, *, pictures: bool = True) -> None:
    """Print of the sheets by ordinary figures, and their pictures."""
    with mpl.rc_context({"pdf.fonttype": 42}), PdfPages(folder / "plain.pdf") as file:
        for number, sheet in enumerate(sheets):
            figure = figure_of(ink(sheet))
            if pictures:
                figure.savefig(folder / f"plain-{number}.png", dpi=200)
            file.savefig(figure)


def printed(sheets: tuple[Sheet, ...], folder: Path) -> None:
    """The print of the sheets alone."""
    write_pages(
        [ink(one) for one in sheets],
        folder / "b.pdf",
        about=About(""),
        names=[f"L{k}" for k in range(len(sheets))],
    )


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    """Processor time of a call [s], and what it gives back."""
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def measured(make: Callable[[], PlanContent], folder: Path) -> tuple[int, list[float]]:
    """Number of sheets, and the median times of composing, advice, DXF, images and plain ones."""
    rows = []
    for _ in range(RUNS):
        content = make()
        content = replace(content, site=replace(content.site, books=()))
        composing, sheets = seconds(lambda content=content: compose_set(content))
        told = len(sheets) > 1
        pictures = [folder / f"{k}.png" for k in range(len(sheets))]
        calls = (
            lambda s=sheets, c=content, t=told: paper_advice(s[0], c, told=t),
            lambda s=sheets: write_dxf(s[0], folder / "a.dxf", more=s[1:]),
            lambda s=sheets, p=pictures: write_set(s, p, folder / "a.pdf"),
            lambda s=sheets: plainly(s, folder),
            lambda s=sheets: printed(s, folder),
            lambda s=sheets: plainly(s, folder, pictures=False),
        )
        rows.append([composing, *(seconds(call)[0] for call in calls)])
    return len(sheets), [statistics.median(column) for column in zip(*rows, strict=True)]


def main() -> None:
    """Print the table."""
    print(
        "| lot | sheets | composing s | advice s | DXF s | PNG and PDF s | plain figure s "
        "| PDF alone s | plain PDF s | ratio |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for name, make in lots().items():
            count, times = measured(make, Path(folder))
            cells = " | ".join(f"{one:.2f}" for one in times)
            print(f"| {name} | {count} | {cells} | {times[4] / times[3]:.1f} |", flush=True)


if __name__ == "__main__":
    main()
