"""Other sizes as remedies: closer, deeper, leaning, or with more pipe in a trench."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from siteplan.alternatives.screening import Held, fits_with, may_hold, screened
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError
from siteplan.demand.required import required_of
from siteplan.design.denser_trench import denser_kind
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.lay_out import capacity_of, has_room
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.pipes import u_bend_for, u_bend_size
from siteplan.layout.elements import Bore, Trench
from siteplan.preferences.table import count_of, figure_of, figures_of
from siteplan.rules.limits import deepest
from siteplan.site.loop_options import unplaced
from siteplan.site.model import Exchanger, System
from siteplan.site.options.bores import default_pad
from siteplan.site.options.exchanger import with_u_bend
from siteplan.site.trench_kinds import TrenchKind, trench_kinds
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.loop_types import loop_type

BORE_SPACING_FLOOR_M: Final = 10 * FOOT
"""Bores nearer than this are not proposed: common practice, no source [m]."""
TRENCH_GAP_FLOOR_M: Final = 8 * FOOT
"""Trenches nearer than this, edge to edge, are not proposed: common practice, no source [m]."""
TRENCH_STEPS_M: Final = (1 * FOOT, 2 * FOOT, 3 * FOOT)
"""Deeper by so much are trenches tried: common practice, no source [m]."""
DEEPEST_TRENCH_M: Final = 8 * FOOT
"""Trenches deeper than this are not proposed: common practice, no source [m]."""
DEEPEST_M: Final = 800 * FOOT
"""Bores deeper than this are not proposed: common practice, no source [m]."""
FEW_DRILL_M: Final = 500 * FOOT
"""Deeper than this not every driller's rig goes: common practice, no source [m]."""
PAD_TILTS_DEG: Final = figures_of("alternatives.sizes.pad_tilts_deg")
FURTHER: Final = count_of("alternatives.sizes.further")
LEAST_SHARE: Final = figure_of("alternatives.sizes.least_share")
PAD_BORES: Final = 20
"""More bores than this are not proposed from one pad: common practice, no source."""


def more_pipes(lot: PreparedLot, system: System) -> Iterator[Reason]:
    """The kind of trench with least more pipe a metre that the lot holds, by its own length.

    Where the length is given and not calculated, by the same length of pipe.
    """
    wanted = lot.site.exchanger
    if not _of_trenches(system):
        return
    now = required_of(wanted, system)
    # a length given by hand says nothing of what closer pipes exchange: as much pipe, no more
    if now is None or now.basis != "calculated":
        yield from _as_much_pipe(lot, system, 0.0 if now is None else now.length_m)
        return
    for kind in _kinds_above(wanted):
        usual_m = kind.depth_below(wanted.ground_year.frost_m, lot.site.unit)
        options = replace(
            wanted.horizontal,
            kind=kind.name,
            pipes=kind.pipes,
            width_m=kind.width_m,
            depth_m=max(usual_m, wanted.horizontal.depth_m),
        )
        # pipes that lie closer exchange less: as much pipe is the least that is needed
        least_m = now.length_m * trench_kinds()[wanted.horizontal.kind].pipe_per_m / kind.pipe_per_m
        changed = replace(wanted, horizontal=options)
        held = _holds_its_need(lot, changed, system, LEAST_SHARE * least_m)
        if held is not None:
            yield reason(
                "denser-trench-calculated",
                words=kind.words,
                kind=kind.name,
                length_m=held.length_m,
                screened=held.screened,
            )
            return


def _kinds_above(wanted: Exchanger) -> list[TrenchKind]:
    """Kinds with more pipe a metre than the site's own, least first."""
    options = wanted.horizontal
    now = trench_kinds()[options.kind].pipe_per_m
    denser = [
        kind
        for kind in trench_kinds().values()
        if kind.pipe_per_m > now + TOLERANCE and kind.width_m < options.spacing_m
    ]
    return sorted(denser, key=lambda kind: round(kind.pipe_per_m, 6))


def _as_much_pipe(lot: PreparedLot, system: System, required_m: float) -> Iterator[Reason]:
    denser = denser_kind(lot, required_m, capacity_of(lot, system))
    if denser is not None:
        yield reason(
            "denser-trench",
            words=denser.kind.words,
            kind=denser.kind.name,
            length_m=denser.length_m,
            measure=loop_type(system).measure,
        )


def nearer_together(lot: PreparedLot, system: System, required_m: float) -> Iterator[Reason]:
    """Largest smaller spacing at which the length fits."""
    wanted, unit = lot.site.exchanger, lot.site.unit
    if _of_bores(system) and not wanted.vertical.as_typed:
        now, floor = wanted.vertical.spacing_m, BORE_SPACING_FLOOR_M
    elif _of_trenches(system):
        options = wanted.horizontal
        now, floor = options.spacing_m, TRENCH_GAP_FLOOR_M + options.width_m
    else:
        return
    asked = [rule for part in loop_type(system).parts if (rule := lot.rules.apart(part))]
    floor = max([floor, *(rule.distance_m for rule in asked)])  # no wish makes it less
    step = unit.remedy_step_m

    def holds(spacing: float) -> bool:
        return has_room(_spaced(lot, system, spacing), system, required_m)

    def with_spacing(spacing: float) -> Held | None:
        return fits_with(_spaced(lot, system, spacing), system, required_m)

    def fits(spacing: float) -> bool:
        return with_spacing(spacing) is not None

    # where even the least spacing holds too little no step between needs a trial
    if floor >= now - TOLERANCE or not may_hold(_spaced(lot, system, floor), system, required_m):
        return
    found = nearest_held((now, floor, step), holds, with_spacing)
    if found is not None:
        nearest, held = found
        # above what straight rows hold, a whole trial may still place bores freely
        if not screened(system):
            nearest = nearest_step(now, nearest + step, step, fits) or nearest
        known = required_of(_spaced(lot, system, nearest).site.exchanger, system)
        calculated = known is not None and known.basis == "calculated"
        yield reason(
            "nearer-together",
            spacing_m=nearest,
            now_m=now,
            after=reason("then-required", length_m=held.length_m)
            if calculated
            else reason("to-be-calculated-again"),
            screened=held.screened,
        )


def _spaced(lot: PreparedLot, system: System, spacing: float) -> PreparedLot:
    wanted = lot.site.exchanger
    if _of_bores(system):
        narrower = replace(wanted.vertical, spacing_m=spacing, spacing_most_m=None)
        wanted = replace(wanted, vertical=narrower)
    else:
        wanted = replace(wanted, horizontal=replace(wanted.horizontal, spacing_m=spacing))
    return lot.asked_for(wanted)


def deeper_bores(lot: PreparedLot, system: System, required_m: float) -> Iterator[Reason]:
    """Depth at which the bores that have room carry the length."""
    if not _of_bores(system):
        return
    options = lot.site.exchanger.vertical
    # as many bores as have room, each deeper: the number is the lot's limit, the depth the rig's
    bores = round(capacity_of(lot, system) / options.depth_most_m)
    if options.as_typed:
        bores = options.stated or 0
    elif options.count is not None:
        bores = min(bores, options.count)
    if bores == 0:
        return
    step = lot.site.unit.remedy_step_m
    depth = math.ceil(required_m / bores / step - 1e-9) * step
    if not options.depth_most_m < depth <= DEEPEST_M:
        return
    # fewer and deeper bores change the length itself, so the whole type is tried, not the sum
    deeper = replace(lot.site.exchanger, vertical=replace(options, depth_most_m=depth))
    energy, circuits = deeper.energy, deeper.piping.circuits
    pipe = None
    if energy is not None and not circuits.pipe and circuits.longest_m is None:
        # a deeper U-bend makes a longer circuit, which the next size of pipe may have
        now = u_bend_size(energy.loop.pipe_diameter_m)
        size = u_bend_for(2 * depth * circuits.bores, now)
        deeper = replace(deeper, energy=with_u_bend(energy, size))
        pipe = reason("with-larger-pipe", pipe=size) if size != now else None
    there = lot.asked_for(deeper)
    if there.site.exchanger.vertical.depth_most_m < depth - TOLERANCE:
        return  # a rule lets no bore be so deep
    if try_system(there, system).fits:
        most = options.depth_most_m
        few = reason("few-rigs-so-deep", deep_m=FEW_DRILL_M) if depth > FEW_DRILL_M else None
        yield reason("deeper-bores", bores=bores, depth_m=depth, most_m=most, pipe=pipe, few=few)


def deeper_trenches(lot: PreparedLot, system: System) -> Iterator[Reason]:
    """Least depth of trench, by whole steps, at which its own calculated length fits."""
    wanted = lot.site.exchanger
    options = wanted.horizontal
    if not _of_trenches(system) or wanted.energy is None:
        return
    now = required_of(wanted, system)
    least_m = 0.0 if now is None else LEAST_SHARE * now.length_m
    limits = [deepest(lot.site, lot.rules, part) for part in loop_type(system).parts]
    most_m = min([DEEPEST_TRENCH_M, *(limit.depth_m for limit in limits if limit is not None)])
    for step in TRENCH_STEPS_M:
        depth = options.depth_m + step
        if depth > most_m + TOLERANCE:
            return
        # deeper ground is steadier, and needs less length: each depth has its own
        deeper = replace(wanted, horizontal=replace(options, depth_m=depth))
        held = _holds_its_need(lot, deeper, system, least_m)
        if held is not None:
            yield reason(
                "deeper-trenches",
                depth_m=depth,
                now_m=options.depth_m,
                length_m=held.length_m,
                screened=held.screened,
            )
            return


def _holds_its_need(
    lot: PreparedLot, wanted: Exchanger, system: System, least_m: float
) -> Held | None:
    """What another exchanger needs, where the lot holds it; else None.

    ``least_m`` is a length that it needs in any case: calculating costs time [m].
    """
    if not may_hold(lot.asked_for(wanted), system, least_m):
        return None
    try:
        needed = required_of(wanted, system)
    except DemandError:
        return None
    if needed is None:
        return None
    return fits_with(lot.asked_for(wanted), system, needed.length_m)


def laid_out_by_plan(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    """Elements where a plan lays them out, in the place of those that somebody gave."""
    if trial.layout is None or not trial.layout.by_hand:
        return
    free = unplaced(lot.site.exchanger)
    if try_system(lot.asked_for(free), trial.system).fits:
        yield reason("laid-out-by-plan", thing=trial.layout.loop.noun)


def leaning_bores(lot: PreparedLot, system: System, required_m: float) -> Iterator[Reason]:
    """Inclined bores from one pad, leaning as little as carries the length."""
    options = lot.site.exchanger.vertical
    if not _of_bores(system) or options.pad is not None or options.as_typed:
        return
    if (options.count or required_m / options.depth_most_m) > PAD_BORES:
        return
    # a pad needs a place to stand on, as bores do
    if capacity_of(lot, system) <= 0:
        return
    # upright as far as can be: each degree makes drilling harder
    for tilt in PAD_TILTS_DEG:
        pad = replace(default_pad(), tilt_deg=tilt)
        leaning = replace(lot.site.exchanger, vertical=replace(options, pad=pad))
        if try_system(lot.asked_for(leaning), system).fits:
            yield reason("leaning-bores", tilt_deg=tilt)
            return


def _of_bores(system: System) -> bool:
    return loop_type(system).kind == Bore.kind


def _of_trenches(system: System) -> bool:
    return loop_type(system).kind == Trench.kind


def nearest_held(
    of: tuple[float, float, float],
    holds: Callable[[float], bool],
    held_with: Callable[[float], Held | None],
) -> tuple[float, Held] | None:
    """Largest step at which a loop type fits, and how that is known; None where it does not.

    Room in straight rows is a cheap screening. More elements, or nearer ones, may need more than
    was needed of fewer: where they do, a few steps further are tried as a whole.

    Parameters
    ----------
    of
        What holds now, the least that may be proposed, and the step [m].
    holds
        Whether straight rows hold the length needed now.
    held_with
        A whole trial, with the length that it needs itself.
    """
    now, floor, step = of
    nearest = nearest_step(now, floor, step, holds)
    if nearest is None:
        return None
    for further in range(FURTHER):
        value = nearest - further * step
        held = held_with(value) if value >= floor - TOLERANCE else None
        if held is not None:
            return value, held
    return None


def nearest_step(
    now: float, floor: float, step: float, holds: Callable[[float], bool]
) -> float | None:
    """Largest step below ``now`` that holds, by bisection; None where not even the floor does."""
    low, high = math.ceil(floor / step - 1e-9), math.ceil(now / step - 1e-9) - 1
    if high < low or not holds(low * step):
        return None
    while low < high:
        middle = (low + high + 1) // 2
        if holds(middle * step):
            low = middle
        else:
            high = middle - 1
    return low * step
