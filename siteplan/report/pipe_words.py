"""Circuits and flow in the trade's words, for report and sheet."""

from __future__ import annotations

from typing import Final

from siteplan.findings.model import reason
from siteplan.findings.words import words_of
from siteplan.heat_balance import FLOW_PER_TON, FlowBasis, HeatBalance
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Hydraulics, Piping
from siteplan.units.heat import format_temperature
from siteplan.units.lengths import TON, format_flow, format_length, rough_length, round_to, to_unit
from siteplan.units.model import UnitSystem


def circuit_words(layout: Layout, unit: UnitSystem) -> str:
    """How many circuits of what pipe and length, and how they are joined; empty without any.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> from siteplan.layout.piping_model import Circuit
    >>> circuit = Circuit("CIR-1", ("T1",), "3/4 in", 121.92, 2)
    >>> circuit_words(Layout("horizontal", (), None, 3.0, 0.0, circuits=(circuit,)), US)
    '1 circuit of 3/4 in, 400 ft'
    """
    if not layout.circuits:
        return ""
    lengths = [circuit.length_m for circuit in layout.circuits]
    low = round_to(to_unit(min(lengths), unit), 0, "down")
    high = round_to(to_unit(max(lengths), unit), 0, "up")
    count = len(lengths)
    each = f"{low:,.0f} to {high:,.0f} {unit}" if high - low > 1 else f"{high:,.0f} {unit}"
    sentence = f"{count} circuit{'' if count == 1 else 's'} of {layout.circuits[0].pipe}, {each}"
    if layout.piping is None:
        return sentence
    return f"{sentence}; {layout.piping.layout}{_groups_words(layout.piping)}"


def _groups_words(piping: Piping) -> str:
    """Into how many groups a field is divided; empty where it is not."""
    if not piping.groups:
        return ""
    sizes = sorted({len(group.circuits) for group in piping.groups})
    each = " or ".join(map(str, sizes))
    return (
        f"; {len(piping.groups)} groups of {each} circuits, each with its own run-outs to a "
        "manifold at the entry (indoors or in a vault)"
    )


FLOW_BASES: Final[dict[FlowBasis, str]] = {
    "stated": "flow-stated",
    "from-change": "flow-from-change",
    "capacity": "flow-capacity",
    "loads": "flow-loads",
}
"""Codes of where a flow comes from."""


def basis_words(basis: FlowBasis, unit: UnitSystem) -> str:
    """Where a flow comes from, its figures in the display unit.

    Examples
    --------
    3 gpm are 0.18927 L/s, a ton is 3.517 kW: 0.0538 L/s a kW.

    >>> from siteplan.units.systems import METRIC
    >>> basis_words("capacity", METRIC)
    '0.0538 L/s a kW of capacity, assumed'
    """
    each = unit.flow_of_capacity.text(FLOW_PER_TON / TON)
    return words_of(reason(FLOW_BASES[basis], each=each), unit)


def flow_words(layout: Layout, unit: UnitSystem) -> str:
    """Flow, Reynolds number and head of the worst path; empty where they are not known."""
    flow = layout.piping.hydraulics if layout.piping is not None else None
    if flow is None:
        return ""
    return (
        f"{format_flow(flow.flow_m3s, unit)} ({basis_words(flow.basis, unit)}), "
        f"Reynolds number {flow.reynolds:,.0f} at "
        f"{format_temperature(flow.temperature_c, unit)} with {flow.mixture}, "
        f"{_head_words(flow, unit)}; purge {_each(layout)}with "
        f"{format_flow(flow.purge_m3s, unit, rounding='up')}"
        + "".join(f"; {_temperatures(balance, unit)}" for balance in flow.balances)
    )


def _each(layout: Layout) -> str:
    return "one group at a time " if layout.piping is not None and layout.piping.groups else ""


def _head_words(flow: Hydraulics, unit: UnitSystem) -> str:
    """Head of the worst path, all together and by part."""
    drop = flow.drop
    parts = {"circuit": drop.circuit, "header": drop.header, "fittings": drop.fittings}
    beyond = ", heat pump not stated"
    if drop.heat_pump > 0:
        parts["heat pump"] = drop.heat_pump
        beyond = ""
    shown = ", ".join(
        f"{part} {format_length(flow.height_m(value), unit, 1)}" for part, value in parts.items()
    )
    return f"{rough_length(flow.head_m, unit, 'up')} of head ({shown}{beyond})"


def _temperatures(balance: HeatBalance, unit: UnitSystem) -> str:
    """Fluid entering and leaving the heat pump at a design hour."""
    entering, leaving = (
        format_temperature(value, unit) for value in (balance.entering_c, balance.leaving_c)
    )
    return f"design {balance.direction}: enters the heat pump at {entering}, leaves at {leaving}"
