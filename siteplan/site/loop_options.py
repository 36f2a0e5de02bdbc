"""What a site file says of a loop type, asked for by its name."""

from __future__ import annotations

from typing import Protocol

from siteplan.site.machines import Machine
from siteplan.site.model import Exchanger, GivenLength, System
from siteplan.vocabulary.loop_types import loop_type


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


def apart_of(exchanger: Exchanger, system: System) -> float:
    """Least distance between the elements of a loop type; 0 where none is asked for [m]."""
    options = options_of(exchanger, system)
    return options.apart_m if options is not None else 0.0


def machine_of(exchanger: Exchanger, system: System) -> Machine | None:
    """Machine that must come in for a loop type; None where none must or it is not asked for."""
    machines: dict[str, Machine | None] = {"rig": exchanger.rig, "excavator": exchanger.excavator}
    return machines.get(loop_type(system).machine)
