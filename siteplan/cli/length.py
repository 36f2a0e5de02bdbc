"""``siteplan length SITE``: the length required, with its reasoning line by line."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import Group, RenderableType
from rich.text import Text

from siteplan.cli.report import Terminal, columns
from siteplan.cli.written import may_write
from siteplan.errors import ExportError, Fault, InputError
from siteplan.findings.words import figure_words, words_of
from siteplan.site.loop_options import apart_of
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.loop_types import loop_type

if TYPE_CHECKING:
    from siteplan.alternatives.sensitivity import Change
    from siteplan.design.evaluate import Trial
    from siteplan.plan import SitePlan
    from siteplan.site.model import Site


def run_length(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan length``: 0 where a length is stated for the loop type drawn."""
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site)
    if arguments.plot and Path(arguments.plot).exists() and not arguments.force:
        raise ExportError(f"{arguments.plot} is there already; add --force to replace it.")
    if arguments.plot:
        may_write(Path(arguments.plot))
    with terminal.progress("reading the lot") as progress:
        from siteplan.plan import plan_site

        plan = plan_site(site, system=arguments.system, progress=progress)
        if arguments.plot:
            _plot(plan, Path(arguments.plot), progress)
    if arguments.json:
        sys.stdout.write(json.dumps(_as_json(plan, plan.changes), indent=1) + "\n")
    terminal.show(_report(plan, plan.changes))
    if arguments.plot:
        terminal.say(f"Written to {arguments.plot}")
    return 0 if plan.drawn.required is not None else 1


def _length_words(plan: SitePlan, trial: Trial) -> str:
    """What gives the length required, or why nothing does."""
    if trial.required is not None:
        return words_of(trial.required.reason, plan.site.unit)
    return words_of(trial.why, plan.site.unit)


def _figures_in_words(trial: Trial, site: Site) -> list[tuple[str, str, str]]:
    from siteplan.demand.well_figures import well_figures

    figures = trial.required.figures if trial.required else ()
    wells = () if trial.wells is None else well_figures(site, trial.wells)
    return [figure_words(figure, site.unit) for figure in (*figures, *wells)]


def _report(plan: SitePlan, changes: tuple[Change, ...]) -> RenderableType:
    parts: list[RenderableType] = [Text(plan.site.project.title, style="bold")]
    rows = [(trial.system, _basis(trial), _length_words(plan, trial)) for trial in plan.trials]
    parts.append(columns(("loop type", "basis", "length required"), rows))
    required = plan.drawn.required
    lines = _figures_in_words(plan.drawn, plan.site)
    if lines:
        parts += [Text(), columns((plan.drawn.system, "", ""), lines)]
    if changes:
        from siteplan.alternatives.sensitivity import percent_words

        shown = [
            (change.figure, percent_words(change.lower), percent_words(change.higher))
            for change in changes
        ]
        heading = ("length required changes by", "a tenth less", "a tenth more")
        parts += [Text(), columns(heading, shown)]
    if required is not None and required.basis == "screening":
        parts.append(Text("A screening is never for a permit: state [loads] and [ground]."))
    return Group(*parts)


def _basis(trial: Trial) -> str:
    return trial.required.basis if trial.required is not None else "none"


def _as_json(plan: SitePlan, changes: tuple[Change, ...]) -> dict[str, Any]:
    return {
        "systems": {
            trial.system: {
                "basis": _basis(trial),
                "length_m": trial.required.length_m if trial.required else None,
                "flow_m3s": trial.required.flow_m3s if trial.required else None,
                "lines": [
                    dict(zip(("what", "value", "source"), told, strict=True))
                    for told in _figures_in_words(trial, plan.site)
                ],
            }
            for trial in plan.trials
        },
        "drawn": plan.drawn.system,
        "changes": [
            {"figure": change.figure, "tenth_less": change.lower, "tenth_more": change.higher}
            for change in changes
        ],
    }


def _plot(plan: SitePlan, path: Path, progress: Callable[[str], None]) -> None:
    """Write the picture of length over spacing, of a pond's year, or of a well over the years."""
    from siteplan.alternatives.length_study import study_spacing
    from siteplan.available.prepared import lot_of
    from siteplan.export.curve import write_curve, write_drift, write_water_year
    from siteplan.layout.elements import Coil

    drawn, site = plan.drawn, plan.site
    if drawn.wells is not None:
        title = f"{site.project.title}: supply well"
        seasons = drawn.wells.seasons
        write_drift(seasons.water_c, drawn.wells.drift_k, path, title=title, unit=site.unit)
        return
    loop, year = loop_type(drawn.system), site.exchanger.pond.year
    if loop.kind == Coil.kind and year is not None:
        write_water_year(
            year, path, title=f"{site.project.title}: the pond's water", unit=site.unit
        )
        return
    if not loop.spaced or drawn.required is None:
        fault = Fault("--plot", f"has no spacing to study for {drawn.system}.", "Leave it out.")
        raise InputError([fault])
    rows = study_spacing(lot_of(site), drawn.system, progress=progress)
    write_curve(
        rows,
        path,
        title=f"{site.project.title}: length required and held",
        of=loop.noun,
        unit=site.unit,
        asked_m=apart_of(site.exchanger, drawn.system),
    )
