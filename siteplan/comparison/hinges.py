"""What a loop type hinges on: whose word its size is, what it assumes, what is warned."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.advisories.bound_codes import FLUID_NOT_ALLOWED
from siteplan.advisories.pipes import FREEZING
from siteplan.advisories.remarks import USE_ASSUMED
from siteplan.alternatives.assumptions import FIGURES, moved_changes
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Reason, reason
from siteplan.layout.elements import Well
from siteplan.site.options.declared import declared

MOST_NAMED: Final = 2
"""So many assumed figures are named, those that move the length most."""
LEAST_MOVED: Final = 0.02
"""What moves the length by less is not worth a word [-]."""


def hinges_of(lot: PreparedLot, trial: Trial) -> tuple[Reason, ...]:
    """What a loop type hinges on, a few words each, what matters most first."""
    return tuple(_hinges(lot, trial))


def _hinges(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    required, layout = trial.required, trial.layout
    if required is None or layout is None:
        return
    faults = {finding.code for finding in trial.findings if finding.severity == "error"}
    if FREEZING in faults:
        yield reason("hinges-on-fluid")
    if FLUID_NOT_ALLOWED in faults:
        yield reason("hinges-on-fluid-allowed")
    if required.basis == "screening":
        yield reason("hinges-on-screening", span=required.span)
    elif required.basis == "given" and required.reason.values.get("by"):
        yield reason("hinges-on-word", by=required.reason.values["by"])
    names = tuple(_assumed(lot, trial))
    if names:
        yield reason("hinges-on-assumed", names=names[:MOST_NAMED])
    if layout.of(Well):
        yield reason("hinges-on-yield")
    taken = tuple(finding for finding in trial.findings if finding.code == USE_ASSUMED)
    if taken:
        ids = tuple(finding.subject for finding in taken)
        yield reason("hinges-on-use", ids=ids, use=taken[0].values["use"])
    warnings = sum(finding.severity == "warning" for finding in trial.findings)
    if warnings:
        yield reason("hinges-on-warnings", count=warnings)


def _assumed(lot: PreparedLot, trial: Trial) -> list[str]:
    """Names of the figures assumed that move a calculated length, what moves it most first."""
    if trial.required is None or trial.required.basis != "calculated":
        return []
    moved = {path: _moved(lot, trial, path) for path in lot.site.exchanger.assumed}
    ordered = sorted(moved, key=lambda path: -round(moved[path], 6))
    return [declared(path).bears for path in ordered if moved[path] >= LEAST_MOVED]


def _moved(lot: PreparedLot, trial: Trial, path: str) -> float:
    """By how much the length moves at most with a figure a tenth, or 2 K, off [-]."""
    get, _ = FIGURES[path]
    if not isinstance(get(lot.site.exchanger), (int, float)):
        return 0.0
    changes = moved_changes(lot, trial, path)
    # where no length is enough nothing moves it more
    return max(float("inf") if change is None else abs(change) for change in changes)
