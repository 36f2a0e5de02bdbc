"""What each rule costs on this lot, and the smallest change that would make it fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from siteplan.alternatives.smaller_machine import smaller_rig
from siteplan.alternatives.stating import statements
from siteplan.available.prepared import PreparedLot
from siteplan.design.denser_trench import denser_kind
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.lay_out import capacity_of, has_room
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.pipes import u_bend_for, u_bend_size
from siteplan.layout.elements import Bore, Trench
from siteplan.preferences.table import count_of, figures_of
from siteplan.rule_books.model import COMMON_PRACTICE, Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site, System
from siteplan.site.options.bores import default_pad
from siteplan.site.options.exchanger import with_u_bend
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.loop_types import loop_type

BORE_SPACING_FLOOR_M = 10 * FOOT
"""Bores nearer than this are not proposed: common practice, no source [m]."""
TRENCH_GAP_FLOOR_M = 8 * FOOT
"""Trenches nearer than this, edge to edge, are not proposed: common practice, no source [m]."""
TRENCH_STEPS_M = (1 * FOOT, 2 * FOOT, 3 * FOOT)
"""Deeper by so much are trenches tried: common practice, no source [m]."""
DEEPEST_TRENCH_M = 8 * FOOT
"""Trenches deeper than this are not proposed: common practice, no source [m]."""
DEEPEST_M = 500 * FOOT
"""Bores deeper than this are not proposed: common practice, no source [m]."""
PAD_TILTS_DEG = figures_of("alternatives.weighing.pad_tilts_deg")
PAD_BORES = 20
"""More bores than this are not proposed from one pad: common practice, no source."""
VARIANCES = count_of("alternatives.weighing.variances")
"""Rules tried for a variance: those that cost most."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one rule costs.

    Parameters
    ----------
    rule
        The rule.
    features
        Ids of what it keeps off on this lot.
    gain_m
        Exchanger length the lot would gain if the rule alone were absent [m].
    """

    rule: Rule
    features: tuple[str, ...]
    gain_m: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that would make a lot fit, as a trial with it has shown.

    More pipe in a trench is the exception: that is a screening by length of pipe.

    Parameters
    ----------
    system
        Loop type it makes fit.
    kind
        ``"spacing"``, ``"depth"``, ``"inclined"``, ``"pipes"``, ``"rig"`` or
        ``"variance"``.
    change
        The change.
    """

    system: System
    kind: str
    change: Reason


@dataclass(frozen=True, slots=True)
class Weighing:
    """Costs ranked from the dearest, and remedies where the lot does not fit.

    Parameters
    ----------
    system
        Loop type the costs are of.
    costs, remedies
        Both empty where they were not asked for.
    """

    system: System
    costs: tuple[Cost, ...] = ()
    remedies: tuple[Remedy, ...] = ()


def weigh(
    lot: PreparedLot,
    drawn: Trial,
    *,
    asked: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> Weighing:
    """Costs of the rules for the loop type drawn; remedies where it does not fit."""
    # nothing to compare rules by: only whole trials can say what would help
    if drawn.layout is None or drawn.required is None or _uncounted(lot.site, drawn.system):
        smaller = _smaller_rig(lot, drawn) if not drawn.fits else ()
        return Weighing(drawn.system, (), tuple(smaller))
    # no rule helps a lot that has room, and what is wrong with its pipes says itself what does
    enough = drawn.layout.length_m >= drawn.required.length_m - TOLERANCE
    roomy = enough and not drawn.layout.obstacle
    if roomy and not drawn.fits and not asked:
        return Weighing(drawn.system)
    progress("weighing the rules")
    costs = costs_of(lot, drawn)
    if roomy:
        return Weighing(drawn.system, costs)
    progress("looking for a change that fits")
    return Weighing(drawn.system, costs, tuple(_remedies(lot, drawn, costs)))


def _uncounted(site: Site, system: System) -> bool:
    """Whether a loop type has no capacity in straight rows to compare rules by."""
    leans = _of_bores(system) and site.exchanger.vertical.pad is not None
    return leans or record_of(system).capacity is None


def _of_bores(system: System) -> bool:
    return loop_type(system).kind == Bore.kind


def _of_trenches(system: System) -> bool:
    return loop_type(system).kind == Trench.kind


def costs_of(lot: PreparedLot, trial: Trial) -> tuple[Cost, ...]:
    """Each rule that takes ground, with the length its absence alone would gain, dearest first.

    The engine is run again for every rule; what a rule keeps off stays itself off limits.
    """
    base = capacity_of(lot, trial.system)
    kept: dict[Rule, list[str]] = {}
    for keep_out in trial.keep_outs:
        kept.setdefault(keep_out.rule, []).append(keep_out.feature)
    costs = [
        Cost(rule, tuple(features), max(0.0, capacity_of(free, trial.system) - base))
        for rule, features in kept.items()
        for free in (lot.with_rules(_without(lot.rules, rule)),)
    ]
    ranked = sorted(costs, key=lambda cost: -cost.gain_m)
    return tuple(cost for cost in ranked if cost.gain_m > TOLERANCE)


def _without(rules: RuleSet, rule: Rule) -> RuleSet:
    return rules.relaxed(rule, 0.0) if rule.distance_m > 0 else rules.without(rule)


def _remedies(lot: PreparedLot, drawn: Trial, costs: Sequence[Cost]) -> Iterator[Remedy]:
    # what costs nothing comes first: a smaller machine, then closer or deeper, and last what an
    # authority must allow
    yield from _smaller_rig(lot, drawn)
    required = drawn.required.length_m if drawn.required else 0.0
    yield from _nearer(lot, drawn.system, required)
    yield from _deeper(lot, drawn.system, required)
    yield from _deeper_trenches(lot, drawn.system)
    yield from _inclined(lot, drawn.system, required)
    yield from _more_pipes(lot, drawn.system, required)
    for change in statements(lot, drawn.system):
        yield Remedy(drawn.system, "statement", change)
    for cost in costs[:VARIANCES]:
        yield from _variance(lot, cost, drawn.system, required=required)


def _smaller_rig(lot: PreparedLot, drawn: Trial) -> Iterator[Remedy]:
    change = smaller_rig(lot, drawn)
    if change is not None:
        yield Remedy(drawn.system, "rig", change)


def _nearer(lot: PreparedLot, system: System, required: float) -> Iterator[Remedy]:
    """Largest smaller spacing at which the length fits."""
    wanted, unit = lot.site.exchanger, lot.site.unit
    if _of_bores(system) and wanted.vertical.grid is None:
        now, floor = wanted.vertical.spacing_m, BORE_SPACING_FLOOR_M
    elif _of_trenches(system):
        options = wanted.horizontal
        now, floor = options.spacing_m, TRENCH_GAP_FLOOR_M + options.width_m
    else:
        return

    def holds(spacing: float) -> bool:
        return has_room(_spaced(lot, system, spacing), system, required)

    def fits(spacing: float) -> bool:
        return try_system(_spaced(lot, system, spacing), system).fits

    step = unit.remedy_step_m
    nearest = _nearest_step(now, floor, step, holds)
    if nearest is not None and fits(nearest):
        # above what straight rows hold, a whole trial may still place bores freely
        nearest = _nearest_step(now, nearest + step, step, fits) or nearest
        yield Remedy(system, "spacing", reason("nearer-together", spacing_m=nearest, now_m=now))


def _spaced(lot: PreparedLot, system: System, spacing: float) -> PreparedLot:
    wanted = lot.site.exchanger
    if _of_bores(system):
        narrower = replace(wanted.vertical, spacing_m=spacing, spacing_most_m=None)
        wanted = replace(wanted, vertical=narrower)
    else:
        wanted = replace(wanted, horizontal=replace(wanted.horizontal, spacing_m=spacing))
    return lot.with_exchanger(wanted)


def _deeper(lot: PreparedLot, system: System, required: float) -> Iterator[Remedy]:
    """Depth at which the bores that have room carry the length."""
    if not _of_bores(system):
        return
    options = lot.site.exchanger.vertical
    # as many bores as have room, each deeper: the number is the lot's limit, the depth the rig's
    bores = round(capacity_of(lot, system) / options.depth_most_m)
    if options.grid is not None:
        bores = options.grid.rows * options.grid.columns
    elif options.count is not None:
        bores = min(bores, options.count)
    if bores == 0:
        return
    step = lot.site.unit.remedy_step_m
    depth = math.ceil(required / bores / step - 1e-9) * step
    if not options.depth_most_m < depth <= DEEPEST_M:
        return
    deeper = replace(lot.site.exchanger, vertical=replace(options, depth_most_m=depth))
    energy, circuits = deeper.energy, deeper.piping.circuits
    pipe = None
    if energy is not None and not circuits.pipe and circuits.longest_m is None:
        # a deeper U-bend makes a longer circuit, which the next size of pipe may have
        now = u_bend_size(energy.loop.pipe_diameter_m)
        size = u_bend_for(2 * depth * circuits.bores, now)
        deeper = replace(deeper, energy=with_u_bend(energy, size))
        pipe = reason("with-larger-pipe", pipe=size) if size != now else None
    if try_system(lot.with_exchanger(deeper), system).fits:
        most = options.depth_most_m
        change = reason("deeper-bores", bores=bores, depth_m=depth, most_m=most, pipe=pipe)
        yield Remedy(system, "depth", change)


def _deeper_trenches(lot: PreparedLot, system: System) -> Iterator[Remedy]:
    """Least depth of trench, by whole steps, at which its own calculated length fits."""
    wanted = lot.site.exchanger
    options = wanted.horizontal
    if not _of_trenches(system) or wanted.energy is None:
        return
    for step in TRENCH_STEPS_M:
        depth = options.depth_m + step
        if depth > DEEPEST_TRENCH_M:
            return
        deeper = replace(wanted, horizontal=replace(options, depth_m=depth))
        trial = try_system(lot.with_exchanger(deeper), system)
        if trial.fits and trial.required is not None:
            change = reason(
                "deeper-trenches",
                depth_m=depth,
                now_m=options.depth_m,
                length_m=trial.required.length_m,
            )
            yield Remedy(system, "depth", change)
            return


def _inclined(lot: PreparedLot, system: System, required: float) -> Iterator[Remedy]:
    """Inclined bores from one pad, leaning as little as carries the length."""
    options = lot.site.exchanger.vertical
    if (options.count or required / options.depth_most_m) > PAD_BORES:
        return
    if not _of_bores(system) or options.pad is not None or options.grid is not None:
        return
    # upright as far as can be: each degree makes drilling harder
    for tilt in PAD_TILTS_DEG:
        pad = replace(default_pad(), tilt_deg=tilt)
        leaning = replace(lot.site.exchanger, vertical=replace(options, pad=pad))
        if try_system(lot.with_exchanger(leaning), system).fits:
            yield Remedy(system, "inclined", reason("leaning-bores", tilt_deg=tilt))
            return


def _more_pipes(lot: PreparedLot, system: System, required: float) -> Iterator[Remedy]:
    """A kind of trench with more pipe in each metre, at the same length of pipe."""
    if not _of_trenches(system):
        return
    denser = denser_kind(lot, required, capacity_of(lot, system))
    if denser is not None:
        kind = denser.kind
        change = reason(
            "denser-trench",
            words=kind.words,
            kind=kind.name,
            length_m=denser.length_m,
            measure=loop_type(system).measure,
        )
        yield Remedy(system, "pipes", change)


def _variance(lot: PreparedLot, cost: Cost, system: System, *, required: float) -> Iterator[Remedy]:
    """Largest smaller distance of one rule at which straight rows hold the length."""
    rule = cost.rule
    if rule.distance_m <= 0:
        return

    def holds(distance: float) -> bool:
        return has_room(lot.with_rules(lot.rules.relaxed(rule, distance)), system, required)

    nearest = _nearest_step(rule.distance_m, 0.0, lot.site.unit.remedy_step_m, holds)
    if nearest is None:
        return
    # room in straight rows is a cheap screening: only a whole trial with the check is a promise
    if try_system(lot.with_rules(lot.rules.relaxed(rule, nearest)), system).fits:
        change = reason(
            "below-common-practice" if rule.book == COMMON_PRACTICE else "by-variance",
            distance_m=nearest,
            usual_m=rule.distance_m,
            printed=rule.printed,
            kind=rule.subject,
            book=rule.book,
            source=rule.source,
        )
        yield Remedy(system, "variance", change)


def _nearest_step(
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
