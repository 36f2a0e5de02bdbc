"""Kinds of trench laid out on a lot, to find the one that takes least with its header."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.design.converge import required_there, settled
from siteplan.design.entries import entered
from siteplan.design.lay_out import Attempt, attempt, capacity_of
from siteplan.design.loop_types import record_of
from siteplan.design.trench_of_kind import TrenchOfKind, of_kind
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Ground
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.trenches.field import most_trench
from siteplan.layout.trenches.together import least_header
from siteplan.quantities.cost import cost_of
from siteplan.site.loop_options import staked
from siteplan.site.model import HorizontalOptions, Site, TrenchArrangement
from siteplan.vocabulary.loop_types import made_of

SYSTEM: Final = made_of(Trench.kind).name
BegunOnSite = Callable[[Site, Required, Attempt], None]
"""Hears of a first layout, on the site with its kind of trench."""


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A kind and what it takes at least, as soil [m3] or as a price; and how much that knows of.

    Once laid out it is with a header; once settled it is of a layout that holds what it needs.
    """

    kind: TrenchOfKind
    takes: float
    laid: bool = False
    settled: bool = False


def holding(
    lot: PreparedLot,
    compared: list[TrenchOfKind],
    *,
    priced: bool,
    begun: BegunOnSite = lambda *_: None,
) -> list[TrenchOfKind]:
    """The kind that takes least with its header as laid out; others that were laid out for it.

    Those are left out that the lot does not hold, or that take more without their header. ``begun``
    hears of a first layout of a kind that is laid out until its length agrees with what it needs.
    """
    # only where no kind lies in blocks
    laid = _laid(_Weighing(lot, "even", priced=priced, begun=begun), compared) or _laid(
        _Weighing(lot, "filling", priced=priced, begun=begun), compared
    )
    return [weighed.kind for weighed in laid]


def _laid(weigh: _Weighing, kinds: list[TrenchOfKind]) -> list[_Weighed]:
    """Kinds in one arrangement that the lot holds, the first settled; empty where it holds none.

    What may take least is looked at more closely, until that is settled: laying out what each needs
    as it is laid out takes as long again.
    """
    lacking: list[TrenchOfKind] = []
    waiting = [weigh.unseen(kind) for kind in kinds]
    while waiting:
        waiting.sort(key=lambda weighed: round(weighed.takes, 6))
        first = waiting.pop(0)
        if first.settled:
            return [first, *(other for other in waiting if other.laid)]
        kind = first.kind
        if any(_is_no_easier(weigh.lot, kind, other) for other in lacking):
            continue
        # to fill the ground takes ten times as long: there the first that holds enough is taken;
        # and a price told is that of what holds enough
        dear = weigh.arrangement == "filling"
        closer = weigh.settled(kind) if first.laid or dear or weigh.priced else weigh.laid(kind)
        if closer is None:
            lacking.append(kind)
        elif dear:
            return [closer]
        else:
            waiting.append(closer)
    return []


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


def _most(lot: PreparedLot, kind: TrenchOfKind) -> float:
    """Length that no trenches of a kind exceed on the lot [m]."""
    options = staked(dug_as(lot, kind.options).site.exchanger).horizontal
    return most_trench(_ground(lot, kind), options)


def _ground(lot: PreparedLot, kind: TrenchOfKind) -> Ground:
    """Where trenches of a kind may lie."""
    return prepare(dug_as(lot, kind.options), record_of(SYSTEM).ground).ground


@dataclass(frozen=True, slots=True)
class _Weighing:
    """What kinds of trench are weighed by: the lot, how they lie on it, and price or work.

    ``begun`` hears of a first layout before one is looked for that agrees with its length.
    """

    lot: PreparedLot
    arrangement: TrenchArrangement
    priced: bool
    begun: BegunOnSite

    def unseen(self, kind: TrenchOfKind) -> _Weighed:
        """A kind of which nothing is laid out."""
        if self.priced:
            return _Weighed(kind, kind.least_cost or 0.0)
        if self.arrangement != "even":
            return _Weighed(kind, kind.work_m3)
        fewest = math.ceil(kind.length_m / (kind.options.longest_m or math.inf) - TOLERANCE)
        header_m = least_header(fewest, kind.options.spacing_m)
        return _Weighed(kind, kind.work_m3 + header_m * self._header_section())

    def laid(self, kind: TrenchOfKind) -> _Weighed | None:
        """A kind as first laid out; None where the lot does not hold it or a price is missing."""
        if self._is_hopeless(kind):
            return None
        there = self._there(kind)
        try:
            first = self._first(there)
            if first is None:
                return None
            required, made = first
            required = required_there(there.site, made.layout, made.ground) or required
        except DemandError:
            return None
        return self._of(kind, there, required, made)

    def settled(self, kind: TrenchOfKind) -> _Weighed | None:
        """A kind laid out as long as it needs there; None where the lot does not hold it."""
        if self._is_hopeless(kind):
            return None
        there = self._there(kind)
        try:
            first = self._first(there)
            if first is None:
                return None
            begun = partial(self.begun, there.site)
            required, made = settled(there, first[0], SYSTEM, begun)
        except DemandError:
            return None
        if made.layout.obstacle or made.layout.length_m < required.length_m - TOLERANCE:
            return None
        weighed = self._of(kind, there, required, made)
        return weighed and replace(weighed, settled=True)

    def _is_hopeless(self, kind: TrenchOfKind) -> bool:
        """Whether no arrangement holds what a kind needs at the least, from whatever entry."""
        return _most(self.lot, kind) < kind.length_m - TOLERANCE

    def _there(self, kind: TrenchOfKind) -> PreparedLot:
        # looking for a field off the front yard takes longer than all else, and moves all alike
        options = replace(kind.options, arrangement=self.arrangement)
        # from the entries that the plan takes: what is laid out here need not be laid out again
        there = entered(dug_as(self.lot, options), SYSTEM, kind.length_m)
        return replace(there, draft=True)

    def _first(self, there: PreparedLot) -> tuple[Required, Attempt] | None:
        """The least required and a layout of that; None where the lot does not hold it."""
        required = required_of(there.site.exchanger, SYSTEM)
        if required is None or not _may_hold(there, required.length_m):
            return None
        # as laid out it needs no less: what does not hold the least is not joined to circuits
        made = attempt(there, SYSTEM, required.length_m)
        return None if made.layout.obstacle else (required, made)

    def _of(
        self, kind: TrenchOfKind, there: PreparedLot, required: Required, made: Attempt
    ) -> _Weighed | None:
        header, wanted = made.layout.header, there.site.exchanger
        if header is None:
            return None
        kind = of_kind(self.lot.site, kind.options, required.length_m)
        # header is dug as well: a kind with short trenches far apart pays here
        if not self.priced:
            takes = kind.work_m3 + header.length_m * self._header_section()
            return _Weighed(kind, takes, laid=True)
        piped = with_pipes(made.layout, wanted, required.flow_m3s, ground=made.ground)
        cost = cost_of(there.site, piped)
        if cost is None or not cost.tells:
            return None
        return _Weighed(replace(kind, cost=cost), cost.middle, laid=True)

    def _header_section(self) -> float:
        """Soil dug for each metre of header [m3]."""
        header = self.lot.site.exchanger.piping.header
        return header.depth_m * header.width_m


def _may_hold(lot: PreparedLot, length_m: float) -> bool:
    """Whether it is worth looking: straight rows hold so much, where the ground is to be filled."""
    even = lot.site.exchanger.horizontal.arrangement == "even"
    return even or capacity_of(lot, SYSTEM) >= length_m - TOLERANCE


def nearest(lot: PreparedLot, compared: list[TrenchOfKind]) -> TrenchOfKind:
    """Kind of which the lot may hold the greatest share; of equals the one of least work."""
    return max(compared, key=lambda kind: round(_most(lot, kind) / kind.length_m, 6))


def dug_as(lot: PreparedLot, options: HorizontalOptions) -> PreparedLot:
    """The lot with such trenches."""
    return lot.with_exchanger(replace(lot.site.exchanger, horizontal=options))
