"""Which kind of trench is dug where the site file leaves it open: each kind by its own length."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design.evaluate import Trial
from siteplan.design.kinds_laid_out import SYSTEM, BegunOnSite, dug_as, holding, nearest
from siteplan.design.trench_of_kind import TrenchOfKind, of_kind
from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.site.model import Site, System
from siteplan.site.trench_kinds import trench_kinds

MOST_TOLD: Final = 3
"""So many of the other kinds are named in the note."""


@dataclass(frozen=True, slots=True)
class KindChoice:
    """A lot with one kind of trench settled, and the kinds compared, what takes least first.

    Parameters
    ----------
    lot
        The lot, on which the kind is settled.
    compared
        Every kind of which the length is known; empty where the site file names the kind.
    """

    lot: PreparedLot
    compared: tuple[TrenchOfKind, ...] = ()

    @property
    def by_price(self) -> bool:
        """Whether the kind was taken for its price."""
        taken = self.lot.site.exchanger.horizontal.kind
        return any(kind.cost is not None for kind in self.compared if kind.kind == taken)

    def told(self, trial: Trial) -> Trial:
        """The trial of trenches, with a note of which kind was taken and what the next takes."""
        if len(self.compared) < 2 or trial.system != SYSTEM:
            return trial
        taken = self.lot.site.exchanger.horizontal.kind
        own = next(kind for kind in self.compared if kind.kind == taken)
        others = [kind for kind in self.compared if kind is not own][:MOST_TOLD]
        values: dict[str, Value] = {
            "taken": self._row(own),
            "others": tuple(map(self._row, others)),
        }
        code = "trench-kind-cheapest" if self.by_price else "trench-kind-taken"
        return replace(trial, findings=(*trial.findings, Finding(code, values=values)))

    def _row(self, kind: TrenchOfKind) -> Reason:
        prices = self.lot.site.prices
        if not self.by_price or prices is None:
            return _work_row(kind)
        words = trench_kinds()[kind.kind].words
        costs = _costs(kind, prices.currency)
        return reason("kind-costs", kind=words, length_m=kind.length_m, costs=costs)


def _work_row(kind: TrenchOfKind) -> Reason:
    return reason(
        "kind-takes",
        kind=trench_kinds()[kind.kind].words,
        length_m=kind.length_m,
        soil_m3=kind.dug_m3,
        pipe_m=kind.pipe_m,
    )


def _costs(kind: TrenchOfKind, currency: str) -> Reason:
    """What a kind costs, as far as that is known."""
    if kind.cost is not None:
        return reason("costs", currency=currency, low=kind.cost.low, high=kind.cost.high)
    if kind.least_cost is not None:
        return reason("costs-at-least", currency=currency, least=kind.least_cost)
    return reason("has-no-price")


def kind_is_open(site: Site, systems: Sequence[System] = (SYSTEM,)) -> bool:
    """Whether kinds of trench are to be compared for the loop types asked for."""
    return bool(site.exchanger.horizontal.choices) and SYSTEM in systems


def with_trench_kind(
    lot: PreparedLot,
    systems: Sequence[System] = (SYSTEM,),
    begun: BegunOnSite = lambda *_: None,
) -> KindChoice:
    """The lot with a kind of trench settled: the cheapest, or without prices that of least work.

    Nothing is compared where trenches are not among the loop types asked for. A kind that has no
    price for its trench or pipe is taken only where none with prices fits.

    A kind of which even blocks hold the length comes before one whose trenches must fill the
    ground; where no kind fits, it is the one of which the lot holds the greatest share. ``begun``
    hears of a first layout of a kind before one is looked for that agrees with its length.
    """
    options = lot.site.exchanger.horizontal
    if not options.choices:
        return KindChoice(lot)
    if SYSTEM not in systems:
        return KindChoice(dug_as(lot, replace(options, choices=())))
    # by digging, which is nearly all of the work and known before anything is laid out
    compared = sorted(_kinds(lot), key=_by_work)
    if not compared:
        return KindChoice(dug_as(lot, replace(options, choices=())))
    priced = [kind for kind in compared if kind.least_cost is not None]
    priced.sort(key=lambda kind: round(kind.least_cost or 0.0, 2))
    laid = holding(lot, priced, priced=True, begun=begun)
    if laid:
        others = [*priced, *(kind for kind in compared if kind.least_cost is None)]
        known = {kind.kind for kind in laid}
        rest = (kind for kind in others if kind.kind not in known)
        return KindChoice(_taken(lot, laid[0]), (*laid, *rest))
    laid = holding(lot, compared, priced=False, begun=begun)
    if not laid:
        return KindChoice(dug_as(lot, nearest(lot, compared).options), tuple(compared))
    as_laid = {kind.kind: kind for kind in laid}
    told = sorted((as_laid.get(kind.kind, kind) for kind in compared), key=_by_work)
    return KindChoice(_taken(lot, laid[0]), tuple(told))


def _by_work(kind: TrenchOfKind) -> float:
    return round(kind.work_m3, 3)


def _taken(lot: PreparedLot, kind: TrenchOfKind) -> PreparedLot:
    """The lot with a kind that was laid out on it for comparison."""
    return replace(dug_as(lot, kind.options), drafted_m=kind.length_m)


def _kinds(lot: PreparedLot) -> Iterator[TrenchOfKind]:
    for options in lot.site.exchanger.horizontal.choices:
        try:
            required = required_of(dug_as(lot, options).site.exchanger, SYSTEM)
        except DemandError:
            continue
        if required is not None:
            yield of_kind(lot.site, options, required.length_m)
