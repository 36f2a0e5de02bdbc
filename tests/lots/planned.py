"""Plans that several tests look at, each made once in a process however many do."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from drawn_once import compose_set
from places import SAMPLES

from siteplan.alternatives.assumptions import assumptions
from siteplan.alternatives.sensitivity import sensitivity
from siteplan.alternatives.weighing import Weighing
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.available.stage import Earlier
from siteplan.design.evaluate import Trial, try_system
from siteplan.export import image, package, picture
from siteplan.export.drawing.record import record_of
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet
from siteplan.site.model import Site, System
from siteplan.site.readers.site_file import read_site

NEUTRAL = Path("site.toml")
"""Stands for every site file: the same lot gives the same plan wherever its file lies."""

_DRAW = package._draw
_DRAWN: dict[Hashable, dict[str, bytes]] = {}
COARSE_DPI = 20
"""Of pictures that nobody looks at: what 200 dots show takes ten times as long."""


@cache
def planned(name: str) -> SitePlan:
    """Plan of a sample, or of another site file in the folder of one.

    Where the site file leaves the loop type open all are tried, so that it may be looked at as
    the plan of the one drawn.
    """
    return planned_once(read_site(SAMPLES / name))


def planned_once(
    site: Site,
    *,
    system: System | None = None,
    everything: bool = False,
    costs: bool = False,
    earlier: Earlier | None = None,
    progress: Callable[[str], None] | None = None,  # noqa: ARG001
) -> SitePlan:
    """What `plan_site` gives, made once for all sites that say the same.

    It may stand in for `plan_site` behind a command where the test looks at what the command
    makes of a plan, not at how the plan comes about. Where nothing fits the rules are weighed
    whether that is asked for or not. After an earlier plan it is planned anew.
    """
    if earlier is not None:
        return plan_site(site, system=system, costs=costs, earlier=earlier)
    same = replace(site, source=NEUTRAL)
    # where no loop type is asked for all are compared anyway
    everything = everything and (system or site.exchanger.system) is not None
    plan = _planned(same, system, everything)
    if costs and plan.fits:
        plan = _with_costs(same, system, everything)
    return replace(plan, site=replace(plan.site, source=site.source))


@cache
def _planned(site: Site, system: System | None, everything: bool) -> SitePlan:
    return plan_site(site, system=system, everything=everything)


@cache
def _with_costs(site: Site, system: System | None, everything: bool) -> SitePlan:
    # the same as without what the plan takes over, and the rules alone are weighed anew
    known = _planned(site, system, everything)
    return plan_site(site, system=system, everything=everything, costs=True, earlier=known)


@cache
def sheets_of(name: str) -> tuple[Sheet, ...]:
    """Sheets of a sample, as many as its plan has."""
    return compose_set(planned(name).content())


@cache
def full_set(name: str) -> tuple[Sheet, ...]:
    """All sheets of a sample, those of details and tables too: a plan that is not alone has all."""
    sheets = sheets_of(name)
    return sheets if len(sheets) > 1 else compose_set(in_full(planned(name)).content())


def in_full(plan: SitePlan) -> SitePlan:
    """The plan with its full set of sheets."""
    return replace(plan, site=replace(plan.site, sheet=replace(plan.site.sheet, sheets="full")))


def written_quickly(patch: pytest.MonkeyPatch) -> None:
    """Let commands take over plans and sheets of other tests, and draw pictures of few dots."""
    patch.setattr("siteplan.plan.plan_site", planned_once)
    drawn_quickly(patch)


def drawn_quickly(patch: pytest.MonkeyPatch) -> None:
    """Let what is written take over sheets of other tests, and draw pictures of few dots.

    What was drawn of the same sheets before is written again byte for byte, as it would be drawn:
    `tests/test_samples.py` and `tests/export` look at that.
    """
    patch.setattr("siteplan.export.package._draw", drawn_again)
    for writer in ("export.package", "export.page", "audit.redrawn"):
        patch.setattr(f"siteplan.{writer}.compose_set", compose_set)
    patch.setattr("siteplan.export.image.dots_per_inch", _few_dots)


def _few_dots(_: object) -> int:
    return COARSE_DPI


def drawn_again(sheets: tuple[Sheet, ...], folder: Path, content: PlanContent) -> None:
    """Write drawing, print and pictures of sheets; those that were written before, as they were.

    By the functions that would write them: a test may have put others in their place.
    """
    writers = tuple(getattr(package, name) for name in ("write_dxf", "write_model", "write_set"))
    dots = (image.dots_per_inch, picture.write_picture)
    key = (sheets, repr(record_of(content)), content.site.project, writers, dots)
    if key not in _DRAWN:
        _DRAW(sheets, folder, content)
        _DRAWN[key] = {path.name: path.read_bytes() for path in folder.iterdir()}
    for name, written in _DRAWN[key].items():
        (folder / name).write_bytes(written)


def unweighed(site: Site, system: System) -> SitePlan:
    """Plan of one loop type, without what the rules cost and what would help where it is short."""
    return replace(_unweighed(replace(site, source=NEUTRAL), system), site=site)


def tried(site: Site, system: System) -> Trial:
    """One loop type laid out and judged, and nothing said of how sure its length is."""
    return _tried(replace(site, source=NEUTRAL), system)[1]


@cache
def _tried(site: Site, system: System) -> tuple[PreparedLot, Trial]:
    lot = lot_of(site)
    return lot, try_system(lot, system)


@cache
def _unweighed(site: Site, system: System) -> SitePlan:
    lot, trial = _tried(site, system)
    changes, assumed = sensitivity(lot, trial), assumptions(lot, trial)
    return SitePlan(site, (trial,), trial, Weighing(system), lot, changes, assumed)
