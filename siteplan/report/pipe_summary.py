"""Circuits, flow and take-off in figures, for the summary."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from siteplan.findings.words import words_of
from siteplan.hydraulics.fluids import freezing_point
from siteplan.layout.header.section import piece_width
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import (
    Circuit,
    Crossing,
    Crossover,
    Drop,
    Group,
    HeaderPiece,
    Hydraulics,
    Piping,
)
from siteplan.quantities.grout import grout_of
from siteplan.quantities.take_off import Item, amount_of, fluid_volume, take_off
from siteplan.report.rounding import near, up
from siteplan.site.model import Site
from siteplan.units.lengths import FLOWS, GALLON, round_to


def circuits_summary(layout: Layout | None) -> list[dict[str, Any]]:
    """One row for each circuit, lengths rounded up."""
    return [_circuit(circuit) for circuit in layout.circuits] if layout is not None else []


def crossovers_summary(layout: Layout | None) -> list[dict[str, Any]]:
    """One row for each crossover, lengths rounded up."""
    return [_crossover(crossover) for crossover in layout.crossovers] if layout is not None else []


def crossings_summary(crossings: Sequence[Crossing]) -> list[dict[str, Any]]:
    """One row for each crossing of a header or a crossover."""
    return [
        {
            "feature": c.feature,
            "kind": c.kind,
            "x_m": near(c.x_m),
            "y_m": near(c.y_m),
            "angle_deg": None if c.angle_deg is None else round_to(c.angle_deg, 1),
        }
        for c in crossings
    ]


def _crossover(crossover: Crossover) -> dict[str, Any]:
    return {
        "id": crossover.id,
        "trenches": list(crossover.trenches),
        "line_m": [[near(x), near(y)] for x, y in crossover.line.coords],
        "length_m": up(crossover.length_m),
        "width_m": near(crossover.width_m),
        "depth_m": near(crossover.depth_m),
        "crossings": crossings_summary(crossover.crossings),
    }


def flow_summary(site: Site, layout: Layout | None) -> dict[str, Any] | None:
    """Header pipes and what flows in them, None where there is no header."""
    if layout is None or layout.piping is None:
        return None
    piping = layout.piping
    summary: dict[str, Any] = {
        "layout": piping.layout,
        "why": words_of(piping.why, site.unit),
        "header_pipe_m": {size or "unknown": up(m) for size, m in piping.lengths_m.items()},
        "groups": [_group(group, layout) for group in piping.groups],
        "pieces": [_piece(piece, piping) for piece in piping.pieces],
        "unknown": words_of(piping.unknown, site.unit) if piping.unknown else "",
    }
    return summary | _hydraulics(piping.hydraulics, site, layout) | _balance(piping, site)


def grout_summary(site: Site, layout: Layout | None) -> dict[str, Any] | None:
    """Grout of the bores, None where there are none; volumes, bags and sand rounded up."""
    grout = grout_of(site, layout) if layout is not None else None
    if grout is None:
        return None
    return {
        "bores": grout.bores,
        "grouted_m": up(grout.grouted_m),
        "annulus_l": up(grout.annulus_m3 * 1000),
        "extra": near(grout.extra),
        "volume_l": up(grout.volume_m3 * 1000),
        "yield_l": None if grout.yield_m3 is None else near(grout.yield_m3 * 1000),
        "bags": grout.bags,
        "sand_kg": up(grout.all_sand_kg),
    }


def take_off_summary(site: Site, layout: Layout | None) -> list[dict[str, Any]]:
    """The take-off, amounts rounded up in the site's unit."""
    items = take_off(site, layout) if layout is not None else ()
    return [_item(site, item) for item in items]


def _circuit(circuit: Circuit) -> dict[str, Any]:
    return {
        "id": circuit.id,
        "elements": list(circuit.elements),
        "pipe": circuit.pipe,
        "length_m": up(circuit.length_m),
        "connecting_m": up(circuit.connecting_m),
        "passes": circuit.passes,
        "group": circuit.group or None,
    }


def _piece(piece: HeaderPiece, piping: Piping) -> dict[str, Any]:
    return {
        "from_m": [near(value) for value in piece.start],
        "to_m": [near(value) for value in piece.end],
        "length_m": up(piece.length_m),
        "width_m": near(piece_width(piece, piping)),
        "pipes": [
            {
                "role": pipe.role,
                "size": pipe.size or None,
                "flow_l_s": _litres(pipe.flow_m3s),
                "group": pipe.group or None,
            }
            for pipe in piece.pipes
        ],
        "own": [
            {"circuit": own.circuit, "size": own.size, "count": own.count} for own in piece.own
        ],
    }


def _balance(piping: Piping, site: Site) -> dict[str, Any]:
    balance = piping.balance
    return {
        "circuits_apart": None if balance is None else up(balance.share),
        "circuits_proven": None if balance is None else balance.proven,
        "circuits_why": words_of(balance.why, site.unit) if balance and balance.why else None,
        "circuit_limit_m": None if balance is None else near(balance.limit_m),
        "left_over": [] if balance is None else list(balance.left_over),
    }


def _hydraulics(flow: Hydraulics | None, site: Site, layout: Layout) -> dict[str, Any]:
    if flow is None:
        return {"total_l_s": None}
    return {
        "total_l_s": _litres(flow.flow_m3s),
        "basis": flow.basis,
        "circuit_l_s": _litres(flow.circuit_flow_m3s),
        "mixture": flow.mixture,
        "temperature_c": near(flow.temperature_c),
        "reynolds": round(flow.reynolds),
        **_drops(flow.drop, site),
        "easiest_drop_kpa": up(flow.easiest_drop_pa / 1000),
        "head_m": up(flow.head_m),
        "hydraulic_power_w": up(flow.power_w),
        "purge_l_s": _litres(flow.purge_m3s),
        "volume_l": _bought_l(site, layout, "fluid"),
        "antifreeze_l": _bought_l(site, layout, "antifreeze, pure"),
        "freezes_c": freezing_point(flow.mixture),
        "lowest_c": near(flow.lowest_c),
        "heat_pump": [
            {
                "direction": balance.direction,
                "heat_w": near(balance.heat_w),
                "entering_c": near(balance.entering_c),
                "leaving_c": near(balance.leaving_c),
            }
            for balance in flow.balances
        ],
    }


def _drops(drop: Drop, site: Site) -> dict[str, Any]:
    """Pressure drop by part; of the heat pump None where it is not given."""
    given = site.exchanger.piping.heat_pump is not None
    return {
        "circuit_drop_kpa": up(drop.circuit / 1000),
        "header_drop_kpa": up(drop.header / 1000),
        "fittings_drop_kpa": up(drop.fittings / 1000),
        "heat_pump_drop_kpa": up(drop.heat_pump / 1000) if given else None,
    }


def _group(group: Group, layout: Layout) -> dict[str, Any]:
    volume = fluid_volume(layout, group.id)
    return {
        "id": group.id,
        "circuits": list(group.circuits),
        "pipe": group.pipe or None,
        "length_m": up(group.length_m),
        "run_out_m": up(group.run_out_m),
        "flow_l_s": _litres(group.flow_m3s) if group.flow_m3s is not None else None,
        "head_m": up(group.head_m) if group.head_m is not None else None,
        "purge_l_s": _litres(group.purge_m3s) if group.purge_m3s is not None else None,
        "volume_l": up(volume * 1000) if volume is not None else None,
    }


def _bought_l(site: Site, layout: Layout, what: str) -> float:
    """The same fluid as in the take-off, rounded up in the unit it is bought by [L]."""
    items = (item for item in take_off(site, layout) if item.what == what)
    amounts = (amount_of(item, site.unit) for item in items)
    return near(sum(amount * FLUIDS_L[name] for amount, name in amounts))


FLUIDS_L = {"gal": GALLON * 1000, "L": 1.0}
"""Units in which fluid is bought [L]."""


def _item(site: Site, item: Item) -> dict[str, Any]:
    amount, unit = amount_of(item, site.unit)
    return {
        "item": item.what,
        "size": item.size,
        "quantity": amount,
        "unit": unit,
        "basis": item.basis,
    }


def _litres(flow_m3s: float) -> float:
    return near(flow_m3s / FLOWS["l/s"])
