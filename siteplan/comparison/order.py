"""Which loop type is drawn, and whether it takes much more than another that fits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from siteplan.comparison.compare import Taken
from siteplan.findings.model import Finding, Reason, Value, reason

MUCH: Final = 2.0
"""So many times the work of another is worth a word."""


def cheapest(compared: Sequence[Taken]) -> Taken | None:
    """Loop type that costs least, by the middle of low and high; the first of equals.

    None where nothing fits, or where none has prices for what makes up most of it.
    """
    priced = [each for each in compared if each.fits and each.cost is not None and each.cost.tells]
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


def _unpriced(compared: Sequence[Taken]) -> tuple[Finding, ...]:
    names = tuple(taken.system for taken in compared if taken.cost and not taken.cost.tells)
    return (Finding("not-cheapest", values={"systems": names}),) if names else ()


def _twice(compared: Sequence[Taken]) -> tuple[Finding, ...]:
    drawn = next((taken for taken in compared if taken.drawn), None)
    if drawn is None:
        return ()
    others = [taken for taken in compared if not taken.drawn]
    measured = [(other, *_works(drawn, other)) for other in others]
    more = [row for row in measured if row[1] > MUCH * row[2]]
    if not more:
        return ()
    # the one against which most is taken
    other, most, least = max(more, key=lambda row: row[1] / max(row[2], 1e-9))
    by_cost = _by_cost(drawn, other)
    values: Mapping[str, Value] = {
        "drawn": drawn.system,
        "other": other.system,
        "most": _told(drawn, most, by_cost=by_cost),
        "least": _told(other, least, by_cost=by_cost),
    }
    return (Finding("takes-twice", values=values),)


def _works(drawn: Taken, other: Taken) -> tuple[float, float]:
    """Work of two loop types by one measure: what they cost, else what is dug and drilled."""
    if _by_cost(drawn, other):
        return _middle(drawn), _middle(other)
    return drawn.work_m, other.work_m


def _by_cost(drawn: Taken, other: Taken) -> bool:
    return all(taken.cost is not None and taken.cost.tells for taken in (drawn, other))


def _middle(taken: Taken) -> float:
    return 0.0 if taken.cost is None else taken.cost.middle


def _told(taken: Taken, work: float, *, by_cost: bool) -> Reason:
    if by_cost and taken.cost is not None:
        cost = taken.cost
        return reason("costs", currency=cost.currency, low=cost.low, high=cost.high)
    return reason("dug-and-drilled", length_m=work)
