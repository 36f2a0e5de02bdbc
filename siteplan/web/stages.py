"""A plan told in stages: ground and bound at once, the drawn loop type, at rest all of them."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import Any, Final, Literal

from siteplan.available.area import AvailableArea
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.available.stage import AvailableAreas, Earlier, areas_of
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.kinds_laid_out import dug_as
from siteplan.design.lay_out import Attempt, capacity_of
from siteplan.design.trench_kind import kind_is_open, with_trench_kind
from siteplan.errors import FaultsError, InputError, SitePlanError
from siteplan.findings.model import reason
from siteplan.geometry.memory import Memory
from siteplan.geometry.points.bound import packing_bound
from siteplan.layout.elements import Bore
from siteplan.layout.trenches.ends import bound_with_ends
from siteplan.plan import SitePlan, plan_site
from siteplan.site.loop_options import facts_wanted, is_placed
from siteplan.site.model import Site, System
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import format_area, rough_length
from siteplan.vocabulary.loop_types import loop_type
from siteplan.web.drawn import shape_told
from siteplan.web.fields import plainly
from siteplan.web.ground import part_is_here
from siteplan.web.opinion import Opinion
from siteplan.web.told import plan_told, short_trial, trial_told

Json = dict[str, Any]
Share = Literal["all", "drawn", "rows", "others"]
COMPARED_AT_REST: Final = "Other kinds of trench are compared in the full plan."
COMPARED_NOW: Final = "The other kinds of trench are being compared."
IN_ROWS: Final = "So far in straight rows: free places are being looked for."
SOON_S: Final = 1.0
"""How long nobody misses a layout that is laid out again: bores alone, since trenches take long
[s]."""
REST_S: Final = 1.0
"""Rest after a change, before all loop types are laid out [s]."""


@dataclass(frozen=True, slots=True)
class Job:
    """A lot to plan.

    Parameters
    ----------
    path
        The site file.
    drawn
        Loop type drawn last; empty where none was.
    kind
        Kind of trench drawn last; empty where none was.
    staged
        Whether stages are told on the way; else the whole plan alone.
    share
        What of it one child does: all of it, or, where others work beside, the loop type drawn and
        at rest the plan, straight rows of that loop type, or the other loop types.
    """

    path: str
    drawn: System = ""
    kind: str = ""
    staged: bool = True
    share: Share = "all"


@dataclass(slots=True)
class Telling:
    """Who is told of the stages, and who may want something meanwhile.

    Parameters
    ----------
    tell
        Called with each stage and what is told.
    wanted
        Waits so long [s], or until something is asked.
    """

    tell: Callable[[str, Any], None]
    wanted: Callable[[float], object]
    began: float = field(default_factory=time.monotonic)

    @property
    def told_s(self) -> float:
        """How long the lot is worked on [s]."""
        return time.monotonic() - self.began

    def step(self, words: str) -> None:
        """Say what is done next."""
        self.tell("step", words)

    def rest(self) -> None:
        """Wait until the lot has been at rest."""
        left = REST_S - self.told_s
        if left > 0:
            self.step("the full plan begins when nothing moves")
            self.wanted(left)


def staged_plan(job: Job, telling: Telling, earlier: Earlier | None = None) -> SitePlan | None:
    """The plan of a site file, told in stages; None where it has faults.

    Of an earlier plan of the lot all is taken over that did not change.
    """
    path, tell = Path(job.path), telling.tell
    try:
        areas, site = None, None
        if job.staged:
            site, whole = _read_at_least(path)
            telling.step("measuring the ground left")
            known = None if earlier is None else earlier.lot.memory
            areas = areas_of(lot_of(site, earlier=known))
            system = system_first(site, job.drawn)
            tell("area", areas_told(areas, system))
            if job.share == "all":
                telling.step(f"straight rows, {system}")
                tell("quick", quick_told(areas.lot, system))
        if site is None or not whole:
            site = read_site(path)
        if areas is not None:
            telling.step(f"laying out {system}")
            _tell_the_drawn(areas.lot, system, job.kind, telling)
            telling.rest()
        plan = plan_site(site, earlier=areas or earlier, progress=telling.step)
        lot = plan.lot
        opinion = Opinion.packed(lot.site, lot.rules, plan.drawn)
        tell("plan", {"told": plan_told(plan), "opinion": opinion})
    except FaultsError as error:
        tell("faults", [plainly(fault) for fault in error.faults])
    except SitePlanError as error:
        tell("faults", [str(error)])
    else:
        return plan
    return None


def rows_told(job: Job, telling: Telling, earlier: Memory | None = None) -> Memory | None:
    """Tell what straight rows of the loop type drawn hold; what is known of the lot from then on.

    ``earlier`` is what was known of it before the last change.
    """
    with suppress(SitePlanError):  # faults are told with the plan
        site, _ = _read_at_least(Path(job.path))
        lot = lot_of(site, earlier=earlier)
        telling.tell("quick", quick_told(lot, system_first(site, job.drawn)))
        return _known_now(lot)
    return earlier


def other_trials(job: Job, telling: Telling, earlier: Memory | None = None) -> Memory | None:
    """Lay out and check the loop types beside the one drawn, and tell each as it comes.

    Where one loop type is asked for there are no others, nor where figures are missing: what is
    assumed for want of them is good for ground and rows alone.
    """
    with suppress(SitePlanError):  # faults are told with the plan
        site = read_site(Path(job.path))
        if site.exchanger.system:
            return earlier
        lot, first = lot_of(site, earlier=earlier), system_first(site, job.drawn)
        others = [system for system in site.exchanger.order if system != first]
        # what is quick of each comes before what takes long of one
        tried = [_tried(lot, system, job.kind) for system in others]
        for trial, _, more in chain(*(islice(each, 1) for each in tried), *tried):
            told = short_trial(trial, site.unit)
            telling.tell("other", {**told, "why": _and_then(told["why"], more)})
        return _known_now(lot)
    return earlier


def _known_now(lot: PreparedLot) -> Memory:
    lot.memory.let_go()
    return lot.memory


def _read_at_least(path: Path) -> tuple[Site, bool]:
    """The site, and whether nothing is missing: else with what is assumed for it."""
    try:
        return read_site(path), True
    except InputError:
        return read_site(path, quick=True), False


def system_first(site: Site, drawn: System) -> System:
    """Loop type laid out before the others: asked for, placed by hand, drawn last, or first."""
    wanted = site.exchanger
    if wanted.system:
        return wanted.system
    placed = [system for system in wanted.order if is_placed(wanted, system)]
    among = placed or wanted.order
    return drawn if drawn in among else among[0]


def _tell_the_drawn(lot: PreparedLot, system: System, kind: str, telling: Telling) -> None:
    """Lay out one loop type and check it, and tell what came of it.

    Of wells the layout is told before the years are calculated that may forbid it. Where a first
    layout has another length than it needs, it is told before one is looked for that agrees.
    """

    def tell(stage: str, site: Site, trial: Trial, more: str = "") -> None:
        told = trial_told(site, lot.rules, trial)
        told = {**told, "why": _and_then(told["why"], more)}
        opinion = Opinion.packed(site, lot.rules, trial)
        telling.tell(stage, {"told": told, "opinion": opinion})

    def begun(site: Site, required: Required, made: Attempt) -> None:
        # bores are mostly laid out again before anybody has seen the first ones
        if not loop_type(system).dug and telling.told_s < SOON_S:
            return
        why = reason("laid-out-first")
        tell("laid", site, Trial(system, required, made.layout, (), (), (), why, fits=False))

    laid = partial(tell, "laid", lot.site) if loop_type(system).flow else None
    for trial, site, more in _tried(lot, system, kind, laid, begun):
        tell("drawn", site, trial, more)


def _and_then(why: str, more: str) -> str:
    """What a loop type came to, and in a sentence of its own what may still come of it."""
    return f"{why.rstrip('.')}. {more}" if more else why


def _tried(
    lot: PreparedLot,
    system: System,
    kind: str,
    laid: Callable[[Trial], None] | None = None,
    first: Callable[[Site, Required, Attempt], None] = lambda *_: None,
) -> Iterator[tuple[Trial, Site, str]]:
    """One loop type laid out and checked on a site, and what may still come of it, in words.

    Where the kind of trench is open, the kind drawn last comes before the long comparison of all,
    which is left to the full plan where that one fits. Bores are laid out in straight rows alone
    before the long look for free places, which is spared where rows hold enough.
    """
    tell = laid or (lambda _: None)
    wanted = lot.site.exchanger
    vertical = wanted.vertical
    last = [options for options in wanted.horizontal.choices if options.kind == kind]
    if last and loop_type(system).dug:
        known = dug_as(lot, last[0])
        trial = try_system(known, system, begun=partial(first, known.site))
        yield trial, known.site, COMPARED_AT_REST if trial.fits else COMPARED_NOW
        if trial.fits:
            return
    free = vertical.arrangement == "best" and not vertical.as_typed and vertical.pad is None
    if free and loop_type(system).kind == Bore.kind:
        rows = replace(wanted, vertical=replace(vertical, arrangement="rows"))
        trial = try_system(lot.with_exchanger(rows), system, begun=partial(first, lot.site))
        yield trial, lot.site, "" if trial.fits else IN_ROWS
        if trial.fits:
            return
    chosen = with_trench_kind(lot, (system,), first)
    trial = try_system(chosen.lot, system, tell, partial(first, chosen.lot.site))
    yield chosen.told(trial), chosen.lot.site, ""


# --- ground and quick figures


def areas_told(areas: AvailableAreas, system: System) -> Json:
    """Ground left for each part, and what no arrangement of one loop type can exceed there."""
    site = areas.lot.site
    needs_m, bound_m = needed_of(site, system), bound_of(areas, system)
    return {
        "parts": {
            area.part: _area_told(area, site)
            for area in areas.parts
            if part_is_here(site, area.part)
        },
        "system": system,
        "measure": facts_wanted(site.exchanger, system).measure,
        "needs": rough_length(needs_m, site.unit, "up") if needs_m else "",
        "bound": rough_length(bound_m, site.unit, "up") if bound_m is not None else "",
        "cannot": bound_m is not None and bound_m < needs_m,
    }


def _area_told(area: AvailableArea, site: Site) -> Json:
    size = format_area(area.shape.area, site.unit) if area.shape.area else "none"
    return {"area": size, "shape": shape_told(area.shape)}


def needed_of(site: Site, system: System) -> float:
    """Length required before anything is laid out; 0 where it is not known [m]."""
    try:
        required = required_of(site.exchanger, system)
    except DemandError:
        return 0.0
    # each kind of trench has a length of its own
    unknown = loop_type(system).flow or kind_is_open(site, (system,))
    return 0.0 if required is None or unknown else required.length_m


def quick_told(lot: PreparedLot, system: System) -> Json:
    """What straight rows of one loop type were found to hold."""
    held_m, needs_m = capacity_of(lot, system), needed_of(lot.site, system)
    return {
        "held": rough_length(held_m, lot.site.unit, "down") if held_m else "",
        "room": bool(needs_m) and held_m >= needs_m,
    }


def bound_of(areas: AvailableAreas, system: System) -> float | None:
    """Length that no arrangement of upright bores or of trenches exceeds; None: not told [m].

    Where machines get to only makes it less.
    """
    wanted, part = areas.lot.site.exchanger, loop_type(system).parts[0]
    area = areas.of(part).shape
    if part == "bore" and wanted.vertical.pad is None:
        return packing_bound(area, wanted.vertical.spacing_m) * wanted.vertical.depth_most_m
    if part == "trench":
        opened, options = areas.lot.area(part, reach_m=0.0).shape, wanted.horizontal
        return bound_with_ends(area, opened, width_m=options.width_m, spacing_m=options.spacing_m)
    return None
