"""Exchanger length required of a loop type: given by somebody, or screened per ton."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.demand.calculated import required_bores
from siteplan.demand.model import Required
from siteplan.errors import Fault, InputError
from siteplan.layout.model import Bore
from siteplan.site.energy import Energy
from siteplan.site.model import DisplayUnit, Exchanger, GivenLength, System
from siteplan.units import TON, format_flow, format_length, parse_flow, parse_length, rough, to_unit

SCREENED_PIPES = 2
"""The screening length of trench holds for two pipes in a trench only."""


@cache
def _screening() -> dict[str, Any]:
    text = files("siteplan.demand").joinpath("screening.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def required_of(
    exchanger: Exchanger, system: System, unit: DisplayUnit = "ft", *, bores: Sequence[Bore] = ()
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
    bores
        Where bores stand: a calculated length takes account of their distances.

    Raises
    ------
    InputError
        The loads and the ground stated allow no length.
    """
    if system == "open":
        return _flow(exchanger, unit)
    given = _given(exchanger, system)
    if given is not None:
        words = (
            f"{format_length(given.length_m, unit, rough(unit), rounding='up')} given by {given.by}"
        )
        return Required(given.length_m, "given", words)
    if exchanger.energy is not None and system == "vertical":
        return _calculated(exchanger.energy, exchanger.vertical.diameter_m, bores, unit)
    if exchanger.capacity_w is None or not _screenable(exchanger, system):
        return None
    table = _screening()[system]
    low, high = (parse_length(text, "m") for text in table["range"])
    tons = exchanger.capacity_w / TON
    span = (
        f"{to_unit(low, unit):.0f}-{to_unit(high, unit):.0f}"
        if low < high
        else (f"{to_unit(high, unit):.0f}")
    )
    words = f"screening: {tons:.1f} ton at {span} {unit} of {table['of']} a ton, common practice"
    return Required(high * tons, "screening", f"{words}; not for permit")


def _calculated(
    energy: Energy, diameter_m: float, bores: Sequence[Bore], unit: DisplayUnit
) -> Required:
    try:
        return required_bores(energy, diameter_m, bores, unit)
    except ValueError as error:
        mend = "Correct [loads], [ground], [fluid] or [loop], or give [vertical] length."
        raise InputError([Fault("[loads]", f"gives no length of bore: {error}", mend)]) from error


def _given(exchanger: Exchanger, system: System) -> GivenLength | None:
    own = {
        "horizontal": exchanger.horizontal.length,
        "vertical": exchanger.vertical.length,
        "pond": exchanger.pond.length,
    }[system]
    return own or exchanger.length


def _screenable(exchanger: Exchanger, system: System) -> bool:
    return system != "horizontal" or exchanger.horizontal.pipes == SCREENED_PIPES


def _flow(exchanger: Exchanger, unit: DisplayUnit) -> Required | None:
    if exchanger.open.flow_m3s is not None:
        words = (
            f"{format_flow(exchanger.open.flow_m3s, unit, rounding='up')} given in the site file"
        )
        return Required(0.0, "given", words, exchanger.open.flow_m3s)
    if exchanger.capacity_w is None:
        return None
    low, high = (parse_flow(text) for text in _screening()["open"]["range"])
    tons = exchanger.capacity_w / TON
    span = f"{format_flow(low, unit)} to {format_flow(high, unit)}"
    words = f"screening: {tons:.1f} ton at {span} a ton, common practice; not for permit"
    return Required(0.0, "screening", words, high * tons)
