"""A smaller machine, or a way in for it, as a remedy, laid out and checked before it is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from siteplan.alternatives.screening import Held, fits_with
from siteplan.available.access import machine_of, what_stops
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Reason, reason
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.site.lent import ground_to_drive
from siteplan.site.machines import ExcavatorOptions, Machine
from siteplan.site.model import System
from siteplan.units.lengths import FOOT

LEAST_BEYOND_M2: Final = 10.0
"""Less open ground than this that no machine gets to is a corner, and no yard [m2]."""


@dataclass(frozen=True, slots=True)
class RigSize:
    """Width, length and turning radius of a machine [m]."""

    width_m: float
    length_m: float
    turning_m: float


SMALLER: Final = (
    RigSize(7 * FOOT, 20 * FOOT, 20 * FOOT),
    RigSize(6 * FOOT, 16 * FOOT, 10 * FOOT),
    RigSize(5 * FOOT, 12 * FOOT, 0.0),
)
"""Rigs that are proposed, the largest first: a short truck, a compact and a small track rig that
turns on the spot; common practice, no source."""
SMALLER_EXCAVATORS: Final = (
    RigSize(5 * FOOT, 12 * FOOT, 0.0),
    RigSize(3.5 * FOOT, 9 * FOOT, 0.0),
)
"""Excavators that are proposed: a small and a micro excavator; common practice, no source."""
SMALL_BOOM_M: Final = 8 * FOOT
"""What such an excavator's bucket gets beyond it; common practice, no source [m]."""


def smaller_rig(lot: PreparedLot, drawn: Trial) -> Reason | None:
    """A smaller machine with which a trial fits; None where none was found."""
    machine = machine_of(lot.site, drawn.system)
    if machine is None or drawn.layout is None or drawn.layout.access is None:
        return None
    # the machine took nothing from this lot: a smaller one would give nothing back
    if not drawn.layout.access.because:
        return None
    # the largest first: the driller keeps as much of the rig as the lot lets
    for size in SMALLER if machine.kind == "rig" else SMALLER_EXCAVATORS:
        if size.width_m > machine.width_m - TOLERANCE:
            continue
        smaller = _sized(machine, size)
        required_m = drawn.required.length_m if drawn.required is not None else 0.0
        held = fits_with(_with_machine(lot, smaller), drawn.system, required_m)
        if held is not None:
            return _proposed(smaller, held)
    return None


def way_for_machine(lot: PreparedLot, drawn: Trial) -> Reason | None:
    """A way in for the machine, where it fits once that gets everywhere; None where it does not."""
    machine = machine_of(lot.site, drawn.system)
    access = drawn.layout.access if drawn.layout is not None else None
    if machine is None or access is None or access.because is None or drawn.required is None:
        return None
    wanted = lot.site.exchanger
    anywhere = lot.with_exchanger(replace(wanted, rig=None, excavator=None))
    held = fits_with(anywhere, drawn.system, drawn.required.length_m)
    if held is None:
        return None
    return reason(
        "way-for-machine", machine=machine.kind, because=access.because, screened=held.screened
    )


def beyond_reach(lot: PreparedLot, system: System) -> tuple[PreparedLot, Reason] | None:
    """The lot as if its machine got everywhere, and the way in that this takes.

    None where no machine has to come, or it gets to all of the open ground as it is.
    """
    ground = lot.machine_ground(system)
    if ground is None:
        return None
    site = lot.site
    on_lot = ground.free.intersection(ground_to_drive(site.parcel, site.features))
    missed = on_lot.difference(grow(ground.reach.area, ground.machine.length_m))
    if missed.area < LEAST_BEYOND_M2:
        return None
    opened = lot.with_exchanger(replace(site.exchanger, rig=None, excavator=None))
    because = what_stops(site, ground, missed)
    return opened, reason("way-in-besides", machine=ground.machine.kind, because=because)


def _proposed(smaller: Machine, held: Held) -> Reason:
    turns = reason("turning-on-the-spot")
    if smaller.turning_m > 0:
        turns = reason("turning-on", turning_m=smaller.turning_m)
    return reason(
        "smaller-machine",
        machine=smaller.kind,
        width_m=smaller.width_m,
        length_m=smaller.length_m,
        turns=turns,
        screened=held.screened,
    )


def _sized(machine: Machine, size: RigSize) -> Machine:
    smaller = replace(
        machine,
        width_m=size.width_m,
        length_m=min(size.length_m, machine.length_m),
        turning_m=min(size.turning_m, machine.turning_m),
    )
    if isinstance(smaller, ExcavatorOptions):
        return replace(smaller, boom_m=min(smaller.boom_m, SMALL_BOOM_M))
    return smaller


def _with_machine(lot: PreparedLot, machine: Machine) -> PreparedLot:
    wanted = lot.site.exchanger
    if isinstance(machine, ExcavatorOptions):
        return lot.with_exchanger(replace(wanted, excavator=machine))
    return lot.with_exchanger(replace(wanted, rig=machine))
