"""Trenches cut to even circuits where they would be uneven otherwise and the lot has room."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from siteplan.advisories.pipes import UNEVEN, pipe_remarks
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.design.converge import required_there
from siteplan.design.lay_out import Attempt, attempt, capacity_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.trenches.filled import LENGTH_STEP
from siteplan.layout.trenches.levelling import levelled
from siteplan.preferences.table import count_of, figure_of, figures_of
from siteplan.site.model import Site

MANY: Final = count_of("design.even_circuits.many")
"""From so many trenches on no other layout is tried: it takes long, and valves are usual there."""
SPARE: Final = figures_of("design.even_circuits.spare")
"""Shares of the length required that are laid out to be cut to even circuits."""


MORE_HEADER: Final = figure_of("design.even_circuits.more_header")
"""Header dug for even circuits at most, as a share of the trench laid out."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A lot, what is required on it, and the layout that holds it."""

    lot: PreparedLot
    required: Required
    made: Attempt

    @property
    def site(self) -> Site:
        """The lot, as read, with what is wanted on it now."""
        return self.lot.site

    def piped(self) -> Layout:
        """The layout with its pipes."""
        flow = self.required.flow_m3s
        return with_pipes(self.made.layout, self.site.exchanger, flow, ground=self.made.ground)


def evened(lot: PreparedLot, required: Required, made: Attempt) -> Settled:
    """What is laid out, or other trenches where only those make the circuits even.

    More trench than is required is laid out, of which the long circuits are cut until what is
    required is left. It is taken only where it holds what is required and brings no warning of the
    pipes that was not given before.
    """
    first = Settled(lot, required, made)
    trenches = [trench.length_m for trench in made.layout.of(Trench)]
    # a lot that is short of room has no trench to spare for evenness, and what somebody gave stays
    if not trenches or made.layout.obstacle or made.layout.by_hand or len(trenches) > MANY:
        return first
    known = _warnings(first)
    if UNEVEN not in known:
        return first
    for share in SPARE:
        tried = _levelled(first, share)
        # even circuits at the price of another warning would only move the trouble
        if tried is not None and _warnings(tried) <= known - {UNEVEN}:
            return tried
    return first


def _levelled(first: Settled, share: float) -> Settled | None:
    """More trench than is required, cut to even circuits; None where that does not come out."""
    site, required = first.site, first.required
    # more than straight rows hold lies in bends: they take long to find, and rings are not cut
    straight_m = capacity_of(first.lot, first.made.layout.system)
    asked = min(required.length_m * share, math.floor(straight_m / LENGTH_STEP) * LENGTH_STEP)
    if asked < required.length_m:
        return None
    # uneven trenches lie in no blocks, and blocks that do not hold less hold no more
    wanted = site.exchanger
    filling = replace(wanted.horizontal, arrangement="filling")
    lot = first.lot.with_exchanger(replace(wanted, horizontal=filling))
    made = attempt(lot, first.made.layout.system, asked)
    if made.layout.obstacle or made.layout.header is None:
        return None
    shortest = site.exchanger.horizontal.shortest_m
    target = math.ceil(required.length_m / LENGTH_STEP - 1e-9) * LENGTH_STEP
    layout = levelled(made.layout, site.exchanger.piping.circuits, target, shortest)
    if layout is None:
        return None
    try:
        # another division has another flow in each circuit, and may ask for more length
        needed = required_there(site, layout, made.ground) or required
    except DemandError:
        return None
    if layout.length_m < needed.length_m - TOLERANCE or _is_dear(first.made.layout, layout):
        return None
    return _taken(first, Settled(first.lot, needed, made), layout)


def _is_dear(first: Layout, tried: Layout) -> bool:
    """Whether even circuits take so much more header that valves are the lesser evil."""
    if first.header is None or tried.header is None:
        return False
    more_m = tried.header.length_m - first.header.length_m
    return more_m > MORE_HEADER * first.length_m


def _taken(first: Settled, tried: Settled, layout: Layout) -> Settled:
    """What was tried, with its layout; how much the lot takes is no question of evenness."""
    whole = first.made.layout
    layout = replace(
        layout,
        capacity_m=max(whole.capacity_m, layout.capacity_m),
        most_m=whole.most_m,
        evened=True,
    )
    return replace(tried, made=replace(tried.made, layout=layout))


def _warnings(tried: Settled) -> set[str]:
    remarks = pipe_remarks(tried.site, tried.piped())
    return {remark.code for remark in remarks if remark.severity == "warning"}
