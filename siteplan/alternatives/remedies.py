"""Changes that would make a lot fit, for every loop type, the smallest first.

How large a change is stands in `ORDER`: what is only said or mixed otherwise comes before what is
dug otherwise, and that before what somebody has to give up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import Final

from siteplan.alternatives.backup_heat import backup_heat
from siteplan.alternatives.distances import shorter_by_share, shorter_distances
from siteplan.alternatives.mixtures import mixed_otherwise, other_fluid
from siteplan.alternatives.other_entry import through_another_wall
from siteplan.alternatives.other_heat import other_heat
from siteplan.alternatives.screening import fits_with, screened
from siteplan.alternatives.sizes import (
    deeper_bores,
    deeper_trenches,
    laid_out_by_plan,
    leaning_bores,
    more_pipes,
    nearer_together,
)
from siteplan.alternatives.smaller_machine import beyond_reach, smaller_rig, way_for_machine
from siteplan.alternatives.stating import all_stated, statements
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Trench
from siteplan.preferences.table import count_of
from siteplan.site.model import Exchanger, Site, System
from siteplan.vocabulary.loop_types import loop_type

MOST: Final = count_of("alternatives.remedies.most")

ORDER: Final = (
    "fluid",
    "places",
    "statement",
    "entry",
    "rig",
    "pipes",
    "spacing",
    "depth",
    "inclined",
    "loads",
    "own distance",
    "variance",
)
"""Kinds of change, the smallest first: another mixture in the same pipe; bores where the plan lays
them out, and not by hand; a figure that is written down; a hole in another wall; a smaller machine;
the same digging with more pipe in it; closer or deeper, which changes the length; another way of
drilling; heat from elsewhere on the coldest days; a distance that the owner gives up; and last what
an authority must allow."""

GIVEN_UP: Final = ("own distance", "variance")
"""Kinds of change by which somebody gives up a distance."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that would make a lot fit.

    Parameters
    ----------
    system
        Loop type it makes fit.
    kind
        One of `ORDER`.
    change
        The change.
    steps
        How many changes it is made of; the kind is that of the largest.
    """

    system: System
    kind: str
    change: Reason
    steps: int = 1

    @property
    def size(self) -> tuple[int, int]:
        """How large a change it is: how many there are, then its place in the order of kinds."""
        return self.steps, ORDER.index(self.kind)


def all_remedies(
    lot: PreparedLot, trials: Sequence[Trial], progress: Callable[[str], None] = lambda _: None
) -> tuple[Remedy, ...]:
    """Remedies of every loop type that was laid out and does not fit, the smallest changes first.

    Of one size the loop types stand in the order tried. Several changes at once are looked for
    where no loop type is helped by one that takes nothing from anybody: nobody gives up distances
    for trenches where a word is enough for bores.
    """
    laid_out = [trial for trial in trials if trial.layout and trial.required and not trial.fits]
    single: dict[System, tuple[Remedy, ...]] = {}
    for trial in laid_out:
        progress(f"looking for a change that makes {trial.system} fit")
        single[trial.system] = remedies_of(lot, trial)
    found = [remedy for remedies in single.values() for remedy in remedies]
    if all(remedy.kind in GIVEN_UP for remedy in found):
        for trial in laid_out:
            if not single[trial.system]:
                progress(f"looking for several changes that make {trial.system} fit")
                found += remedies_of(lot, trial, several=True)
    return tuple(sorted(found, key=lambda remedy: remedy.size))


def remedies_of(lot: PreparedLot, trial: Trial, *, several: bool = False) -> tuple[Remedy, ...]:
    """The smallest changes that make one loop type fit, no more than a few.

    ``several``: one that takes several changes at once, where none helps alone.
    """
    if trial.fits or trial.layout is None or trial.required is None:
        return ()
    look = _together if several else _alone
    mixed = None if trial.has_room else mixed_otherwise(lot, trial)
    if mixed is None:
        return look(lot, trial)
    # no other change helps a fluid that is too near to freezing: each is tried in a stronger one
    return tuple(_beside(mixed.told, remedy) for remedy in look(mixed.lot, mixed.trial))


def _alone(lot: PreparedLot, trial: Trial) -> tuple[Remedy, ...]:
    """A few of the smallest changes."""
    return tuple(islice(_each(lot, trial), MOST))


def _together(lot: PreparedLot, trial: Trial) -> tuple[Remedy, ...]:
    """The smallest of several changes at once."""
    ways = chain(_with_statements(lot, trial), _several(lot, trial), _with_a_way_in(lot, trial))
    return tuple(islice(ways, 1))


def _several(lot: PreparedLot, trial: Trial) -> Iterator[Remedy]:
    """Several distances that owner and designer may decide on, alone or beside another change."""
    layout, required = trial.layout, trial.required
    assert layout is not None
    assert required is not None
    roomy = layout.length_m >= required.length_m - TOLERANCE
    if roomy or uncounted(lot.site, trial.system):
        return
    shorter = list(shorter_by_share(lot, trial))
    for there, told in shorter:
        held = fits_with(there, trial.system, required.length_m)
        if held is not None:
            change = reason(told.code, **{**dict(told.pairs), "screened": held.screened})
            yield Remedy(trial.system, "own distance", change, steps=_count(told))
    for there, told in shorter:
        again = try_system(there, trial.system) if not screened(trial.system) else trial
        for remedy in _each(there, again):
            both = _beside(told, remedy)
            yield replace(both, kind="own distance", steps=1 + _count(told))


def _count(told: Reason) -> int:
    each = told.values["each"]
    return len(each) if isinstance(each, tuple) else 1


def _with_statements(lot: PreparedLot, trial: Trial) -> Iterator[Remedy]:
    """Changes that help only where the flows of wells and drainfields are stated beside."""
    stated = all_stated(lot, trial.system)
    if stated is None:
        return
    laxer, told = stated
    again = try_system(laxer, trial.system) if not screened(trial.system) else trial
    for remedy in _each(laxer, again):
        yield _beside(told, remedy)


def _with_a_way_in(lot: PreparedLot, trial: Trial) -> Iterator[Remedy]:
    """Changes that help only where the machine gets in, which part of the lot keeps from it.

    Looked for where nothing is laid out at all: else what the machine alone takes is known, and a
    way in is told by itself.
    """
    assert trial.layout is not None
    shut = None if trial.layout.elements else beyond_reach(lot, trial.system)
    if shut is None:
        return
    opened, told = shut
    again = try_system(opened, trial.system) if not screened(trial.system) else trial
    for remedy in chain(_each(opened, again), _several(opened, again)):
        yield _beside(told, remedy)


def _beside(told: Reason, remedy: Remedy) -> Remedy:
    """A remedy that helps only beside another change."""
    both = reason("both-changes", first=told, second=remedy.change)
    return replace(remedy, change=both, steps=remedy.steps + 1)


def uncounted(site: Site, system: System) -> bool:
    """Whether a loop type has no capacity in straight rows to compare rules by."""
    of_bores = loop_type(system).kind == Bore.kind
    return (of_bores and site.exchanger.vertical.pad is not None) or (
        record_of(system).capacity is None
    )


def closest(wanted: Exchanger, trials: Sequence[Trial], remedies: Sequence[Remedy]) -> Trial:
    """The loop type that the smallest change makes fit; else the one that holds most of its need.

    Before all, one whose places somebody gave: he asks about these. Of those that hold nothing the
    one that takes least ground, and of equals the first tried.
    """
    none = (math.inf, 0)
    smallest: dict[System, tuple[float, int]] = {}
    for remedy in remedies:
        smallest[remedy.system] = min(remedy.size, smallest.get(remedy.system, none))

    def rank(trial: Trial) -> tuple[bool, tuple[float, int], float, float]:
        by_hand = trial.layout is not None and trial.layout.by_hand
        change, held = smallest.get(trial.system, none), share_held(trial)
        return not by_hand, change, -held, 0.0 if held > 0 else _ground_m2(wanted, trial)

    return min(trials, key=rank)


def _ground_m2(wanted: Exchanger, trial: Trial) -> float:
    """Ground that a loop type takes at least, at its spacing; infinite where none is laid [m2]."""
    if trial.layout is None or trial.required is None:
        return math.inf
    needed_m, kind = trial.required.length_m, loop_type(trial.system).kind
    if kind == Bore.kind:
        bores = math.ceil(needed_m / wanted.vertical.depth_most_m - 1e-9)
        return bores * wanted.vertical.spacing_m**2
    return needed_m * wanted.horizontal.spacing_m if kind == Trench.kind else math.inf


def share_held(trial: Trial) -> float:
    """Share of what is required that a trial provides; -1 where nothing was tried [-]."""
    if trial.layout is None or trial.required is None or trial.required.length_m <= 0:
        return -1.0
    return trial.layout.length_m / trial.required.length_m


def _each(lot: PreparedLot, trial: Trial) -> Iterator[Remedy]:
    """Every remedy of one loop type, in the order of their size; each is looked for when asked."""
    layout, required = trial.layout, trial.required
    assert layout is not None
    assert required is not None
    system, needed_m = trial.system, required.length_m
    # what has room fails by its fluid or its pipes, and only what is said of those helps
    roomy = layout.length_m >= needed_m - TOLERANCE and not layout.obstacle
    ways = [("fluid", other_fluid(trial)), ("places", laid_out_by_plan(lot, trial))]
    if layout.by_hand:
        # what the ground holds where a plan lays out says nothing of places that stay as they are
        ways += [] if roomy else [("depth", deeper_bores(lot, system, needed_m))]
        roomy = True
    # what costs a word or a form comes before what costs digging
    if not roomy:
        ways += [
            ("statement", statements(lot, system, needed_m)),
            ("entry", through_another_wall(lot, trial)),
            ("rig", _smaller(lot, trial)),
        ]
    if not roomy and not uncounted(lot.site, system):
        ways += [
            ("pipes", more_pipes(lot, system)),
            ("spacing", nearer_together(lot, system, needed_m)),
            ("depth", deeper_bores(lot, system, needed_m)),
            ("depth", deeper_trenches(lot, system)),
            ("inclined", leaning_bores(lot, system, needed_m)),
            ("loads", backup_heat(lot, trial)),
            ("loads", other_heat(lot, trial)),
        ]
    for kind, changes in ways:
        for change in changes:
            yield Remedy(system, kind, change)
    # a distance that an authority must agree to comes last: nobody can count on it
    if not roomy and not uncounted(lot.site, system):
        for kind, change in shorter_distances(lot, trial):
            yield Remedy(system, kind, change)


def _smaller(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    change = smaller_rig(lot, trial) or way_for_machine(lot, trial)
    if change is not None:
        yield change
