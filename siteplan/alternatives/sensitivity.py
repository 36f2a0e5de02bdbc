"""How sure a length is: what it does when conductivity, load or spacing moves by a tenth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from siteplan.available.prepared import PreparedLot
from siteplan.demand.required import laid_out, required_of
from siteplan.design.evaluate import Trial
from siteplan.errors import SitePlanError
from siteplan.heat_balance import loop_flow
from siteplan.layout.elements import Bore
from siteplan.site.energy import Energy
from siteplan.site.model import Exchanger

STEP: Final = 0.1
"""By how much each figure is moved, up and down [-]."""


LEAST_COP: Final = 1.01
"""As the site file takes it."""


@dataclass(frozen=True, slots=True)
class Change:
    """What the length required does when one figure moves.

    Parameters
    ----------
    figure
        Which one, in words.
    lower, higher
        Change of the length when the figure is a tenth lower, a tenth higher [-]; None where no
        length is enough.
    """

    figure: str
    lower: float | None
    higher: float | None


def sensitivity(lot: PreparedLot, trial: Trial) -> tuple[Change, ...]:
    """Changes of a calculated length, empty where the length was not calculated."""
    required, layout = trial.required, trial.layout
    if required is None or required.basis != "calculated" or layout is None:
        return ()
    moves = {"load": _with_load, "COP": _with_cop}
    if layout.loop.spaced:
        moves = {"conductivity": _with_conductivity, **moves, "spacing": _with_spacing}
    if layout.loop.kind == Bore.kind:
        moves["grout conductivity"] = _with_grout
    return tuple(
        Change(figure, *(_change(lot, trial, move, 1 + sign * STEP) for sign in (-1, 1)))
        for figure, move in moves.items()
    )


Move = Callable[[Exchanger, float], Exchanger]


def _change(lot: PreparedLot, trial: Trial, move: Move, factor: float) -> float | None:
    """Change of the length with one figure moved, the layout standing as it is."""
    spread = factor if move is _with_spacing else 1.0
    return length_with(lot, trial, move(lot.site.exchanger, factor), spread=spread)


def length_with(
    lot: PreparedLot, trial: Trial, exchanger: Exchanger, *, spread: float = 1.0
) -> float | None:
    """Change of a calculated length with something else wanted, the layout standing as it is [-].

    Parameters
    ----------
    lot
        The lot; what was asked once is known there.
    trial
        The loop type laid out.
    exchanger
        What is wanted instead.
    spread
        By how much the bores stand farther apart.
    """
    layout, required = trial.layout, trial.required
    assert layout is not None
    assert required is not None
    laid = laid_out(layout)
    apart = (replace(at, x_m=spread * at.x_m, y_m=spread * at.y_m) for at in laid.bores)
    flow = loop_flow(exchanger)
    each = laid.circuit_flow_m3s
    if flow is not None and each is not None:
        each = flow.flow_m3s / len(layout.circuits)
    laid = replace(laid, bores=tuple(apart), circuit_flow_m3s=each)
    try:
        changed = lot.memory.of(required_of, exchanger, layout.system, laid=laid)
    except SitePlanError:
        return None
    assert changed is not None
    if layout.loop.flow:
        return changed.flow_m3s / required.flow_m3s - 1
    return changed.length_m / required.length_m - 1


def energy_of(exchanger: Exchanger) -> Energy:
    """Loads, ground and pipe of a length that was calculated."""
    assert exchanger.energy is not None
    return exchanger.energy


def _with_conductivity(exchanger: Exchanger, factor: float) -> Exchanger:
    energy = energy_of(exchanger)
    earth = replace(energy.earth, conductivity=factor * energy.earth.conductivity)
    return replace(exchanger, energy=replace(energy, earth=earth))


def _with_load(exchanger: Exchanger, factor: float) -> Exchanger:
    energy = energy_of(exchanger)
    loads = energy.loads
    sides = tuple(
        replace(side, power_w=factor * side.power_w, year_wh=factor * side.year_wh)
        for side in loads.sides
    )
    more = replace(
        loads,
        heating_w=factor * loads.heating_w,
        cooling_w=factor * loads.cooling_w,
        sides=sides,
    )
    return replace(exchanger, energy=replace(energy, loads=more))


def _with_cop(exchanger: Exchanger, factor: float) -> Exchanger:
    """Better or worse heat pump; a COP stays above 1, as it gives off what it takes in."""
    energy = energy_of(exchanger)
    loads = energy.loads
    changed = replace(
        loads,
        cop=max(factor * loads.cop, LEAST_COP),
        eer=factor * loads.eer,
        cop_year=loads.cop_year and max(factor * loads.cop_year, LEAST_COP),
        eer_year=loads.eer_year and factor * loads.eer_year,
    )
    return replace(exchanger, energy=replace(energy, loads=changed))


def _with_grout(exchanger: Exchanger, factor: float) -> Exchanger:
    energy = energy_of(exchanger)
    loop = replace(energy.loop, grout=factor * energy.loop.grout)
    return replace(exchanger, energy=replace(energy, loop=loop))


def _with_spacing(exchanger: Exchanger, factor: float) -> Exchanger:
    horizontal = exchanger.horizontal
    wider = replace(horizontal, spacing_m=factor * horizontal.spacing_m)
    return replace(exchanger, horizontal=wider)


def percent_words(change: float | None) -> str:
    """How much a length changes, for a reader."""
    # 0.0 added: a change too small to print is no fall
    return "no length is enough" if change is None else f"{round(100 * change, 1) + 0.0:+.1f} %"
