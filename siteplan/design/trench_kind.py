"""Which kind of trench is dug where the site file leaves it open: each kind by its own length."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design.converge import settled
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import capacity_of
from siteplan.design.loop_types import record_of
from siteplan.earthwork.bedding import sand_area
from siteplan.earthwork.excavation import section_area
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.trenches.field import most_trench
from siteplan.preferences.table import figure_of
from siteplan.site.model import HorizontalOptions, System, TrenchArrangement
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
        Trench required, its calculated length before anything is laid out [m].
    dug_m3, sand_m3
        Soil dug and sand laid for it [m3].
    pipe_m
        Pipe in it [m].
    """

    options: HorizontalOptions
    length_m: float
    dug_m3: float
    sand_m3: float
    pipe_m: float

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
    """A lot with one kind of trench settled, and the kinds compared, least work first.

    Parameters
    ----------
    lot
        The lot, on which the kind is settled.
    compared
        Every kind of which the length is known; empty where the site file names the kind.
    """

    lot: PreparedLot
    compared: tuple[TrenchOfKind, ...] = ()

    def told(self, trial: Trial) -> Trial:
        """The trial of trenches, with a note of which kind was taken and what the next takes."""
        if len(self.compared) < 2 or trial.system != SYSTEM:
            return trial
        taken = self.lot.site.exchanger.horizontal.kind
        own = next(kind for kind in self.compared if kind.kind == taken)
        others = [kind for kind in self.compared if kind is not own]
        rows = tuple(_row(kind) for kind in others[:MOST_TOLD])
        note = Finding("trench-kind-taken", values={"taken": _row(own), "others": rows})
        return replace(trial, findings=(*trial.findings, note))


def with_trench_kind(lot: PreparedLot, systems: Sequence[System] = (SYSTEM,)) -> KindChoice:
    """The lot with a kind of trench settled: the one of least work that it holds.

    Nothing is compared where trenches are not among the loop types asked for.

    A kind of which even blocks hold the length comes before one whose trenches must fill the
    ground; where no kind fits, it is the one of which the lot holds the greatest share.
    """
    options = lot.site.exchanger.horizontal
    if not options.choices:
        return KindChoice(lot)
    if SYSTEM not in systems:
        return KindChoice(_dug_as(lot, replace(options, choices=())))
    compared = sorted(_kinds(lot), key=lambda kind: round(kind.work_m3, 3))
    if not compared:
        return KindChoice(_dug_as(lot, replace(options, choices=())))
    taken = _holding(lot, compared) or _nearest(lot, compared)
    return KindChoice(_dug_as(lot, taken.options), tuple(compared))


def _row(kind: TrenchOfKind) -> Reason:
    return reason(
        "kind-takes",
        kind=trench_kinds()[kind.kind].words,
        length_m=kind.length_m,
        soil_m3=kind.dug_m3,
        pipe_m=kind.pipe_m,
    )


def _kinds(lot: PreparedLot) -> Iterator[TrenchOfKind]:
    for options in lot.site.exchanger.horizontal.choices:
        try:
            required = required_of(_dug_as(lot, options).site.exchanger, SYSTEM)
        except DemandError:
            continue
        if required is not None:
            yield _of_kind(options, required.length_m)


def _of_kind(options: HorizontalOptions, length_m: float) -> TrenchOfKind:
    return TrenchOfKind(
        options,
        length_m,
        section_area(options) * length_m,
        sand_area(options) * length_m,
        trench_kinds()[options.kind].pipe_per_m * length_m,
    )


def _dug_as(lot: PreparedLot, options: HorizontalOptions) -> PreparedLot:
    return lot.with_exchanger(replace(lot.site.exchanger, horizontal=options))


def _holding(lot: PreparedLot, compared: list[TrenchOfKind]) -> TrenchOfKind | None:
    """Kind of least work with its header that holds what it needs as laid out."""
    able = [kind for kind in compared if _most(lot, kind) >= kind.length_m]
    # filling the ground takes ten times as long to find: only where no kind lies in blocks
    return _least(lot, able, "even") or _least(lot, able, "filling")


def _least(
    lot: PreparedLot, able: list[TrenchOfKind], arrangement: TrenchArrangement
) -> TrenchOfKind | None:
    """Of the kinds that hold what they need in one arrangement, the one of least work."""
    best: TrenchOfKind | None = None
    least = math.inf
    for kind in able:
        # least work without its header comes first: what follows cannot be less
        if kind.work_m3 >= least:
            break
        header = _header_work(lot, replace(kind.options, arrangement=arrangement))
        if header is not None and kind.work_m3 + header < least:
            best, least = kind, kind.work_m3 + header
        if best is not None and arrangement == "filling":
            break
    return best


def _most(lot: PreparedLot, kind: TrenchOfKind) -> float:
    """Length that no trenches of a kind exceed on the lot [m]."""
    there = _dug_as(lot, kind.options)
    ground = prepare(there, record_of(SYSTEM).ground).ground
    return most_trench(ground, there.site.exchanger.staked.horizontal)


def _header_work(lot: PreparedLot, options: HorizontalOptions) -> float | None:
    """Soil dug for the header of trenches [m3]; None where the lot does not hold these."""
    there = _dug_as(lot, options)
    try:
        required = required_of(there.site.exchanger, SYSTEM)
        if required is None or not _may_hold(there, required.length_m):
            return None
        required, made = settled(there, required, SYSTEM)
    except DemandError:
        return None
    layout = made.layout
    if layout.obstacle or layout.header is None:
        return None
    if layout.length_m < required.length_m - TOLERANCE:
        return None
    wanted = there.site.exchanger.piping.header
    return layout.header.length_m * wanted.depth_m * wanted.width_m


def _may_hold(lot: PreparedLot, length_m: float) -> bool:
    """Whether it is worth looking: straight rows hold so much, where the ground is to be filled."""
    even = lot.site.exchanger.horizontal.arrangement == "even"
    return even or capacity_of(lot, SYSTEM) >= length_m - TOLERANCE


def _nearest(lot: PreparedLot, compared: list[TrenchOfKind]) -> TrenchOfKind:
    """Kind of which the lot may hold the greatest share; of equals the one of least work."""
    return max(compared, key=lambda kind: round(_most(lot, kind) / kind.length_m, 6))
