"""What is to be said of circuits, header pipes and fluid."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.checks.model import Finding
from siteplan.hydraulics.fluids import freezing_point
from siteplan.hydraulics.friction import TURBULENT
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.model import Bore, Layout, Trench
from siteplan.layout.piping.evening import BALANCED
from siteplan.layout.piping_model import Circuit, Piping
from siteplan.site.model import Site
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.heat import FAHRENHEIT, format_temperature
from siteplan.units.lengths import format_length

MARGIN_K: Final = 5 * FAHRENHEIT
"""Freezing point below the coldest fluid; common practice, no source [K]."""
UNEVEN_PATHS: Final = 0.1
"""Share of the worst path's head by which the easiest may be lower; common practice, no source."""


def pipe_remarks(site: Site, layout: Layout) -> tuple[Finding, ...]:
    """Notes and warnings on the pipes of a layout that has them."""
    piping = layout.piping
    if piping is None or not layout.circuits:
        return ()
    return (
        *_too_long(site, layout.circuits, piping),
        *_unbalanced(site, layout, piping),
        *_evened(layout),
        *_left_over(piping),
        *_returns(site, layout),
        *_flow(site, layout, piping),
        *_fluid(site, piping),
        *_paths(site, piping),
    )


def _words(length_m: float, site: Site) -> str:
    return format_length(length_m, site.unit, 0, rounding="up")


def _too_long(site: Site, circuits: tuple[Circuit, ...], piping: Piping) -> Iterator[Finding]:
    balance = piping.balance
    longest = max(circuits, key=lambda one: round(one.length_m, 3))
    if balance is None or longest.length_m <= balance.limit_m + 1e-3:
        return
    yield Finding(
        "circuit-too-long",
        "warning",
        f"Circuit {longest.id} ({', '.join(dict.fromkeys(longest.elements))}) has "
        f"{_words(longest.length_m, site)} of {longest.pipe} pipe; a circuit of that size is "
        f"{_words(balance.limit_m, site)} at most: shorten it, or take larger pipe "
        "([circuits] pipe).",
        subject=longest.id,
        measured_m=longest.length_m,
        required_m=balance.limit_m,
    )


def _unbalanced(site: Site, layout: Layout, piping: Piping) -> Iterator[Finding]:
    balance = piping.balance
    if balance is None or balance.share <= BALANCED + 1e-9:
        return
    low, high = (pick(one.length_m for one in layout.circuits) for pick in (min, max))
    words = (
        f"{len(layout.circuits)} circuits are "
        f"{format_length(low, site.unit, 0, rounding='down')} to {_words(high, site)} long, "
        f"{100 * balance.share:.0f} % apart, more than {100 * BALANCED:.0f} %"
    )
    if balance.proven:
        words += "; no other division of these trenches into so many is more even (proven)"
    if balance.why:
        words += f" (their number: {balance.why})"
    yield Finding(
        "circuits-unbalanced",
        "warning",
        f"{words}: give every circuit a valve to balance it.",
        measured_m=high,
        required_m=low / (1 - BALANCED),
    )


def _evened(layout: Layout) -> Iterator[Finding]:
    if layout.evened:
        yield Finding(
            "trenches-evened",
            "note",
            f"Trenches are chosen and cut so that all circuits are even within "
            f"{100 * BALANCED:.0f} %: the least digging would leave them uneven.",
        )


def _left_over(piping: Piping) -> Iterator[Finding]:
    left = piping.balance.left_over if piping.balance is not None else ()
    mend = "lay an even number of pipes, or one trench more or less"
    why = "finds no other to come home through"
    if len(left) > 1:
        why = "no joint brings to another far end without crossing a trench or ground to keep off"
        mend = "lay an even number of pipes"
    for name in left:
        yield Finding(
            "pipe-left-over",
            "warning",
            f"Trench {name} has a pipe that {why}, so it is in no circuit: {mend}.",
            subject=name,
        )


def needs_fitting(trench: Trench, size: str) -> bool:
    """Whether a trench is too narrow for two pipes to be bent back at its far end.

    A coil has no far end: its pipe comes back as it was coiled.
    """
    if trench.is_ring or trench_kinds()[trench.kind_name].coil is not None:
        return False
    pipe = pipes()[size]
    return trench.width_m < 2 * pipe.bend_radius_m + pipe.outer_m - 1e-6


def _returns(site: Site, layout: Layout) -> Iterator[Finding]:
    size = layout.circuits[0].pipe
    narrow = [
        one
        for one in layout.elements
        if isinstance(one, Trench) and one.pipes > 1 and needs_fitting(one, size)
    ]
    if not narrow:
        return
    pipe = pipes()[size]
    needed = 2 * pipe.bend_radius_m + pipe.outer_m
    yield Finding(
        "return-bend",
        "note",
        f"{size} pipe bends on {format_length(pipe.bend_radius_m, site.unit, 1, rounding='up')} "
        f"(25 x its diameter) and back in a trench of "
        f"{format_length(needed, site.unit, 1, rounding='up')}; at "
        f"{format_length(narrow[0].width_m, site.unit, 1, rounding='down')} each far end takes a "
        "U-bend fitting.",
        subject=narrow[0].id,
        measured_m=narrow[0].width_m,
        required_m=needed,
    )


def _flow(site: Site, layout: Layout, piping: Piping) -> Iterator[Finding]:
    flow = piping.hydraulics
    if flow is None:
        yield Finding("flow-unknown", "note", f"Pipes: {piping.unknown}.")
        return
    if piping.oversize:
        yield Finding(
            "header-too-small",
            "warning",
            f"The header's flow loses more than 4 {site.unit} of head in 100 {site.unit} in the "
            f"largest pipe known, {next(reversed(pipes()))}: divide the field into several "
            "headers.",
        )
    if flow.reynolds < TURBULENT:
        yield Finding(
            "laminar",
            "warning",
            f"Reynolds number {flow.reynolds:,.0f} in the circuits at "
            f"{format_temperature(flow.temperature_c, site.unit)} with {flow.mixture}, below "
            f"{TURBULENT:,.0f}: less heat gets into the pipe. {_livelier(site, layout, piping)}",
        )


def _livelier(site: Site, layout: Layout, piping: Piping) -> str:
    series = site.exchanger.piping.circuits.bores + 1
    limit = piping.balance.limit_m if piping.balance is not None else 0.0
    longest = max(one.length_m for one in layout.circuits)
    if isinstance(layout.elements[0], Bore) and longest / (series - 1) * series <= limit:
        return f"Join {series} bores in series ([circuits] bores), or take a thinner fluid."
    ways = ["more flow", "a thinner fluid"]
    if layout.circuits[0].pipe != next(iter(pipes())):
        ways.insert(0, "narrower pipe")
    count = len(layout.circuits)
    even = piping.balance is not None and piping.balance.share <= BALANCED + 1e-9
    if even and count > 1 and longest * count / (count - 1) <= limit:
        ways.insert(0, "fewer circuits ([circuits] count)")
    words = f"What helps: {', '.join(ways[:-1])} or {ways[-1]}."
    energy = site.exchanger.energy
    return words + (" A calculated length reckons with it already." if energy is not None else "")


def _fluid(site: Site, piping: Piping) -> Iterator[Finding]:
    flow = piping.hydraulics
    if flow is None:
        return
    freezes = freezing_point(flow.mixture)
    if freezes <= flow.lowest_c - MARGIN_K + 1e-9:
        return
    lowest = format_temperature(flow.lowest_c, site.unit)
    state = "would freeze" if freezes > flow.lowest_c else "is too near to freezing"
    yield Finding(
        "freezing",
        "warning",
        f"{flow.mixture} {state}: it freezes at {format_temperature(freezes, site.unit)}, the "
        f"fluid leaves the heat pump at {lowest}, and {_margin(site)} between them "
        "are common practice. Take more antifreeze ([fluid] mixture).",
    )


def _margin(site: Site) -> str:
    difference = site.unit.difference
    return f"{difference.of(MARGIN_K):.2g} {difference.label}"


def _paths(site: Site, piping: Piping) -> Iterator[Finding]:
    """Where circuits of equal length get unequal flow, because of the header."""
    flow = piping.hydraulics
    if flow is None:
        return
    worst = flow.circuit_drop_pa + flow.header_drop_pa
    share = (worst - flow.easiest_drop_pa) / worst
    if share > UNEVEN_PATHS:
        yield Finding(
            "uneven-paths",
            "note",
            f"The easiest path takes {100 * share:.0f} % less head than the worst "
            f"({format_length(flow.head_m, site.unit, 1, rounding='up')}): balance the circuits "
            "with valves.",
        )
