"""Length and layout brought to agree.

Where bores stand, and how fast the fluid runs in the circuits laid out, decide how much exchanger
is needed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import Required
from siteplan.demand.required import laid_out, required_of
from siteplan.design.lay_out import Attempt, attempt
from siteplan.design.loop_types import record_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import Site, System
from siteplan.vocabulary.loop_types import loop_type

MOST_ROUNDS = count_of("design.converge.most_rounds")
PUSHED_FROM = count_of("design.converge.pushed_from")
"""From this round on more than the length required is laid out, so that the rounds come to rest."""
PUSH = figure_of("design.converge.push")
MOST_SHORTER = count_of("design.converge.most_shorter")
WORTH = figure_of("design.converge.worth")


Begun = Callable[[Required, Attempt], None]
"""Hears of a first layout, before another is looked for that agrees with its length."""


def settled(
    lot: PreparedLot, required: Required, system: System, begun: Begun = lambda *_: None
) -> tuple[Required, Attempt]:
    """Layout that holds what is required of it as it is laid out, or all that fits.

    A calculated length begins with bores far from one another and the fewest circuits, or with what
    comparing kinds of trench laid out. The length that the layout needs as it is laid out is laid
    out again, never less than before, until what is laid out holds it.

    Raises
    ------
    DemandError
        No length is enough with the fluid as it flows.
    """
    # what somebody gave does not change with where bores stand
    if required.basis != "calculated" or loop_type(system).flow:
        return required, attempt(lot, system, required.length_m)
    if loop_type(system).dug and lot.drafted_m > required.length_m:
        needed, made = _settled_from(lot, required, system, lot.drafted_m, begun)
        # in fewer and longer circuits the same trench may need less than was drafted
        least_m = (1 - WORTH) * lot.drafted_m
        if not made.layout.obstacle and needed.length_m >= least_m:
            return needed, made
    needed_m, held = foreseen(lot, required, system)
    return _settled_from(lot, required, system, needed_m if held else required.length_m, begun)


def foreseen(lot: PreparedLot, required: Required, system: System) -> tuple[float, bool]:
    """Length that drafts without headers come to need, and whether a draft holds it [m].

    What is laid out needs about as much, and hardly less: drafts stand as far apart as they may.
    """
    record, needed_m = record_of(system), required.length_m
    if record.drafts is None or required.basis != "calculated":
        return needed_m, False
    prepared = prepare(lot, record.ground)
    for _ in range(MOST_ROUNDS):
        draft = record.drafts(prepared, lot.site, needed_m)
        there = draft and required_there(lot.site, draft, prepared.ground)
        if draft is None or there is None:
            break
        if draft.length_m >= there.length_m - TOLERANCE:
            return needed_m, True
        needed_m = max(needed_m, there.length_m)
    return needed_m, False


def _settled_from(
    lot: PreparedLot, required: Required, system: System, asked: float, begun: Begun
) -> tuple[Required, Attempt]:
    """The same, of which so much is laid out first [m]."""
    made = attempt(lot, system, asked)
    for number in range(MOST_ROUNDS):
        required = required_there(lot.site, made.layout, made.ground) or required
        # what is laid out counts, not what was asked for: whole feet and whole bores often hold
        # the rest
        enough = made.layout.length_m >= required.length_m - TOLERANCE
        # trenches that fill the ground do so whatever more is asked; of bores it is told how many
        # are asked
        final = made.layout.loop.dug or required.length_m <= asked + TOLERANCE
        stopped = made.layout.obstacle and final
        if enough or stopped or not made.layout.elements:
            break
        # never less than before: a longer layout may need less (bores farther apart), a shorter
        # one more, and the rounds would go to and fro for ever
        asked = max(asked, required.length_m) * (PUSH if number >= PUSHED_FROM else 1.0)
        if number == 0:
            begun(required, made)
        made = attempt(lot, system, asked)
    return _no_more(lot, required, made, asked)


def _no_more(
    lot: PreparedLot, required: Required, made: Attempt, asked: float
) -> tuple[Required, Attempt]:
    """The layout, or a shorter one that holds what it needs where the rounds went too far.

    Fewer bores stand nearer to one another or farther apart, and need more or less: what holds
    enough is looked for between what is needed and what was asked for.
    """
    layout = made.layout
    if layout.loop.dug or layout.obstacle or layout.length_m < required.length_m - TOLERANCE:
        return required, made
    low, best = required.length_m, (required, made)
    for _ in range(MOST_SHORTER):
        # a whole step of depth, or one bore, is the least there is to spare
        if asked - low < max(WORTH * asked, TOLERANCE):
            break
        tried = attempt(lot, layout.system, low)
        needed = required_there(lot.site, tried.layout, tried.ground) or required
        if tried.layout.length_m >= needed.length_m - TOLERANCE and not tried.layout.obstacle:
            best, asked, low = (needed, tried), low, needed.length_m
        else:
            # what it would have needed, as from below; where that is no less than what is known
            # to hold, half-way
            low = needed.length_m if low < needed.length_m < asked else (low + asked) / 2
    return _no_deeper(lot, *best)


def _no_deeper(lot: PreparedLot, required: Required, made: Attempt) -> tuple[Required, Attempt]:
    """The layout, or the same bores less deep where they hold more than they need."""
    layout, vertical = made.layout, lot.site.exchanger.vertical
    bores = len(layout.of(Bore))
    if not bores or vertical.as_typed or vertical.pad is not None:
        return required, made
    there = lot.with_exchanger(replace(lot.site.exchanger, vertical=replace(vertical, count=bores)))
    for _ in range(MOST_SHORTER):
        # a step of depth for each bore is what rounding takes
        if made.layout.length_m - required.length_m < bores * lot.site.unit.step_m:
            break
        tried = attempt(there, layout.system, required.length_m)
        needed = required_there(lot.site, tried.layout, tried.ground) or required
        held_m = tried.layout.length_m
        if tried.layout.obstacle or held_m < needed.length_m - TOLERANCE:
            break
        if held_m >= made.layout.length_m - TOLERANCE:
            break
        # how many the lot holds is no question of how many are drilled
        full = replace(tried.layout, capacity_m=layout.capacity_m, most=layout.most)
        required, made = needed, replace(tried, layout=full)
    return required, made


def required_there(site: Site, layout: Layout, ground: Ground) -> Required | None:
    """What is required of a layout as it stands on its ground; None where nothing says.

    Raises
    ------
    DemandError
        No length is enough with the fluid as it flows.
    """
    laid = laid_out(with_pipes(layout, site.exchanger, ground=ground))
    return required_of(site.exchanger, layout.system, laid=laid)
