"""Whether a change makes a loop type fit: cheap bounds first, a whole trial only where they let."""

from __future__ import annotations

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import try_system
from siteplan.design.lay_out import capacity_of
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.header.router import reachable_area
from siteplan.preferences.table import figure_of
from siteplan.site.model import System
from siteplan.vocabulary.loop_types import loop_type

HEADER_SHARE = figure_of("alternatives.screening.header_share")


def may_hold(lot: PreparedLot, system: System, required_m: float) -> bool:
    """Whether no proven bound says that an arrangement cannot hold so much of a loop type [m]."""
    wanted = lot.site.exchanger
    area = reachable_area(prepare(lot, record_of(system).ground).ground)
    if area.is_empty:
        return False
    kind = loop_type(system).kind
    if kind == Bore.kind:
        options = wanted.vertical
        most = packing_bound(area, options.spacing_m)
        return most * options.depth_most_m >= required_m - TOLERANCE
    if kind == Trench.kind:
        # each trench has a strip as wide as the spacing for itself, on the ground widened by half
        apart = wanted.horizontal.spacing_m
        return float(area.buffer(apart / 2).area) / apart >= required_m - TOLERANCE
    return True


def fits_with(lot: PreparedLot, system: System, required_m: float) -> float | None:
    """Length required [m] on a changed lot that holds it; None where it does not.

    Bores are laid out and checked. Trenches are counted in straight rows, with as much more
    ground as a header takes: laying them out is dear, and what is proposed says that it is a
    screening.
    """
    if not may_hold(lot, system, required_m):
        return None
    if screened(system):
        enough = capacity_of(lot, system) >= HEADER_SHARE * required_m - TOLERANCE
        return required_m if enough else None
    trial = try_system(lot, system)
    return trial.required.length_m if trial.fits and trial.required else None


def screened(system: System) -> bool:
    """Whether changes of a loop type are screened, not laid out."""
    return loop_type(system).kind == Trench.kind


def as_screened(system: System) -> Reason | None:
    """What is said of a change that was screened; None where it was laid out."""
    return reason("screened-in-rows") if screened(system) else None
