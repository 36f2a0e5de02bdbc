"""Which kind of trench is dug where the site file leaves it open: each kind by its own length."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.design.converge import settled
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import Attempt, attempt, capacity_of
from siteplan.design.loop_types import record_of
from siteplan.earthwork.bedding import sand_area
from siteplan.earthwork.excavation import section_area
from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.fluids import antifreeze_share
from siteplan.hydraulics.pipes import fill_volume, pipes
from siteplan.layout.elements import Trench
from siteplan.layout.model import Ground
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.trenches.field import most_trench
from siteplan.preferences.table import figure_of
from siteplan.quantities.cost import Cost, cost_of, middle_of, middle_of_priced
from siteplan.quantities.take_off import Item
from siteplan.site.loop_options import staked
from siteplan.site.model import HorizontalOptions, Site, System, TrenchArrangement
from siteplan.site.trench_kinds import trench_kinds
from siteplan.vocabulary.loop_types import made_of

PIPE_A_VOLUME: Final = figure_of("design.trench_kind.pipe_a_volume")
"""Metres of pipe that are as much work as a cubic metre of soil dug or sand laid [m/m3]."""
MOST_TOLD: Final = 3
"""So many of the other kinds are named in the note."""
SYSTEM: Final = made_of(Trench.kind).name


@dataclass(frozen=True, slots=True)
class TrenchOfKind:
    """What a field of one kind of trench takes.

    Parameters
    ----------
    options
        The trenches.
    length_m
        Trench required: as it is laid out where it was, else the least that any layout needs [m].
    dug_m3, sand_m3
        Soil dug and sand laid for it [m3].
    pipe_m
        Pipe in it [m].
    least_cost
        What it costs at least, without a header, by the middle of low and high; None where trench
        or pipe has no price.
    cost
        What it costs as laid out with its header; None where it was not laid out for its price.
    """

    options: HorizontalOptions
    length_m: float
    dug_m3: float
    sand_m3: float
    pipe_m: float
    least_cost: float | None = None
    cost: Cost | None = None

    @property
    def kind(self) -> str:
        """Name of the kind."""
        return self.options.kind

    @property
    def work_m3(self) -> float:
        """Soil, sand and pipe in one figure, as a volume of soil [m3]."""
        return self.dug_m3 + self.sand_m3 + self.pipe_m / PIPE_A_VOLUME


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


def with_trench_kind(lot: PreparedLot, systems: Sequence[System] = (SYSTEM,)) -> KindChoice:
    """The lot with a kind of trench settled: the cheapest, or without prices that of least work.

    Nothing is compared where trenches are not among the loop types asked for. A kind that has no
    price for its trench or pipe is taken only where none with prices fits.

    A kind of which even blocks hold the length comes before one whose trenches must fill the
    ground; where no kind fits, it is the one of which the lot holds the greatest share.
    """
    options = lot.site.exchanger.horizontal
    if not options.choices:
        return KindChoice(lot)
    if SYSTEM not in systems:
        return KindChoice(_dug_as(lot, replace(options, choices=())))
    # by digging, which is nearly all of the work and known before anything is laid out
    compared = sorted(_kinds(lot), key=_by_work)
    if not compared:
        return KindChoice(_dug_as(lot, replace(options, choices=())))
    priced = [kind for kind in compared if kind.least_cost is not None]
    priced.sort(key=lambda kind: round(kind.least_cost or 0.0, 2))
    laid = _holding(lot, priced, priced=True)
    if laid:
        others = [*priced, *(kind for kind in compared if kind.least_cost is None)]
        known = {kind.kind for kind in laid}
        rest = (kind for kind in others if kind.kind not in known)
        return KindChoice(_taken(lot, laid[0]), (*laid, *rest))
    holding = _holding(lot, compared, priced=False)
    if not holding:
        return KindChoice(_dug_as(lot, _nearest(lot, compared).options), tuple(compared))
    as_laid = {kind.kind: kind for kind in holding}
    told = sorted((as_laid.get(kind.kind, kind) for kind in compared), key=_by_work)
    return KindChoice(_taken(lot, holding[0]), tuple(told))


def _by_work(kind: TrenchOfKind) -> float:
    return round(kind.work_m3, 3)


def _taken(lot: PreparedLot, kind: TrenchOfKind) -> PreparedLot:
    """The lot with a kind that was laid out on it for comparison."""
    return replace(_dug_as(lot, kind.options), drafted_m=kind.length_m)


def _kinds(lot: PreparedLot) -> Iterator[TrenchOfKind]:
    for options in lot.site.exchanger.horizontal.choices:
        try:
            required = required_of(_dug_as(lot, options).site.exchanger, SYSTEM)
        except DemandError:
            continue
        if required is not None:
            yield _of_kind(lot.site, options, required.length_m)


def _of_kind(site: Site, options: HorizontalOptions, length_m: float) -> TrenchOfKind:
    kind = TrenchOfKind(
        options,
        length_m,
        section_area(options) * length_m,
        sand_area(options) * length_m,
        trench_kinds()[options.kind].pipe_per_m * length_m,
    )
    return replace(kind, least_cost=_least_cost(site, kind))


def _least_cost(site: Site, kind: TrenchOfKind) -> float | None:
    """What a kind costs at least; None where its trench or its pipe has no price.

    Counted is what is bought or dug for it whatever the header is.
    """
    prices, piping = site.prices, site.exchanger.piping
    if prices is None:
        return None
    mixture = piping.fluid.mixture if piping.fluid is not None else ""
    trench = Item("trench", "", "length", kind.length_m, "", "trench", kind.options.depth_m)
    further = (
        Item("sand", "", "earth", kind.sand_m3, "", "sand"),
        Item("tape", "", "length", kind.length_m, "", "tape"),
        Item("wire", "", "length", kind.length_m, "", "wire"),
        Item("mobilization", "excavator", "count", 1, "", "mobilization"),
    )
    costs = []
    stated = piping.circuits.pipe
    for size in [stated] if stated else [size for size, _ in prices.pipe]:
        pipe = Item("pipe", size, "length", kind.pipe_m, "", "pipe")
        volume = fill_volume(pipes()[size], kind.pipe_m)
        pure = antifreeze_share(mixture) * volume if mixture else 0.0
        fluid = (
            Item("fluid", mixture, "fluid", volume, "", "fluid"),
            Item("antifreeze", mixture, "fluid", pure, "", "antifreeze"),
        )
        if middle_of([trench, pipe], prices, site.unit) is not None:
            costs.append(middle_of_priced([trench, pipe, *further, *fluid], prices, site.unit))
    return min(costs, default=None)


def _dug_as(lot: PreparedLot, options: HorizontalOptions) -> PreparedLot:
    return lot.with_exchanger(replace(lot.site.exchanger, horizontal=options))


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A kind as laid out, and what it takes with its header: as soil [m3], or as a price."""

    kind: TrenchOfKind
    takes: float


def _holding(lot: PreparedLot, compared: list[TrenchOfKind], *, priced: bool) -> list[TrenchOfKind]:
    """Kinds that hold what they need as laid out, the one that takes least with its header first.

    Those are left out that take more without their header.
    """
    # filling the ground takes ten times as long to find: only where no kind lies in blocks
    laid = _laid(lot, compared, "even", priced=priced) or _laid(
        lot, compared, "filling", priced=priced
    )
    laid.sort(key=lambda weighed: round(weighed.takes, 6))
    return [weighed.kind for weighed in laid]


def _laid(
    lot: PreparedLot, kinds: list[TrenchOfKind], arrangement: TrenchArrangement, *, priced: bool
) -> list[_Weighed]:
    """Kinds in one arrangement that hold what they need, while the next may take least."""
    found: list[_Weighed] = []
    lacking: list[TrenchOfKind] = []
    least = math.inf
    for kind in kinds:
        # what takes least without its header comes first: what follows cannot take less
        if _at_least(kind, priced=priced) >= least:
            break
        if _most(lot, kind) < kind.length_m:
            continue
        if any(_is_no_easier(lot, kind, other) for other in lacking):
            continue
        weighed = _weighed(lot, kind, arrangement, priced=priced)
        if weighed is not None:
            found.append(weighed)
            least = min(least, weighed.takes)
        else:
            lacking.append(kind)
        if found and arrangement == "filling":
            break
    return found


def _is_no_easier(lot: PreparedLot, kind: TrenchOfKind, lacking: TrenchOfKind) -> bool:
    """Whether a kind needs as much on no more ground as one that the ground does not hold."""
    wanted, other = kind.options, lacking.options
    return (
        kind.length_m >= lacking.length_m
        and wanted.spacing_m >= other.spacing_m
        and wanted.shortest_m >= other.shortest_m
        and (wanted.longest_m or math.inf) <= (other.longest_m or math.inf)
        and _ground(lot, lacking).area.buffer(TOLERANCE).covers(_ground(lot, kind).area)
    )


def _at_least(kind: TrenchOfKind, *, priced: bool) -> float:
    return kind.least_cost or 0.0 if priced else kind.work_m3


def _most(lot: PreparedLot, kind: TrenchOfKind) -> float:
    """Length that no trenches of a kind exceed on the lot [m]."""
    options = staked(_dug_as(lot, kind.options).site.exchanger).horizontal
    return most_trench(_ground(lot, kind), options)


def _ground(lot: PreparedLot, kind: TrenchOfKind) -> Ground:
    """Where trenches of a kind may lie."""
    return prepare(_dug_as(lot, kind.options), record_of(SYSTEM).ground).ground


def _weighed(
    lot: PreparedLot, kind: TrenchOfKind, arrangement: TrenchArrangement, *, priced: bool
) -> _Weighed | None:
    """A kind with its header; None where the lot does not hold it, or where a price is missing."""
    # looking for a field off the front yard takes longer than all else, and moves all kinds alike
    there = replace(_dug_as(lot, replace(kind.options, arrangement=arrangement)), draft=True)
    laid = _settled_there(there)
    if laid is None:
        return None
    (required, made), wanted = laid, there.site.exchanger
    layout = made.layout
    assert layout.header is not None
    kind = _of_kind(lot.site, kind.options, required.length_m)
    # header is dug as well: a kind with short trenches far apart pays here
    if not priced:
        section_m2 = wanted.piping.header.depth_m * wanted.piping.header.width_m
        return _Weighed(kind, kind.work_m3 + layout.header.length_m * section_m2)
    piped = with_pipes(layout, wanted, required.flow_m3s, ground=made.ground)
    cost = cost_of(there.site, piped)
    known = cost is not None and cost.tells
    return _Weighed(replace(kind, cost=cost), cost.middle) if cost and known else None


def _settled_there(lot: PreparedLot) -> tuple[Required, Attempt] | None:
    """What is required of trenches and laid out; None where the lot does not hold it."""
    try:
        required = required_of(lot.site.exchanger, SYSTEM)
        if required is None or not _may_hold(lot, required.length_m):
            return None
        # as laid out it needs no less: what does not hold the least is not joined to circuits
        if attempt(lot, SYSTEM, required.length_m).layout.obstacle:
            return None
        required, made = settled(lot, required, SYSTEM)
    except DemandError:
        return None
    layout = made.layout
    short = layout.length_m < required.length_m - TOLERANCE
    return None if layout.obstacle or layout.header is None or short else (required, made)


def _may_hold(lot: PreparedLot, length_m: float) -> bool:
    """Whether it is worth looking: straight rows hold so much, where the ground is to be filled."""
    even = lot.site.exchanger.horizontal.arrangement == "even"
    return even or capacity_of(lot, SYSTEM) >= length_m - TOLERANCE


def _nearest(lot: PreparedLot, compared: list[TrenchOfKind]) -> TrenchOfKind:
    """Kind of which the lot may hold the greatest share; of equals the one of least work."""
    return max(compared, key=lambda kind: round(_most(lot, kind) / kind.length_m, 6))
