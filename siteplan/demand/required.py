"""Exchanger length required of a loop type: given by somebody, calculated, or screened per ton."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from siteplan.demand.calculated import required_bores
from siteplan.demand.calculated_trench import climate_of, required_trench
from siteplan.demand.calculated_water import required_flow, required_pond
from siteplan.demand.fluid_side import Flows
from siteplan.demand.model import Required
from siteplan.errors import DemandError, Fault, InputError, SitePlanError
from siteplan.heat_balance import loop_flow
from siteplan.hydraulics.pipes import Pipe, pipes
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.model import Layout
from siteplan.site.energy import Energy
from siteplan.site.loop_options import options_of
from siteplan.site.model import (
    Exchanger,
    System,
)
from siteplan.units.heat import error_words
from siteplan.units.lengths import (
    TON,
    format_capacity,
    format_flow,
    parse_flow,
    parse_length,
    rough,
    rough_length,
    to_unit,
)
from siteplan.units.model import UnitSystem
from siteplan.units.systems import US
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
        Flow of a circuit; None: not known, turbulent flow is assumed [m3/s].
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
    unit: UnitSystem = US,
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
    unit
        Unit in which the reason is worded.
    laid
        What is laid out: a calculated length takes account of where bores stand, and of the film
        in the pipe of the circuits.

    Raises
    ------
    InputError
        The U-bend and the bore stated allow no length.
    DemandError
        Loads, ground and fluid stated allow no length of this loop type.
    """
    if loop_type(system).flow:
        return _flow(exchanger, system, unit)
    options = options_of(exchanger, system)
    # the designer's own figure wins: somebody answers for it
    given = (options.length if options is not None else None) or exchanger.length
    if given is not None:
        basis = f"{rough_length(given.length_m, unit, 'up')} given by {given.by}"
        return Required(given.length_m, "given", basis)
    if exchanger.energy is not None:
        calculated = _calculated(exchanger, system, unit, laid)
        if calculated is not None:
            return calculated
    # screening last, and only what its figures were made for: of other trenches nothing is known
    if exchanger.capacity_w is None or not _screenable(exchanger, system):
        return None
    table = _screening().get(system)
    if table is None:
        return None
    low, high = (parse_length(text, "m") for text in table["range"])
    tons, capacity = exchanger.capacity_w / TON, format_capacity(exchanger.capacity_w, unit)
    span = "-".join(
        f"{to_unit(size, unit) * unit.capacity.size / TON:.{rough(unit)}f}"
        for size in sorted({low, high})
    )
    each = f"{span} {unit} of {table['of']} a {unit.capacity.label}"
    basis = f"screening: {capacity} at {each}, common practice; not for permit"
    return Required(high * tons, "screening", basis)


def _calculated(
    exchanger: Exchanger, system: System, unit: UnitSystem, laid: LaidOut
) -> Required | None:
    """Calculated length of a loop type, None where the site file does not tell enough."""
    calculation = CALCULATIONS.get(loop_type(system).kind)
    if calculation is None or exchanger.energy is None:
        return None
    try:
        return calculation(exchanger, exchanger.energy, unit, laid)
    except ValueError as error:
        raise _no_length(system, error_words(error, unit)) from error


Calculation = Callable[[Exchanger, Energy, UnitSystem, LaidOut], Required | None]
"""Length from what is wanted, loads and ground, for what is laid out."""


def _of_bores(
    exchanger: Exchanger, energy: Energy, unit: UnitSystem, laid: LaidOut
) -> Required | None:
    diameter_m = exchanger.vertical.diameter_m
    return required_bores(energy, diameter_m, laid.bores, unit, flows=_flows(exchanger, laid))


def _of_coils(
    exchanger: Exchanger, energy: Energy, unit: UnitSystem, laid: LaidOut
) -> Required | None:
    flows = _flows(exchanger, laid)
    return required_pond(energy, exchanger.pond, _pipe(exchanger, laid), unit, flows=flows)


def _of_trenches(
    exchanger: Exchanger, energy: Energy, unit: UnitSystem, laid: LaidOut
) -> Required | None:
    pipe, flows = _pipe(exchanger, laid), _flows(exchanger, laid)
    climate = climate_of(energy, exchanger.ground_year)
    if climate is None:
        return None
    options = exchanger.horizontal
    return required_trench(energy, climate, options, pipe, unit, flows=flows)


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


def _no_length(system: System, error: str) -> SitePlanError:
    """What no length can answer: of bores a fault of the site file, else of the loop type."""
    if loop_type(system).kind != Bore.kind:
        return DemandError(f"no length is enough: {error}")
    mend = "Correct [loads], [ground], [fluid] or [loop], or give [vertical] length."
    return InputError([Fault("[loads]", f"gives no length of bore: {error}", mend)])


def _screenable(exchanger: Exchanger, system: System) -> bool:
    return loop_type(system).kind != Trench.kind or exchanger.horizontal.pipes == SCREENED_PIPES


def _flow(exchanger: Exchanger, system: System, unit: UnitSystem) -> Required | None:
    if exchanger.open.flow_m3s is not None:
        basis = (
            f"{format_flow(exchanger.open.flow_m3s, unit, rounding='up')} given in the site file"
        )
        return Required(0.0, "given", basis, exchanger.open.flow_m3s)
    if exchanger.energy is not None:
        try:
            return required_flow(exchanger.energy, unit)
        except ValueError as error:
            raise DemandError(f"no flow is enough: {error_words(error, unit)}") from error
    if exchanger.capacity_w is None:
        return None
    low, high = (parse_flow(text) for text in _screening()[system]["range"])
    tons, capacity = exchanger.capacity_w / TON, format_capacity(exchanger.capacity_w, unit)
    span = f"{unit.flow_of_capacity.of(low / TON):.3g} to {unit.flow_of_capacity.text(high / TON)}"
    basis = f"screening: {capacity} at {span}, common practice; not for permit"
    return Required(0.0, "screening", basis, high * tons)
