"""A loop that carries less than the coldest hours ask, with other heat for the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from siteplan.alternatives.screening import held_with_less, may_hold
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Reason, reason
from siteplan.site.loop_options import options_of
from siteplan.site.model import Exchanger, GivenLength, System

CARRIED: Final = 0.8
"""Share of the design heating load that the loop is left with; common practice, no source [-]."""


def backup_heat(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    """Backup heat for the last fifth of the design load, where the lot holds what is then needed.

    Calculated again where loads are stated: the peak falls, and the heat of the year stays, since
    the coldest hours are few; that errs to the long side. A length that somebody gave is scaled.
    """
    system, wanted = trial.system, lot.site.exchanger
    eased = _eased(wanted, system)
    if eased is None or trial.required is None:
        return
    # what cannot hold the square of the share holds no length calculated with it: a quick no
    if not may_hold(lot.with_exchanger(eased), system, CARRIED**2 * trial.required.length_m):
        return
    found = held_with_less(lot, trial, eased)
    if found is None:
        return
    needed, there = found
    code = {"calculated": "backup-heat", "given": "backup-heat-scaled"}.get(
        needed.basis, "backup-heat-screened"
    )
    yield reason(
        code,
        carried=CARRIED,
        rest=1 - CARRIED,
        length_m=there.length_m,
        screened=there.screened,
    )


def _eased(wanted: Exchanger, system: System) -> Exchanger | None:
    """What is wanted with less heating; None where no heating is stated."""
    options = options_of(wanted, system)
    own: GivenLength | None = options.length if options is not None else None
    if own is not None:
        less = replace(own, length_m=CARRIED * own.length_m)
        return replace(wanted, **{system: replace(getattr(wanted, system), length=less)})
    if wanted.length is not None:
        return replace(
            wanted, length=replace(wanted.length, length_m=CARRIED * wanted.length.length_m)
        )
    if wanted.energy is not None:
        loads = wanted.energy.loads
        if loads.heating_w <= 0:
            return None
        # the same heat in a year, in more hours at the smaller load
        less_peak = replace(
            loads,
            heating_w=CARRIED * loads.heating_w,
            heating_hours=loads.heating_hours / CARRIED,
        )
        return replace(wanted, energy=replace(wanted.energy, loads=less_peak))
    if wanted.capacity_w is not None:
        return replace(wanted, capacity_w=CARRIED * wanted.capacity_w)
    return None
