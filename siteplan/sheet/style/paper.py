"""Paper sizes and stated scales, read from ``paper.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.errors import ExportError
from siteplan.sheet.model import Paper
from siteplan.units.model import UnitSystem


@cache
def _data() -> dict[str, Any]:
    text = files("siteplan.sheet.style").joinpath("paper.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def paper_sizes() -> tuple[str, ...]:
    """Names of the known sheet sizes."""
    return tuple(_data()["paper"])


def paper(name: str) -> Paper:
    """The sheet size of that name.

    Raises
    ------
    ExportError
        No such size.

    Examples
    --------
    >>> paper("ANSI B").width_mm
    431.8
    """
    if name not in _data()["paper"]:
        known = ", ".join(paper_sizes())
        raise ExportError(f"[sheet] size: {name!r} is no known paper size; write one of {known}.")
    return Paper(name, **_data()["paper"][name])


def papers_from(name: str) -> tuple[str, ...]:
    """A paper and those of its series that are wider, from narrow to wide.

    Examples
    --------
    >>> papers_from("ANSI B"), papers_from("A3")
    (('ANSI B', 'ANSI D', 'Arch D'), ('A3', 'A1'))
    """
    width = paper(name).width_mm
    series = [other for other in paper_sizes() if is_metric(other) == is_metric(name)]
    wider = [other for other in series if paper(other).width_mm > width]
    return (name, *sorted(wider, key=lambda other: paper(other).width_mm))


def by_size(names: Sequence[str]) -> tuple[str, ...]:
    """Papers from small to large.

    Examples
    --------
    >>> by_size(("ANSI B", "Arch D", "ANSI A"))
    ('ANSI A', 'ANSI B', 'Arch D')
    """
    return tuple(sorted(names, key=lambda name: paper(name).width_mm * paper(name).height_mm))


def is_metric(name: str) -> bool:
    """Whether a paper is of the ISO series.

    Examples
    --------
    >>> is_metric("A3"), is_metric("ANSI B")
    (True, False)
    """
    return name[1:].isdigit()


def enlargement(name: str) -> float:
    """How many times larger than usual everything but the plan is drawn on a sheet size."""
    return paper(name).enlargement


def scale_ratios(unit: UnitSystem) -> tuple[int, ...]:
    """Ratios of the stated scales, largest scale first.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> scale_ratios(US)[:3], scale_ratios(METRIC)[:2]
    ((120, 240, 360), (100, 200))
    """
    return unit.drawing.plan_ratios


def scale_label(ratio: float, unit: UnitSystem) -> str:
    r"""The scale in words.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> scale_label(240, US), scale_label(250, METRIC)
    ('1" = 20\'', '1:250')
    """
    drawing = unit.drawing
    return drawing.plan_scale.format(ratio=ratio, each=ratio / drawing.paper_units)


def strip_widths() -> tuple[float, ...]:
    """Width of one strip, by how many stand side by side [mm]."""
    return tuple(_data()["strip"]["widths_mm"])


def lean_widths() -> tuple[float, ...]:
    """Widths of a column of a strip without tables, the narrowest first [mm]."""
    return tuple(_data()["strip"]["lean_mm"])
