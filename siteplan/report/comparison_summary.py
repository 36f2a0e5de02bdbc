"""What each loop type that fits takes, in figures, for the summary."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from siteplan.checks.model import Separation
from siteplan.comparison.compare import Taken
from siteplan.design.trench_of_kind import TrenchOfKind
from siteplan.findings.words import words_of
from siteplan.quantities.cost import Cost, CostLine
from siteplan.report.comparison_words import unpriced_names
from siteplan.report.rounding import down, up
from siteplan.units.lengths import FLOWS, round_to
from siteplan.units.model import UnitSystem

CENTS: Final = 2
"""Decimals of a sum."""


def comparison_summary(compared: Sequence[Taken], unit: UnitSystem) -> list[dict[str, Any]]:
    """One row for each loop type that has room."""
    return [_row(taken, unit) for taken in compared]


def kinds_summary(kinds: Sequence[TrenchOfKind], taken: str) -> list[dict[str, Any]]:
    """One row for each kind of trench compared, what takes least first."""
    return [
        {
            "kind": kind.kind,
            "taken": kind.kind == taken,
            "length_m": up(kind.length_m),
            "soil_m3": up(kind.dug_m3),
            "sand_m3": up(kind.sand_m3),
            "pipe_m": up(kind.pipe_m),
            "cost": None if kind.cost is None else _sum(kind.cost),
        }
        for kind in kinds
    ]


def _sum(cost: Cost) -> dict[str, float]:
    return {"low": round_to(cost.low, CENTS, "down"), "high": round_to(cost.high, CENTS, "up")}


def _row(taken: Taken, unit: UnitSystem) -> dict[str, Any]:
    return {
        "system": taken.system,
        "drawn": taken.drawn,
        "fits": taken.fits,
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
        "cost": None if taken.cost is None else _cost(taken.cost),
    }


def _cost(cost: Cost) -> dict[str, Any]:
    return {
        "currency": cost.currency,
        "as_of": cost.prices.as_of,
        "source": cost.prices.source,
        "low": round_to(cost.low, CENTS, "down"),
        "high": round_to(cost.high, CENTS, "up"),
        "lines": [_line(line) for line in cost.lines],
        "not_priced": list(unpriced_names(cost)),
    }


def _line(line: CostLine) -> dict[str, Any]:
    return {
        "item": line.item.what,
        "size": line.item.size,
        "quantity": line.amount,
        "unit": line.unit,
        "price_low": line.price.low,
        "price_high": line.price.high,
        "low": round_to(line.low, CENTS, "down"),
        "high": round_to(line.high, CENTS, "up"),
    }


def _tightest(row: Separation) -> dict[str, Any]:
    return {
        "element": row.element,
        "feature": row.feature,
        "required_m": up(row.rule.distance_m),
        "provided_m": down(row.provided_m),
        "rule": f"{row.rule.book}/{row.rule.id}",
    }
