"""What is to be said of circuits, header pipes and fluid."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from siteplan.findings.model import Finding, Reason, reason
from siteplan.heat_balance import HeatBalance, design_balance, flow_for_change
from siteplan.hydraulics.fluids import (
    NEVER_PROPOSED,
    antifreeze_of,
    antifreeze_share,
    fluid_names,
    freezing_point,
)
from siteplan.hydraulics.friction import TURBULENT
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping.evening import BALANCED
from siteplan.layout.piping_model import Piping
from siteplan.rule_books.model import Bound
from siteplan.site.energy import Fluid
from siteplan.site.model import Site
from siteplan.site.pond_bodies import PlateFrame
from siteplan.site.trench_kinds import trench_kinds

UNEVEN: Final = "circuits-unbalanced"
"""Code of the finding that circuits are more than a little uneven."""
FREEZING: Final = "freezing"
"""Code of the finding that the fluid comes too near to freezing."""
MARGIN_K: Final = 5.0
"""Freezing point below the coldest fluid; common practice, no source [K]."""
LEAST_CHANGE_K: Final = 1.0
"""Smallest change across a heat pump that is proposed; common practice, no source [K]."""
UNEVEN_PATHS: Final = 0.1
"""Share of the worst path's head by which the easiest may be lower; common practice, no source."""


def pipe_remarks(site: Site, layout: Layout) -> tuple[Finding, ...]:
    """Notes and warnings on the pipes of a layout that has them."""
    piping = layout.piping
    if piping is None or not layout.circuits:
        return ()
    return (
        *_too_long(layout, piping),
        *_unbalanced(layout, piping),
        *_evened(layout),
        *_left_over(piping),
        *_returns(layout),
        *_flow(site, layout, piping),
        *_paths(piping),
    )


def _too_long(layout: Layout, piping: Piping) -> Iterator[Finding]:
    balance = piping.balance
    longest = max(layout.circuits, key=lambda one: round(one.length_m, 3))
    if balance is None or longest.length_m <= balance.limit_m + 1e-3:
        return
    yield Finding(
        "bore-circuit-too-long" if layout.of(Bore) else "circuit-too-long",
        subject=longest.id,
        measured_m=longest.length_m,
        required_m=balance.limit_m,
        values={
            "elements": tuple(dict.fromkeys(longest.elements)),
            "pipe": longest.pipe,
            "briefly": reason("circuit-too-long-briefly", circuit=longest.id),
        },
    )


def _unbalanced(layout: Layout, piping: Piping) -> Iterator[Finding]:
    balance = piping.balance
    if balance is None or balance.share <= BALANCED + 1e-9:
        return
    low, high = (pick(circuit.length_m for circuit in layout.circuits) for pick in (min, max))
    yield Finding(
        UNEVEN,
        measured_m=high,
        required_m=low / (1 - BALANCED),
        values={
            "circuits": len(layout.circuits),
            "low_m": low,
            "share": balance.share,
            "most": BALANCED,
            "proven": reason("no-more-even") if balance.proven else None,
            "number": balance.why and reason("their-number", because=balance.why),
        },
    )


def _evened(layout: Layout) -> Iterator[Finding]:
    if layout.evened:
        yield Finding("trenches-evened", values={"most": BALANCED})


def _left_over(piping: Piping) -> Iterator[Finding]:
    left = piping.balance.left_over if piping.balance is not None else ()
    code = "pipe-left-over" if len(left) == 1 else "pipes-left-over"
    for name in left:
        yield Finding(code, subject=name)


def needs_fitting(trench: Trench, size: str) -> bool:
    """Whether a trench is too narrow for two pipes to be bent back at its far end.

    A coil has no far end: its pipe comes back as it was coiled.
    """
    if trench.is_ring or trench_kinds()[trench.kind_name].coil is not None:
        return False
    pipe = pipes()[size]
    return trench.width_m < 2 * pipe.bend_radius_m + pipe.outer_m - 1e-6


def _returns(layout: Layout) -> Iterator[Finding]:
    size = layout.circuits[0].pipe
    narrow = [
        trench for trench in layout.of(Trench) if trench.pipes > 1 and needs_fitting(trench, size)
    ]
    if not narrow:
        return
    pipe = pipes()[size]
    needed = 2 * pipe.bend_radius_m + pipe.outer_m
    yield Finding(
        "return-bend",
        subject=narrow[0].id,
        measured_m=narrow[0].width_m,
        required_m=needed,
        values={"pipe": size, "radius_m": pipe.bend_radius_m, "times": pipe.least_bend},
    )


def _flow(site: Site, layout: Layout, piping: Piping) -> Iterator[Finding]:
    flow = piping.hydraulics
    if flow is None:
        yield Finding("flow-unknown", values={"because": piping.unknown})
        return
    if piping.oversize:
        yield Finding("header-too-small", values={"pipe": next(reversed(pipes()))})
    # narrow channels of plates are laminar by design, and reckoned so
    plates = isinstance(site.exchanger.pond.body, PlateFrame) and bool(layout.of(Coil))
    if flow.reynolds < TURBULENT and not plates:
        yield Finding(
            "laminar",
            values={
                "reynolds": flow.reynolds,
                "fluid_c": flow.temperature_c,
                "mixture": flow.mixture,
                "least": TURBULENT,
                "livelier": _livelier(site, layout, piping),
            },
        )


def _livelier(site: Site, layout: Layout, piping: Piping) -> Reason:
    series = site.exchanger.piping.circuits.bores + 1
    limit = piping.balance.limit_m if piping.balance is not None else 0.0
    longest = max(circuit.length_m for circuit in layout.circuits)
    if layout.of(Bore) and longest / (series - 1) * series <= limit:
        return reason("join-in-series", series=series)
    ways = [reason("more-flow"), reason("thinner-fluid")]
    if layout.circuits[0].pipe != next(iter(pipes())):
        ways.insert(0, reason("narrower-pipe"))
    count = len(layout.circuits)
    even = piping.balance is not None and piping.balance.share <= BALANCED + 1e-9
    if even and count > 1 and longest * count / (count - 1) <= limit:
        ways.insert(0, reason("fewer-circuits"))
    reckoned = reason("reckoned-with") if site.exchanger.energy is not None else None
    return reason("what-helps", ways=tuple(ways), reckoned=reckoned)


def freezing_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """An error where the fluid of a closed loop comes too near to freezing."""
    balance, fluid = _coldest_balance(site, layout), site.exchanger.piping.fluid
    if layout.loop.flow or balance is None or fluid is None or not fluid.mixture:
        return
    freezes = freezing_point(fluid.mixture)
    if freezes <= balance.lowest_c - MARGIN_K + 1e-9:
        return
    state = "would-freeze" if freezes > balance.lowest_c else "too-near-to-freezing"
    yield Finding(
        FREEZING,
        values={
            "mixture": fluid.mixture,
            "state": reason(state),
            "freezes_c": freezes,
            "lowest_c": balance.lowest_c,
            "margin_k": MARGIN_K,
            "briefly": reason("freezing-briefly", mixture=fluid.mixture, state=reason(state)),
            "ways": _ways_from_freezing(fluid, balance, freezes),
        },
    )


def _coldest_balance(site: Site, layout: Layout) -> HeatBalance | None:
    """The fluid in the hour in which it is coldest, as the layout keeps it."""
    flow = layout.piping.hydraulics if layout.piping is not None else None
    balances = flow.balances if flow is not None else ()
    coldest = design_balance(site.exchanger)
    return min(balances, key=lambda balance: balance.lowest_c, default=coldest)


def _ways_from_freezing(fluid: Fluid, balance: HeatBalance, freezes_c: float) -> tuple[Reason, ...]:
    """More antifreeze, more flow or warmer fluid, each enough by itself."""
    ways = []
    stronger = _strong_enough(fluid.mixture, balance.lowest_c - MARGIN_K)
    if stronger:
        ways.append(reason("stronger-mixture", mixture=stronger))
    if balance.direction == "heating" and balance.heat_w > 0:
        allowed_k = balance.entering_c - (freezes_c + MARGIN_K)
        if allowed_k >= LEAST_CHANGE_K:
            flow = flow_for_change(fluid, balance.direction, balance.heat_w, allowed_k)
            ways.append(reason("enough-flow", flow_m3s=flow))
        warm = balance.entering_c + freezes_c + MARGIN_K - balance.lowest_c
        ways.append(reason("warmer-fluid", entering_c=warm))
    return tuple(ways)


def _strong_enough(mixture: str, freezes_c: float) -> str:
    """Weakest mixture of the same antifreeze, else of any, that freezes low enough."""
    kind = antifreeze_of(mixture)
    enough = [name for name in fluid_names() if freezing_point(name) <= freezes_c + 1e-9]
    alike = [name for name in enough if antifreeze_of(name) == kind]
    others = [name for name in enough if antifreeze_of(name) not in NEVER_PROPOSED]
    return min(alike or others, key=antifreeze_share, default="")


def other_fluids(bound: Bound, site: Site) -> Reason | None:
    """The weakest mixtures that a book allows and that do not freeze, one of each antifreeze."""
    balance = design_balance(site.exchanger)
    coldest = math.inf if balance is None else balance.lowest_c - MARGIN_K + 1e-9
    admitted: dict[str, str] = {}
    for name in sorted(fluid_names(), key=antifreeze_share):
        kind = antifreeze_of(name)
        listed = not bound.names or kind in bound.names
        if kind in NEVER_PROPOSED and not (bound.names and bound.says == "only" and listed):
            continue
        if bound.share is not None and antifreeze_share(name) > bound.share:
            continue
        if listed != (bound.says == "none of") and freezing_point(name) <= coldest:
            admitted.setdefault(kind, name)
    return reason("other-fluid", names=tuple(admitted.values())) if admitted else None


def _paths(piping: Piping) -> Iterator[Finding]:
    """Where circuits of equal length get unequal flow, because of the header."""
    flow = piping.hydraulics
    if flow is None:
        return
    paths = [(flow.drop.total, flow.easiest_drop_pa, "")]
    if piping.groups:
        # a valve on the return of each group evens out what lies between groups
        paths = [
            (group.drop.total, group.easiest_drop_pa or 0.0, group.id)
            for group in piping.groups
            if group.drop is not None
        ]
    worst, easiest, group = max(paths, key=lambda path: 1 - path[1] / path[0])
    share = (worst - easiest) / worst
    if share > UNEVEN_PATHS:
        yield Finding(
            "uneven-paths",
            values={
                "share": share,
                "head_m": flow.height_m(worst),
                "group": reason("of-group", group=group) if group else None,
            },
        )
