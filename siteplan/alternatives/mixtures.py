"""Another mixture, where the fluid comes too near to freezing or no book allows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteplan.advisories.bound_codes import FLUID_NOT_ALLOWED
from siteplan.advisories.pipes import FREEZING
from siteplan.alternatives.screening import screened
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.findings.model import Reason, reason
from siteplan.site.model import Exchanger, System


@dataclass(frozen=True, slots=True)
class Mixed:
    """A lot with another fluid, a loop type as tried there, and what was changed."""

    lot: PreparedLot
    trial: Trial
    told: Reason


def other_fluid(trial: Trial) -> Iterator[Reason]:
    """Another mixture, where nothing but the fluid stops a loop type."""
    errors = {finding.code for finding in trial.findings if finding.severity == "error"}
    other = _other(trial)
    if errors <= {FREEZING, FLUID_NOT_ALLOWED} and other is not None:
        yield other


def mixed_otherwise(lot: PreparedLot, trial: Trial) -> Mixed | None:
    """A loop type on its lot in a mixture that will do; None where its own does, or none is known.

    Trenches are not laid out again: only the length they need is worked out anew.
    """
    told = _other(trial)
    if told is None or trial.required is None:
        return None
    mixture = str(told.values["mixture"])
    mixed = lot.with_exchanger(_with_mixture(lot.site.exchanger, mixture))
    if not screened(trial.system):
        return Mixed(mixed, try_system(mixed, trial.system), told)
    before, after = _length(lot, trial.system), _length(mixed, trial.system)
    if not before or not after:
        return None
    required = replace(trial.required, length_m=trial.required.length_m * after / before)
    return Mixed(mixed, replace(trial, required=required), told)


def _other(trial: Trial) -> Reason | None:
    """What the findings on the fluid say of another mixture: allowed, and strong enough."""
    banned = [finding for finding in trial.findings if finding.code == FLUID_NOT_ALLOWED]
    if banned:
        mend = banned[0].values["mend"]
        names = mend.values["names"] if isinstance(mend, Reason) else ()
        first = names[0] if isinstance(names, tuple) and names else None
        return None if first is None else reason("stronger-mixture", mixture=str(first))
    freezing = next((finding for finding in trial.findings if finding.code == FREEZING), None)
    ways = freezing.values["ways"] if freezing is not None else ()
    named = (way for way in ways if isinstance(way, Reason)) if isinstance(ways, tuple) else ()
    return next((way for way in named if way.code == "stronger-mixture"), None)


def _with_mixture(wanted: Exchanger, mixture: str) -> Exchanger:
    energy, fluid = wanted.energy, wanted.piping.fluid
    if fluid is not None:
        piping = replace(wanted.piping, fluid=replace(fluid, mixture=mixture))
        wanted = replace(wanted, piping=piping)
    if energy is not None:
        energy = replace(energy, fluid=replace(energy.fluid, mixture=mixture))
        wanted = replace(wanted, energy=energy)
    return wanted


def _length(lot: PreparedLot, system: System) -> float:
    """Length required before anything is laid out; 0 where none is enough or nothing says [m]."""
    try:
        required = required_of(lot.site.exchanger, system)
    except DemandError:
        return 0.0
    return 0.0 if required is None else required.length_m
