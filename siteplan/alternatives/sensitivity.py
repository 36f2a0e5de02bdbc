"""How sure a length is: what it does when conductivity, load or spacing moves by a tenth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from siteplan.demand.required import required_of
from siteplan.design.evaluate import Trial
from siteplan.errors import SitePlanError
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.site.energy import Energy
from siteplan.site.model import Exchanger, Site

STEP: Final = 0.1
"""By how much each figure is moved, up and down [-]."""


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


def sensitivity(site: Site, trial: Trial) -> tuple[Change, ...]:
    """Changes of a calculated length, empty where the length was not calculated."""
    required, layout = trial.required, trial.layout
    if required is None or required.basis != "calculated" or layout is None:
        return ()
    base = required.flow_m3s if layout.loop.flow else required.length_m
    moves = {"load": _with_load}
    if layout.loop.spaced:
        moves = {"conductivity": _with_conductivity, **moves, "spacing": _with_spacing}
    return tuple(
        Change(figure, *(_change(site, layout, move, 1 + sign * STEP, base) for sign in (-1, 1)))
        for figure, move in moves.items()
    )


Move = Callable[[Exchanger, float], Exchanger]


def _change(site: Site, layout: Layout, move: Move, factor: float, base: float) -> float | None:
    """Change of the length with one figure moved, the layout standing as it is."""
    changed = move(site.exchanger, factor)
    bores = layout.of(Bore)
    if move is _with_spacing:
        # the field is stretched and not laid out again: else a jump of the layout would hide the
        # figure's share
        bores = tuple(replace(bore, x_m=factor * bore.x_m, y_m=factor * bore.y_m) for bore in bores)
    flow = layout.piping.hydraulics if layout.piping is not None else None
    try:
        required = required_of(
            changed,
            layout.system,
            site.unit,
            bores=bores,
            circuit_flow_m3s=None if flow is None else flow.circuit_flow_m3s,
        )
    except SitePlanError:
        return None
    assert required is not None
    return (required.flow_m3s if layout.loop.flow else required.length_m) / base - 1


def _energy(exchanger: Exchanger) -> Energy:
    assert exchanger.energy is not None
    return exchanger.energy


def _with_conductivity(exchanger: Exchanger, factor: float) -> Exchanger:
    energy = _energy(exchanger)
    earth = replace(energy.earth, conductivity=factor * energy.earth.conductivity)
    return replace(exchanger, energy=replace(energy, earth=earth))


def _with_load(exchanger: Exchanger, factor: float) -> Exchanger:
    energy = _energy(exchanger)
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


def _with_spacing(exchanger: Exchanger, factor: float) -> Exchanger:
    horizontal = exchanger.horizontal
    wider = replace(horizontal, spacing_m=factor * horizontal.spacing_m)
    return replace(exchanger, horizontal=wider)


def percent_words(change: float | None) -> str:
    """How much a length changes, for a reader."""
    return "no length is enough" if change is None else f"{100 * change:+.1f} %"
