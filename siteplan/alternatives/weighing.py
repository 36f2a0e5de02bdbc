"""What each rule costs on this lot, and the smallest change that would make it fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from siteplan.alternatives.smaller_machine import smaller_rig
from siteplan.design.denser_trench import denser_kind
from siteplan.design.evaluate import MEASURE, Trial, try_system
from siteplan.design.lay_out import capacity_of, has_room
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.inclined import MOST_BORES
from siteplan.preferences.table import count_of, figures_of
from siteplan.rule_books.model import Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site, System
from siteplan.site.options.bores import default_pad
from siteplan.units.lengths import FOOT

BORE_SPACING_FLOOR_M = 10 * FOOT
"""Bores nearer than this are not proposed: common practice, no source [m]."""
TRENCH_GAP_FLOOR_M = 8 * FOOT
"""Trenches nearer than this, edge to edge, are not proposed: common practice, no source [m]."""
DEEPEST_M = 500 * FOOT
"""Bores deeper than this are not proposed: common practice, no source [m]."""
PAD_TILTS_DEG = figures_of("alternatives.weighing.pad_tilts_deg")
VARIANCES = count_of("alternatives.weighing.variances")


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
        ``"loop type"``, ``"spacing"``, ``"depth"``, ``"inclined"``, ``"pipes"``, ``"rig"`` or
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
    site: Site,
    rules: RuleSet,
    trials: Sequence[Trial],
    drawn: Trial,
    *,
    progress: Callable[[str], None] = lambda _: None,
) -> Weighing:
    """Costs of the rules for the loop type drawn; remedies where it does not fit."""
    if drawn.layout is None or drawn.required is None or _uncounted(site, drawn.system):
        smaller = _smaller_rig(site, rules, drawn) if not drawn.fits else ()
        return Weighing(drawn.system, (), (*_other_types(trials, drawn), *smaller))
    progress("weighing the rules")
    costs = costs_of(site, rules, drawn)
    if drawn.fits:
        return Weighing(drawn.system, costs)
    progress("looking for a change that fits")
    return Weighing(drawn.system, costs, tuple(_remedies(site, rules, trials, drawn, costs)))


def _uncounted(site: Site, system: System) -> bool:
    """Whether a loop type has no capacity in straight rows to compare rules by."""
    return system == "open" or (system == "vertical" and site.exchanger.vertical.pad is not None)


def costs_of(site: Site, rules: RuleSet, trial: Trial) -> tuple[Cost, ...]:
    """Each rule that takes ground, with the length its absence alone would gain, dearest first.

    The engine is run again for every rule; what a rule keeps off stays itself off limits.
    """
    base = capacity_of(site, rules, trial.system)
    kept: dict[Rule, list[str]] = {}
    for keep_out in trial.keep_outs:
        kept.setdefault(keep_out.rule, []).append(keep_out.feature)
    costs = [
        Cost(rule, tuple(features), max(0.0, capacity_of(site, free, trial.system) - base))
        for rule, features in kept.items()
        for free in (_without(rules, rule),)
    ]
    ranked = sorted(costs, key=lambda cost: -cost.gain_m)
    return tuple(cost for cost in ranked if cost.gain_m > TOLERANCE)


def _without(rules: RuleSet, rule: Rule) -> RuleSet:
    return rules.relaxed(rule, 0.0) if rule.distance_m > 0 else rules.without(rule)


def _remedies(
    site: Site, rules: RuleSet, trials: Sequence[Trial], drawn: Trial, costs: Sequence[Cost]
) -> Iterator[Remedy]:
    yield from _other_types(trials, drawn)
    yield from _smaller_rig(site, rules, drawn)
    required = drawn.required.length_m if drawn.required else 0.0
    yield from _nearer(site, rules, drawn.system, required)
    yield from _deeper(site, rules, drawn.system, required)
    yield from _inclined(site, rules, drawn.system, required)
    yield from _more_pipes(site, rules, drawn.system, required)
    for cost in costs[:VARIANCES]:
        yield from _variance(site, rules, cost, drawn.system, required=required)


def _other_types(trials: Sequence[Trial], drawn: Trial) -> Iterator[Remedy]:
    for trial in trials:
        if trial is not drawn and trial.fits:
            change = reason("another-loop-type", system=trial.system)
            yield Remedy(trial.system, "loop type", change)


def _smaller_rig(site: Site, rules: RuleSet, drawn: Trial) -> Iterator[Remedy]:
    change = smaller_rig(site, rules, drawn)
    if change is not None:
        yield Remedy(drawn.system, "rig", change)


def _nearer(site: Site, rules: RuleSet, system: System, required: float) -> Iterator[Remedy]:
    """Largest smaller spacing at which the length fits."""
    if system == "vertical" and site.exchanger.vertical.grid is None:
        now, floor = site.exchanger.vertical.spacing_m, BORE_SPACING_FLOOR_M
    elif system == "horizontal":
        options = site.exchanger.horizontal
        now, floor = options.spacing_m, TRENCH_GAP_FLOOR_M + options.width_m
    else:
        return

    def holds(spacing: float) -> bool:
        return has_room(_spaced(site, system, spacing), rules, system, required)

    def fits(spacing: float) -> bool:
        return try_system(_spaced(site, system, spacing), rules, system).fits

    step = site.unit.remedy_step_m
    nearer = _nearest_step(now, floor, step, holds)
    if nearer is not None and fits(nearer):
        # above what straight rows hold, a whole trial may still place bores freely
        nearer = _nearest_step(now, nearer + step, step, fits) or nearer
        yield Remedy(system, "spacing", reason("nearer-together", spacing_m=nearer, now_m=now))


def _spaced(site: Site, system: System, spacing: float) -> Site:
    wanted = site.exchanger
    if system == "vertical":
        narrower = replace(wanted.vertical, spacing_m=spacing, spacing_most_m=None)
        wanted = replace(wanted, vertical=narrower)
    else:
        wanted = replace(wanted, horizontal=replace(wanted.horizontal, spacing_m=spacing))
    return replace(site, exchanger=wanted)


def _deeper(site: Site, rules: RuleSet, system: System, required: float) -> Iterator[Remedy]:
    """Depth at which the bores that have room carry the length."""
    if system != "vertical":
        return
    options = site.exchanger.vertical
    bores = round(capacity_of(site, rules, system) / options.depth_most_m)
    if options.grid is not None:
        bores = options.grid.rows * options.grid.columns
    elif options.count is not None:
        bores = min(bores, options.count)
    if bores == 0:
        return
    step = site.unit.remedy_step_m
    depth = math.ceil(required / bores / step - 1e-9) * step
    deeper = replace(site.exchanger, vertical=replace(options, depth_most_m=depth))
    if not options.depth_most_m < depth <= DEEPEST_M:
        return
    if try_system(replace(site, exchanger=deeper), rules, system).fits:
        change = reason("deeper-bores", bores=bores, depth_m=depth, most_m=options.depth_most_m)
        yield Remedy(system, "depth", change)


def _inclined(site: Site, rules: RuleSet, system: System, required: float) -> Iterator[Remedy]:
    """Inclined bores from one pad, leaning as little as carries the length."""
    options = site.exchanger.vertical
    if (options.count or required / options.depth_most_m) > MOST_BORES:
        return
    if system != "vertical" or options.pad is not None or options.grid is not None:
        return
    for tilt in PAD_TILTS_DEG:
        pad = replace(default_pad(), tilt_deg=tilt)
        leaning = replace(site.exchanger, vertical=replace(options, pad=pad))
        if try_system(replace(site, exchanger=leaning), rules, system).fits:
            yield Remedy(system, "inclined", reason("leaning-bores", tilt_deg=tilt))
            return


def _more_pipes(site: Site, rules: RuleSet, system: System, required: float) -> Iterator[Remedy]:
    """A kind of trench with more pipe in each metre, at the same length of pipe."""
    if system != "horizontal":
        return
    denser = denser_kind(site, rules, required, capacity_of(site, rules, system))
    if denser is not None:
        kind = denser.kind
        change = reason(
            "denser-trench",
            words=kind.words,
            kind=kind.name,
            length_m=denser.length_m,
            measure=MEASURE[system],
        )
        yield Remedy(system, "pipes", change)


def _variance(
    site: Site, rules: RuleSet, cost: Cost, system: System, *, required: float
) -> Iterator[Remedy]:
    """Largest smaller distance of one rule at which straight rows hold the length."""
    rule = cost.rule
    if rule.distance_m <= 0:
        return

    def holds(distance: float) -> bool:
        return has_room(site, rules.relaxed(rule, distance), system, required)

    eased = _nearest_step(rule.distance_m, 0.0, site.unit.remedy_step_m, holds)
    if eased is not None and try_system(site, rules.relaxed(rule, eased), system).fits:
        change = reason(
            "by-variance",
            distance_m=eased,
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
