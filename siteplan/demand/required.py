"""Exchanger length required of a loop type: given by somebody, calculated, or screened per ton."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.resources import files
from typing import Any, Final

from siteplan.demand.calculated import required_bores
from siteplan.demand.calculated_trench import climate_of, required_trench
from siteplan.demand.calculated_water import required_flow, required_pond
from siteplan.demand.fluid_side import Flows
from siteplan.demand.model import DemandError, Required
from siteplan.demand.pond_figures import year_figures
from siteplan.findings.model import reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.heat_balance import loop_flow
from siteplan.hydraulics.fluids import FluidRangeError
from siteplan.hydraulics.pipes import Pipe, circuit_sizes, pipes
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.model import Layout
from siteplan.site.energy import Energy
from siteplan.site.loop_options import options_of
from siteplan.site.model import (
    Exchanger,
    System,
)
from siteplan.site.pond_bodies import PlateFrame
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.lengths import TON, parse_flow, parse_length
from siteplan.vocabulary.loop_types import loop_type

USUAL_PIPE = "3/4 in"
"""Pipe of trenches and coils where the site file names none; common practice, no source."""
SCREENED_PIPES = 2
"""The screening length of trench holds for two pipes in a trench only."""


@dataclass(frozen=True, slots=True)
class LaidOut:
    """What a calculated length takes account of once something is laid out.

    Parameters
    ----------
    bores
        Where they stand; empty: far from one another.
    pipe
        Nominal size of the circuits' pipe; empty: as asked for, or usual.
    circuit_flow_m3s
        Flow of a circuit; None: not known, that of the fewest circuits is taken [m3/s].
    """

    bores: tuple[Bore, ...] = ()
    pipe: str = ""
    circuit_flow_m3s: float | None = None


NOT_YET: Final = LaidOut()
"""Nothing is laid out."""


def laid_out(layout: Layout) -> LaidOut:
    """What of a layout with its pipes a calculated length takes account of."""
    hydraulics = layout.piping.hydraulics if layout.piping is not None else None
    return LaidOut(
        bores=layout.of(Bore),
        pipe=layout.circuits[0].pipe if layout.circuits else "",
        circuit_flow_m3s=None if hydraulics is None else hydraulics.circuit_flow_m3s,
    )


@cache
def _screening() -> dict[str, Any]:
    text = files("siteplan.demand").joinpath("screening.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def required_of(
    exchanger: Exchanger,
    system: System,
    *,
    laid: LaidOut = NOT_YET,
) -> Required | None:
    """What the exchanger must hold, or None where the site file does not say enough.

    What somebody has given comes first, then what can be calculated, then screening.

    Parameters
    ----------
    exchanger
        What is wanted.
    system
        Loop type.
    laid
        What is laid out: a calculated length takes account of where bores stand, and of the film
        in the pipe of the circuits.

    Raises
    ------
    DemandError
        Loads, ground and fluid stated allow no length of this loop type.
    """
    if loop_type(system).flow:
        return _flow(exchanger, system)
    options = options_of(exchanger, system)
    # the designer's own figure wins: somebody answers for it
    given = (options.length if options is not None else None) or exchanger.length
    if given is not None:
        told = reason("given-length", length_m=given.length_m, by=given.by)
        return Required(given.length_m, "given", told)
    if exchanger.energy is not None:
        calculated = _calculated(exchanger, system, laid)
        if calculated is not None:
            return calculated
    # screening last, and only what its figures were made for: of other trenches nothing is known
    if exchanger.capacity_w is None or not _screenable(exchanger, system):
        return None
    table = _screening().get(system)
    return None if table is None else _screened(exchanger.capacity_w, table)


def _screened(capacity_w: float, table: Mapping[str, Any]) -> Required:
    """Length by common practice per ton, the greater end of its range."""
    least, most = (parse_length(text, "m") / TON for text in table["range"])
    known = [parse_length(text, "m") / TON for text in table.get("calculated", ())]
    span = (min(least, *known), max(most, *known)) if known else (least, most)
    beyond = {"least_m_w": known[0], "most_m_w": known[1]} if known else {}
    told = reason(
        "screening-of-length",
        capacity_w=capacity_w,
        of=table["of"],
        most_m_w=most,
        beyond=reason("calculated-lengths", **beyond) if beyond else None,
        **{"from": reason("from-least-length", least_m_w=least) if least < most else None},
    )
    spans = (span[0] * capacity_w, span[1] * capacity_w)
    return Required(most * capacity_w, "screening", told, span_m=spans)


def _calculated(exchanger: Exchanger, system: System, laid: LaidOut) -> Required | None:
    """Calculated length of a loop type, None where the site file does not tell enough."""
    calculation = CALCULATIONS.get(loop_type(system).kind)
    if calculation is None or exchanger.energy is None:
        return None
    with _told_as("no-length-is-enough"):
        return calculation(exchanger, exchanger.energy, laid)


@contextmanager
def _told_as(code: str) -> Iterator[None]:
    """What makes a calculation fail, within a sentence that says what is not enough."""
    try:
        yield
    except FluidRangeError as error:
        limits = {"at_c": error.at_c, "least_c": error.least_c, "most_c": error.most_c}
        because = reason("fluid-not-known-at", fluid=error.fluid, **limits)
        raise DemandError(reason(code, because=because)) from error
    except DemandError as error:
        raise DemandError(reason(code, because=error.reason)) from error


Calculation = Callable[[Exchanger, Energy, LaidOut], Required | None]
"""Length from what is wanted, loads and ground, for what is laid out."""


def _of_bores(exchanger: Exchanger, energy: Energy, laid: LaidOut) -> Required | None:
    vertical, asked, flows = exchanger.vertical, exchanger.piping.circuits, _flows(exchanger, laid)
    calculate = partial(required_bores, energy, vertical.diameter_m, laid.bores)

    def fewest(length_m: float) -> int:
        bores = max(vertical.count or 1, math.ceil(length_m / vertical.depth_most_m - TOLERANCE))
        return asked.count or math.ceil(bores / asked.bores)

    return _before_circuits(calculate, flows, fewest)


def _of_coils(exchanger: Exchanger, energy: Energy, laid: LaidOut) -> Required | None:
    flows = _flows(exchanger, laid)
    required = required_pond(energy, exchanger.pond, _pipe(exchanger, laid), flows=flows)
    figures = (*required.figures, *year_figures(exchanger.pond.year))
    return replace(required, figures=figures)


def _of_trenches(exchanger: Exchanger, energy: Energy, laid: LaidOut) -> Required | None:
    climate = climate_of(energy, exchanger.ground_year)
    if climate is None:
        return None
    flows, asked, options = (
        _flows(exchanger, laid),
        exchanger.piping.circuits,
        exchanger.horizontal,
    )
    pipe_per_m = trench_kinds()[options.kind].pipe_per_m

    def needed(pipe: Pipe) -> Required:
        def fewest(length_m: float) -> int:
            limit_m = asked.longest_m or pipe.circuit_m
            return asked.count or math.ceil(pipe_per_m * length_m / limit_m - TOLERANCE)

        calculate = partial(required_trench, energy, climate, options, pipe)
        return _before_circuits(calculate, flows, fewest)

    known = [_pipe(exchanger, laid)] if flows.circuit_m3s is not None else _sizes(exchanger)
    return min(map(needed, known), key=lambda each: each.length_m)


def _before_circuits(
    calculate: Callable[..., Required], flows: Flows, fewest: Callable[[float], int]
) -> Required:
    """What is required; where circuits are not known yet, the least that any of them need.

    The fluid runs fastest in the fewest circuits that carry so much, and slower in more.
    """
    required, circuits = calculate(flows=flows), 0
    if flows.circuit_m3s is not None or flows.loop is None:
        return required
    while (number := fewest(required.length_m)) > circuits:
        circuits = number
        there = calculate(flows=replace(flows, circuit_m3s=flows.loop.flow_m3s / circuits))
        required = max(there, required, key=lambda each: each.length_m)
    return required


def _sizes(exchanger: Exchanger) -> list[Pipe]:
    """Pipe asked for; else the usual one, and those that longer loops through trenches take."""
    if exchanger.piping.circuits.pipe:
        return [pipes()[exchanger.piping.circuits.pipe]]
    sizes = list(circuit_sizes())
    larger = sizes[sizes.index(USUAL_PIPE) :]
    trench = trench_kinds()[exchanger.horizontal.kind]
    # out through one trench and home, in the same or in another
    loop_m = 2 * trench.pipe_per_m / trench.pipes * (exchanger.horizontal.longest_m or math.inf)
    short = sum(pipes()[size].circuit_m < loop_m for size in larger)
    return [pipes()[size] for size in larger[: short + 1]]


def _pipe(exchanger: Exchanger, laid: LaidOut) -> Pipe:
    """Pipe of the circuits as laid out; before that, as asked for or usual."""
    return pipes()[laid.pipe or exchanger.piping.circuits.pipe or USUAL_PIPE]


def _flows(exchanger: Exchanger, laid: LaidOut) -> Flows:
    return Flows(laid.circuit_flow_m3s, loop_flow(exchanger))


CALCULATIONS: Final[dict[str, Calculation]] = {
    Trench.kind: _of_trenches,
    Bore.kind: _of_bores,
    Coil.kind: _of_coils,
}
"""How the length of elements of each kind is calculated, where it can be."""


def _screenable(exchanger: Exchanger, system: System) -> bool:
    kind = loop_type(system).kind
    if kind == Coil.kind:
        # so much pipe a ton says nothing of plates
        return not isinstance(exchanger.pond.body, PlateFrame)
    return kind != Trench.kind or exchanger.horizontal.pipes == SCREENED_PIPES


def _flow(exchanger: Exchanger, system: System) -> Required | None:
    stated_m3s = exchanger.open.flow_m3s
    if stated_m3s is not None:
        return Required(0.0, "given", reason("given-flow", flow_m3s=stated_m3s), stated_m3s)
    if exchanger.energy is not None:
        with _told_as("no-flow-is-enough"):
            return required_flow(exchanger.energy, exchanger.open.aquifer.temperature_c)
    if exchanger.capacity_w is None:
        return None
    least, most = (parse_flow(text) / TON for text in _screening()[system]["range"])
    told = reason(
        "screening-of-flow",
        capacity_w=exchanger.capacity_w,
        least_m3s_w=least,
        most_m3s_w=most,
    )
    return Required(0.0, "screening", told, most * exchanger.capacity_w)
