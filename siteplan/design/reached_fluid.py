"""A layout with its pipes, and the fluid in them as cold and as warm as its length keeps it."""

from __future__ import annotations

from dataclasses import replace

from siteplan.demand.model import Required
from siteplan.demand.reached import fluid_reached
from siteplan.demand.required import laid_out
from siteplan.heat_balance import design_balances
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.site.energy import Fluid
from siteplan.site.model import Exchanger


def with_pipes_and_fluid(
    layout: Layout, exchanger: Exchanger, required: Required, ground: Ground | None
) -> Layout:
    """The layout with its pipes, whose fluid is no colder and no warmer than it will be there.

    Pipes are sized, and lengths calculated, for the temperatures that are asked for. Where the
    length laid out keeps the fluid nearer to the ground, what is told of it is told as it will be.
    """
    piped = with_pipes(layout, exchanger, required.flow_m3s, ground=ground)
    hydraulics = piped.piping.hydraulics if piped.piping is not None else None
    if hydraulics is None or required.basis != "calculated" or exchanger.energy is None:
        return piped
    if piped.length_m < required.length_m:
        return piped
    fluid = fluid_reached(exchanger, layout.system, laid_out(piped), piped.length_m)
    if fluid is None or fluid == exchanger.energy.fluid:
        return piped
    there = _with_fluid(exchanger, fluid)
    if fluid.coldest_c != exchanger.energy.fluid.coldest_c:
        warmer = with_pipes(layout, there, required.flow_m3s, ground=ground)
        # the length was calculated for these circuits
        if _circuits(warmer) == _circuits(piped):
            return warmer
    assert piped.piping is not None
    hydraulics = replace(hydraulics, balances=design_balances(there))
    return replace(piped, piping=replace(piped.piping, hydraulics=hydraulics))


def _circuits(layout: Layout) -> list[tuple[str, tuple[str, ...]]]:
    return [(circuit.pipe, circuit.elements) for circuit in layout.circuits]


def _with_fluid(exchanger: Exchanger, fluid: Fluid) -> Exchanger:
    """The same exchanger with a fluid of other temperatures."""
    energy, piping = exchanger.energy, exchanger.piping
    assert energy is not None
    told = piping.fluid
    if told is not None:
        told = replace(told, coldest_c=fluid.coldest_c, warmest_c=fluid.warmest_c)
    return replace(
        exchanger, energy=replace(energy, fluid=fluid), piping=replace(piping, fluid=told)
    )
