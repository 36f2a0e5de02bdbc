"""What a site file says of a loop type, asked for by its name."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from siteplan.site.machines import Machine
from siteplan.site.model import Exchanger, GivenLength, System
from siteplan.vocabulary.loop_types import IN_PONDS, LoopType, loop_type


class LoopOptions(Protocol):
    """What the options of every loop type tell."""

    @property
    def length(self) -> GivenLength | None:
        """Length required of this loop type alone; None where nobody gives one."""

    @property
    def apart_m(self) -> float:
        """Least distance between its elements that is asked for [m]."""

    @property
    def reach_m(self) -> float:
        """How far an element reaches beyond its centre or centre line [m]."""


def options_of(exchanger: Exchanger, system: System) -> LoopOptions | None:
    """Options of a loop type, from the table of its name; None where it has no such table."""
    options: LoopOptions | None = getattr(exchanger, system, None)
    return options


def is_placed(exchanger: Exchanger, system: System) -> bool:
    """Whether somebody gave the very places of a loop type: they are kept, and checked."""
    return bool(getattr(options_of(exchanger, system), "placed", False))


def unplaced(exchanger: Exchanger) -> Exchanger:
    """The exchanger wanted, wherever a plan lays it out: no place is given by hand."""
    bores, wells = exchanger.vertical, exchanger.open
    grid = bores.grid and replace(bores.grid, corner=None, along_deg=None)
    return replace(
        exchanger,
        vertical=replace(bores, places=(), grid=grid),
        open=replace(wells, supply_at=None, return_at=None),
        pond=replace(exchanger.pond, places=()),
        horizontal=replace(exchanger.horizontal, runs=()),
    )


def facts_wanted(exchanger: Exchanger, system: System) -> LoopType:
    """Facts of a loop type, called as what is wanted in a pond."""
    loop = loop_type(system)
    return loop.called_as(exchanger.pond.words) if loop.kind == IN_PONDS else loop


def apart_of(exchanger: Exchanger, system: System) -> float:
    """Least distance between the elements of a loop type; 0 where none is asked for [m]."""
    options = options_of(exchanger, system)
    return options.apart_m if options is not None else 0.0


def staked(exchanger: Exchanger) -> Exchanger:
    """What is laid out: the exchanger wanted, every spacing with the staking allowance on top."""
    more_m, bores, pond = exchanger.allowance_m, exchanger.vertical, exchanger.pond
    widest_m = None if bores.spacing_most_m is None else bores.spacing_most_m + more_m
    trenches, wells = exchanger.horizontal, exchanger.open
    return replace(
        exchanger,
        horizontal=replace(trenches, spacing_m=trenches.spacing_m + more_m),
        vertical=replace(bores, spacing_m=bores.spacing_m + more_m, spacing_most_m=widest_m),
        pond=replace(pond, gap_m=pond.gap_m + more_m, shore_m=pond.shore_m + more_m),
        open=replace(wells, separation_m=wells.separation_m + more_m),
    )


def machine_of(exchanger: Exchanger, system: System) -> Machine | None:
    """Machine that must come in for a loop type; None where none must or it is not asked for."""
    machines: dict[str, Machine | None] = {"rig": exchanger.rig, "excavator": exchanger.excavator}
    return machines.get(loop_type(system).machine)
