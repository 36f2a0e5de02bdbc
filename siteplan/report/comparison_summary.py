"""What each loop type that fits takes, in figures, for the summary."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from siteplan.checks.model import Separation
from siteplan.comparison.compare import Taken
from siteplan.findings.words import words_of
from siteplan.report.rounding import down, up
from siteplan.units.lengths import FLOWS
from siteplan.units.model import UnitSystem


def comparison_summary(compared: Sequence[Taken], unit: UnitSystem) -> list[dict[str, Any]]:
    """One row for each loop type that fits."""
    return [_row(taken, unit) for taken in compared]


def _row(taken: Taken, unit: UnitSystem) -> dict[str, Any]:
    return {
        "system": taken.system,
        "drawn": taken.drawn,
        "elements": taken.count,
        "length_m": down(taken.length_m),
        "flow_l_s": up(taken.flow_m3s / FLOWS["l/s"]),
        "header_m": up(taken.header_m),
        "trench_m": up(taken.amount("trench")),
        "drilled_m": up(taken.drilled_m),
        "soil_m3": up(taken.amount("soil")),
        "pipe_m": up(taken.amount("pipe")),
        "fluid_l": None if taken.fluid_m3 is None else up(taken.fluid_m3 * 1000),
        "crossed": [{"kind": kind, "times": times} for kind, times in taken.crossed],
        "opened_m2": up(taken.opened_m2),
        "tightest": None if taken.tightest is None else _tightest(taken.tightest),
        "hinges": [words_of(hinge, unit) for hinge in taken.hinges],
    }


def _tightest(row: Separation) -> dict[str, Any]:
    return {
        "element": row.element,
        "feature": row.feature,
        "required_m": up(row.rule.distance_m),
        "provided_m": down(row.provided_m),
        "rule": f"{row.rule.book}/{row.rule.id}",
    }
