"""Which loop type is drawn, and whether it takes much more than another that fits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from siteplan.comparison.compare import Taken
from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.units.lengths import FOOT

Measure = Literal["cost", "length", "soil"]
MEASURES: Final[Mapping[Measure, Reason]] = {
    "cost": reason("by-cost"),
    "length": reason("by-length"),
    "soil": reason("by-soil"),
}
"""What each measure of work is called."""
MUCH: Final = 2.0
"""So many times the work of another is worth a word."""
A_DAY_M3: Final = 150 * (3 * FOOT) ** 3
"""What an excavator with its crew digs and fills in a day; common practice, no source [m3]."""


def cheapest(compared: Sequence[Taken]) -> Taken | None:
    """Loop type that costs least, by the middle of low and high; the first of equals.

    None where nothing fits, or where none has prices for what makes up most of it.
    """
    priced = [each for each in compared if each.cost is not None and each.cost.tells]
    return min(priced, key=_middle, default=None)


def order_findings(compared: Sequence[Taken], *, cheapest: bool) -> tuple[Finding, ...]:
    """That the loop type drawn takes far more than another, or that not all could be compared.

    Parameters
    ----------
    compared
        What each loop type that fits takes.
    cheapest
        Whether the cheapest was to be drawn.
    """
    return (*_twice(compared), *(_unpriced(compared) if cheapest else ()))


def less_work(compared: Sequence[Taken]) -> str:
    """Loop type that takes less than half of the one drawn, by cost or by feet; else empty.

    Less soil alone is no headline: hardly any is dug for bores, however many there are.
    """
    more = [row for row in _twice_measured(compared) if row.measure != "soil"]
    return max(more, key=lambda row: row.times).other.system if more else ""


def _unpriced(compared: Sequence[Taken]) -> tuple[Finding, ...]:
    names = tuple(taken.system for taken in compared if taken.cost and not taken.cost.tells)
    return (Finding("not-cheapest", values={"systems": names}),) if names else ()


@dataclass(frozen=True, slots=True)
class _Measured:
    """Work of the loop type drawn against that of another, by one measure."""

    other: Taken
    measure: Measure
    most: float
    least: float

    @property
    def times(self) -> float:
        """How many times the work of the other the one drawn takes [-]."""
        return self.most / max(self.least, 1e-9)


def _twice_measured(compared: Sequence[Taken]) -> list[_Measured]:
    """Measures by which the loop type drawn takes more than twice the work of another."""
    drawn = next((taken for taken in compared if taken.drawn), None)
    if drawn is None:
        return []
    others = [taken for taken in compared if not taken.drawn]
    return [
        row for other in others for row in _measured(drawn, other) if row.most > MUCH * row.least
    ]


def _twice(compared: Sequence[Taken]) -> tuple[Finding, ...]:
    more = _twice_measured(compared)
    if not more:
        return ()
    # the one against which most is taken
    row = max(more, key=lambda row: row.times)
    drawn = next(taken for taken in compared if taken.drawn)
    values: Mapping[str, Value] = {
        "drawn": drawn.system,
        "other": row.other.system,
        "measure": MEASURES[row.measure],
        "most": _told(drawn, row.measure),
        "least": _told(row.other, row.measure),
    }
    return (Finding("takes-twice", values=values),)


def _measured(drawn: Taken, other: Taken) -> Iterator[_Measured]:
    """Work of two loop types by what they cost, or else by each measure in which it is told.

    A foot of trench and a foot of bore are not the same work, and soil is hardly dug for bores:
    so more soil is more work only where no fewer feet are dug and drilled for it, and where it is
    more by what a crew digs and fills in a day.
    """
    if all(taken.cost is not None and taken.cost.tells for taken in (drawn, other)):
        yield _Measured(other, "cost", _middle(drawn), _middle(other))
        return
    yield _Measured(other, "length", drawn.work_m, other.work_m)
    soil, others = drawn.amount("soil"), other.amount("soil")
    if drawn.work_m >= other.work_m and soil - others > A_DAY_M3:
        yield _Measured(other, "soil", soil, others)


def _middle(taken: Taken) -> float:
    return 0.0 if taken.cost is None else taken.cost.middle


def _told(taken: Taken, measure: Measure) -> Reason:
    if measure == "cost" and taken.cost is not None:
        cost = taken.cost
        return reason("costs", currency=cost.currency, low=cost.low, high=cost.high)
    return reason("dug-and-drilled", length_m=taken.work_m, soil_m3=taken.amount("soil"))
