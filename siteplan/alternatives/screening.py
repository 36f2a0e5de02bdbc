"""Whether a change makes a loop type fit: cheap bounds first, a whole trial only where they let."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.design.converge import foreseen
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.lay_out import capacity_of
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.few import holds_none_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.upright import freely_may_hold
from siteplan.layout.counting import HEADER_SHARE
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.header.router import reachable_area
from siteplan.preferences.table import figure_of
from siteplan.site.model import Exchanger, System
from siteplan.vocabulary.loop_types import loop_type

SMALL_M = figure_of("alternatives.screening.small_m")


def may_hold(lot: PreparedLot, system: System, required_m: float) -> bool:
    """Whether no proven bound says that an arrangement cannot hold so much of a loop type [m]."""
    wanted = lot.site.exchanger
    area = reachable_area(prepare(lot, record_of(system).ground).ground)
    if area.is_empty:
        return False
    kind = loop_type(system).kind
    if kind == Bore.kind:
        options = wanted.vertical
        bores = math.ceil(required_m / options.depth_most_m - TOLERANCE)
        spacing = options.spacing_m
        return bores <= packing_bound(area, spacing) and not holds_none_of(area, bores, spacing)
    if kind == Trench.kind:
        # each trench has a strip as wide as the spacing for itself, on the ground widened by half
        apart = wanted.horizontal.spacing_m
        return float(area.buffer(apart / 2).area) / apart >= required_m - TOLERANCE
    return True


@dataclass(frozen=True, slots=True)
class Held:
    """That a changed lot holds a loop type, with the length required there [m].

    ``screened`` says so where it was not laid out.
    """

    length_m: float
    screened: Reason | None = None


def fits_with(lot: PreparedLot, system: System, required_m: float) -> Held | None:
    """Length required on a changed lot that holds it; None where it does not.

    It is laid out and checked, trenches first in even blocks, which are quick to find. Where those
    do not hold enough, and straight rows hold as much more as a header takes, they are not laid
    out, and what is proposed says that it is a screening.
    """
    if not may_hold(lot, system, required_m):
        return None
    if not screened(system):
        return _laid_out(lot, system) if _may_hold_drafted(lot, system) else None
    wanted = lot.site.exchanger
    even = replace(wanted, horizontal=replace(wanted.horizontal, arrangement="even"))
    held = _laid_out(lot.with_exchanger(even), system)
    if held is not None:
        return held
    if required_m <= SMALL_M:
        # so little trench is laid out in no time, with bends too
        return _laid_out(lot, system)
    if capacity_of(lot, system) >= HEADER_SHARE * required_m - TOLERANCE:
        return Held(required_m, reason("screened-in-rows"))
    return None


def held_with_less(
    lot: PreparedLot, trial: Trial, eased: Exchanger
) -> tuple[Required, Held] | None:
    """What smaller loads need, and that the lot holds it; None where it is no less or not held."""
    assert trial.required is not None
    try:
        needed = required_of(eased, trial.system)
    except DemandError:
        return None
    if needed is None or needed.length_m >= trial.required.length_m:
        return None
    held = fits_with(lot.with_exchanger(eased), trial.system, needed.length_m)
    return None if held is None else (needed, held)


def _may_hold_drafted(lot: PreparedLot, system: System) -> bool:
    """Whether there may be room for what is needed of drafts, which are quick to lay out."""
    required, vertical = required_of(lot.site.exchanger, system), lot.site.exchanger.vertical
    given = vertical.stated or vertical.as_typed or vertical.pad is not None
    if required is None or given or loop_type(system).kind != Bore.kind:
        return True
    needed_m, held = foreseen(lot, required, system)
    bores, in_rows = (
        math.ceil(length_m / vertical.depth_most_m - TOLERANCE)
        for length_m in (needed_m, capacity_of(lot, system))
    )
    return held or (freely_may_hold(bores, in_rows) and may_hold(lot, system, needed_m))


def _laid_out(lot: PreparedLot, system: System) -> Held | None:
    trial = try_system(lot, system, short=True)
    return Held(trial.required.length_m) if trial.fits and trial.required else None


def screened(system: System) -> bool:
    """Whether changes of a loop type may be screened, not laid out."""
    return loop_type(system).kind == Trench.kind
