"""A stronger mixture, where the fluid comes too near to freezing whatever is dug."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteplan.advisories.pipes import FREEZING
from siteplan.alternatives.screening import screened
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.findings.model import Reason
from siteplan.site.model import Exchanger, System


@dataclass(frozen=True, slots=True)
class Mixed:
    """A lot whose fluid is mixed stronger, a loop type as tried there, and what was changed."""

    lot: PreparedLot
    trial: Trial
    told: Reason


def other_fluid(trial: Trial) -> Iterator[Reason]:
    """A stronger mixture, where nothing but the fluid stops a loop type."""
    errors = [finding for finding in trial.findings if finding.severity == "error"]
    stronger = _stronger(trial)
    if len(errors) == 1 and stronger is not None:
        yield stronger


def mixed_stronger(lot: PreparedLot, trial: Trial) -> Mixed | None:
    """A loop type on its lot in a mixture strong enough; None where its own is, or none is known.

    Trenches are not laid out again: only the length they need is worked out anew.
    """
    told = _stronger(trial)
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


def _stronger(trial: Trial) -> Reason | None:
    """What the freezing of the fluid says of a stronger mixture."""
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
