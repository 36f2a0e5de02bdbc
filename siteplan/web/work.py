"""What a child process works out for the page: area, quick figures, the plan, and its set.

It is killed by the next change, so that nobody waits for an answer that is out of date.
"""

from __future__ import annotations

import contextlib
import pickle
import tempfile
import zipfile
from collections.abc import Callable
from io import BytesIO
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

from siteplan.available.area import AvailableArea
from siteplan.available.prepared import reach_of
from siteplan.available.stage import AvailableAreas, available_areas
from siteplan.design.lay_out import capacity_of
from siteplan.errors import FaultsError, SitePlanError
from siteplan.export.svg import svg_of
from siteplan.geometry.points.bound import packing_bound
from siteplan.layout.trenches.fit import trench_bound
from siteplan.plan import SitePlan, plan_site
from siteplan.rule_books.model import Part
from siteplan.sheet.pages.set import compose_set
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import format_area, format_length
from siteplan.vocabulary.loop_types import loop_type
from siteplan.web.drawn import shape_told
from siteplan.web.offer import offer_picture
from siteplan.web.told import plan_told

Json = dict[str, Any]
ZIP_TIME: Final = (1980, 1, 1, 0, 0, 0)
"""Of every file in a zip: the same set gives the same bytes."""


def work(pipe: Connection) -> None:
    """Wait for one lot, tell of it stage by stage, then answer what is asked of its plan."""
    with contextlib.suppress(EOFError, BrokenPipeError, KeyboardInterrupt):
        path, whole = pipe.recv()
        plan = _staged(Path(path), whole, lambda stage, told: pipe.send((stage, told)))
        while True:
            question, values = pipe.recv()
            pipe.send(("answer", _answered(plan, question, values)))


def _staged(path: Path, whole: bool, tell: Callable[[str, Any], None]) -> SitePlan | None:
    """The plan of a site file, told in stages; None where it has faults."""
    try:
        areas = None
        if whole:
            site = read_site(path, quick=True)
            areas = available_areas(site)
            tell("area", _areas_told(areas, site))
            tell("quick", _quick_told(areas, site))
        site = read_site(path)
        plan = plan_site(site, earlier=areas, progress=lambda step: tell("step", step))
        told = plan_told(plan)
        lot = plan.lot
        opinion = (lot.site, lot.rules, plan.drawn.layout, plan.drawn.required)
        tell("plan", {"told": told, "opinion": pickle.dumps(opinion)})
    except FaultsError as error:
        tell("faults", [str(fault) for fault in error.faults])
    except SitePlanError as error:
        tell("faults", [str(error)])
    else:
        return plan
    return None


def _areas_told(areas: AvailableAreas, site: Site) -> Json:
    def told(area: AvailableArea) -> Json:
        size = format_area(area.shape.area, site.unit) if area.shape.area else "none"
        return {"area": size, "shape": shape_told(area.shape)}

    return {area.part: told(area) for area in areas.parts}


def _quick_told(areas: AvailableAreas, site: Site) -> list[Json]:
    """What straight rows hold of each loop type, and what no arrangement can exceed."""
    found = []
    for system in site.exchanger.order:
        loop = loop_type(system)
        held = capacity_of(areas.lot, system)
        if loop.flow or not held:
            continue
        bound = _bound(areas, site, loop.parts[0])
        unit = site.unit
        found.append({
            "system": system,
            "held": f"{format_length(held, unit, 0, rounding='down')} of {loop.measure}",
            "bound": format_length(bound, unit, 0, rounding="up") if bound else "",
        })  # fmt: skip
    return found


def _bound(areas: AvailableAreas, site: Site, part: Part) -> float:
    """Length that no arrangement of upright bores or straight trenches exceeds; 0: not told [m]."""
    wanted = site.exchanger
    area = areas.of(part).shape
    if area.is_empty:
        return 0.0
    if part == "bore" and wanted.vertical.pad is None:
        return packing_bound(area, wanted.vertical.spacing_m) * wanted.vertical.depth_most_m
    if part == "trench" and reach_of(part, wanted):
        return trench_bound(area, wanted.horizontal.spacing_m)
    return 0.0


# --- what is asked of a finished plan


def _answered(plan: SitePlan | None, question: str, values: Any) -> Any:
    if plan is None:
        return {"fault": "There is no plan yet: mend what is missing first."}
    try:
        return ANSWERS[question](plan, values)
    except SitePlanError as error:
        return {"fault": str(error)}


def _sheets(plan: SitePlan, _: Any) -> Json:
    """Every sheet as it will print."""
    sheets = compose_set(plan.content())
    return {"sheets": [[f"{sheet.number} {sheet.name}", svg_of(sheet)] for sheet in sheets]}


def package_of(plan: SitePlan, _: Any) -> bytes:
    """The permit package, the very files of `siteplan plan`, in one zip."""
    with tempfile.TemporaryDirectory() as folder:
        paths = sorted(plan.write(Path(folder) / "set"))
        packed = BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in paths:
                archive.writestr(
                    zipfile.ZipInfo(path.name, ZIP_TIME), path.read_bytes(), zipfile.ZIP_DEFLATED
                )
        return packed.getvalue()


def _page(plan: SitePlan, _: Any) -> bytes:
    """The plan as one HTML file to mail."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        plan.write_page(path)
        return path.read_bytes()


def _offer(plan: SitePlan, _: Any) -> bytes:
    """One page for the owner as a picture."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "offer.png"
        offer_picture(plan, path)
        return path.read_bytes()


def _costs(plan: SitePlan, _: Any) -> Json:
    """What each setback costs on this lot."""
    weighed = plan_site(plan.lot.site, system=plan.drawn.system, costs=True, earlier=plan)
    return {"costs": plan_told(weighed)["costs"]}


ANSWERS: Final[dict[str, Callable[[SitePlan, Any], Any]]] = {
    "sheets": _sheets,
    "package": package_of,
    "page": _page,
    "offer": _offer,
    "costs": _costs,
}
