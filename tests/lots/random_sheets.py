"""Full sets of sheets of random lots: all loop types, small and large paper, feet and metres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from legible import PlotFault, plot_faults
from wording import in_words

from siteplan.available.prepared import lot_of
from siteplan.demand.model import Required
from siteplan.design.evaluate import Trial, try_system
from siteplan.errors import ExportError, InputError
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.pages.set import compose_set
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site
from siteplan.site.sheet_options import SheetOptions
from siteplan.units.systems import METRIC, US
from siteplan.vocabulary.loop_types import loop_types

SYSTEMS = tuple(loop_types())
PAPERS = {US: ("ANSI B", "ANSI D"), METRIC: ("A3", "A1")}


def drawn_lot(seed: int, text: str, folder: Path) -> PlanContent | None:
    """What the sheets of a lot have to show; None where the lot cannot be read.

    Loop type, unit and paper follow from the seed, so that sixteen in a row have them all.
    """
    path = folder / f"lot-{seed}.toml"
    path.write_text(text, encoding="utf-8")
    try:
        site = read_site(path)
    except InputError:  # an entry or a pond may come to lie outside the parcel
        return None
    unit = (US, METRIC)[seed // 4 % 2]
    sheet = SheetOptions(PAPERS[unit][seed // 8 % 2], sheets="full")
    site = replace(site, unit=unit, sheet=sheet)
    return content_of(site, try_system(lot_of(site), SYSTEMS[seed % len(SYSTEMS)]))


def content_of(site: Site, trial: Trial) -> PlanContent:
    """What the sheets of one trial have to show."""
    return PlanContent(
        site=site,
        layout=trial.layout,
        keep_outs=trial.keep_outs,
        separations=trial.separations,
        required=trial.required or Required(0.0, "given", trial.why),
        fits=trial.fits,
        verdict=f"{'FITS' if trial.fits else 'DOES NOT FIT'}: {in_words(trial.why)}",
        findings=trial.findings,
    )


def faults_of(
    content: PlanContent, look: Callable[[str], None] = lambda _: None
) -> list[tuple[str, PlotFault]]:
    """Number of the sheet and fault, for all that cannot be read on a full set."""
    try:
        sheets = compose_set(content)
    except ExportError as error:  # a lot that no scale holds is told, and not drawn
        look(str(error))
        return []
    return [(sheet.number, fault) for sheet in sheets for fault in plot_faults(sheet)]
