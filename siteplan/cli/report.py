"""What a command prints: a short table of the verdict, plain where the output is piped."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Timer
from typing import TYPE_CHECKING

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from siteplan.advisories.requirements import TITLE_BLOCK
from siteplan.cli.patience import words_now_and_then
from siteplan.findings.words import plural, words_of
from siteplan.vocabulary.loop_types import loop_type

if TYPE_CHECKING:
    from siteplan.design.evaluate import Trial
    from siteplan.findings.model import Finding
    from siteplan.plan import SitePlan
from siteplan.site.walls import ON_WALL
from siteplan.units.model import UnitSystem

PIPED_WIDTH = 160
WAITED_S = 2.0
"""After so long a command shows what it does [s]."""
STYLES = {"error": "bold red", "warning": "yellow", "note": "dim"}


@dataclass(frozen=True)
class Terminal:
    """Where a command prints: results to stdout, progress to stderr while it is a terminal."""

    quiet: bool

    def show(self, renderable: RenderableType) -> None:
        """Print a report."""
        if not self.quiet:
            _console().print(renderable)

    def say(self, text: str) -> None:
        """Print one plain line."""
        if not self.quiet:
            print(text)

    @contextmanager
    def progress(self, first: str) -> Iterator[Callable[[str], None]]:
        """Function that names the step now running on a progress line."""
        console = Console(stderr=True)
        if self.quiet:
            yield lambda _: None
        elif console.is_terminal:
            with _bar(first, console) as named:
                yield named
        else:
            with words_now_and_then(first) as named:
                yield named


@contextmanager
def _bar(first: str, console: Console) -> Iterator[Callable[[str], None]]:
    """A bar with the step that runs and the time so far, once somebody begins to wait."""
    # loaded where somebody sits before a terminal, as it takes a moment
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    parts = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(20), TimeElapsedColumn())
    bar = Progress(*parts, console=console, transient=True)
    task = bar.add_task(first, total=None)
    shown = Timer(WAITED_S, bar.start)
    shown.start()
    try:
        yield lambda name: bar.update(task, description=name)
    finally:
        shown.cancel()
        shown.join()
        bar.stop()


def _console() -> Console:
    if sys.stdout.isatty():
        return Console(highlight=False, markup=False)
    return Console(highlight=False, markup=False, width=PIPED_WIDTH, color_system=None)


def columns(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    """Plain table of texts."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in headings:
        table.add_column(heading, overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def plan_report(plan: SitePlan, *, drawing: bool = True) -> RenderableType:
    """Verdict, comparison of loop types, layout drawn, separations and findings.

    ``drawing``: whether there is a sheet, with a title block to be filled in.
    """
    title = Text(f"{plan.site.project.title}: {_place(plan)}", style="bold")
    parts: list[RenderableType] = [title, _comparison(plan)]
    parts.extend(_verdict(plan))
    parts.extend(_taken(plan))
    parts.extend(_hinges(plan))
    parts.extend(_layout_lines(plan))
    parts.extend(_pipe_lines(plan))
    parts.extend(_access_line(plan))
    parts.extend(_separation_lines(plan))
    parts.extend(_assumed_lines(plan))
    parts.extend(_weighing(plan))
    parts.extend(
        _finding_line(finding, plan.site.unit)
        for finding in plan.findings
        if finding.code != "not-tried" and (drawing or finding.code != TITLE_BLOCK)
    )
    return Group(*parts)


def _place(plan: SitePlan) -> str:
    """Area of the parcel and where it lies, so that a wrong coordinate system shows."""
    from siteplan.units.lengths import format_area

    site = plan.site
    size = format_area(site.parcel.area, site.unit)
    if site.georeference is None:
        return size
    middle = site.parcel.centroid
    latitude, longitude = site.georeference.latitude_longitude(middle.x, middle.y)
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{size}, near {abs(latitude):.4f} {north} {abs(longitude):.4f} {east}"


def _comparison(plan: SitePlan) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("loop type", "fits"):
        table.add_column(heading)
    for heading in ("required", "capacity", "header"):
        table.add_column(heading, justify="right")
    table.add_column("why", overflow="fold")
    for trial in plan.trials:
        table.add_row(*_row(plan, trial))
    return table


def _row(plan: SitePlan, trial: Trial) -> list[str]:
    from siteplan.units.lengths import format_flow, format_length, rough

    unit = plan.site.unit
    required = takes = header = "-"
    if trial.required is not None and loop_type(trial.system).flow:
        required = format_flow(trial.required.flow_m3s, unit, rounding="up")
        supply = plan.site.exchanger.open.yield_m3s
        takes = format_flow(supply, unit, rounding="down") if supply is not None else "-"
    elif trial.required is not None:
        required = format_length(trial.required.length_m, unit, rough(unit), rounding="up")
        if trial.required.span_m is not None:
            least, most = trial.required.span_m
            number = format_length(least, unit, rough(unit), rounding="down").split()[0]
            upper = format_length(most, unit, rough(unit), rounding="up")
            required = f"{number} to {upper}" if least < most else upper
        if trial.layout is not None:
            takes = format_length(trial.layout.capacity_m, unit, rough(unit), rounding="down")
    if trial.layout is not None and trial.layout.header is not None:
        header = format_length(trial.layout.header.length_m, unit, rough(unit), rounding="up")
    return [
        trial.system,
        "yes" if trial.fits else "not yet" if trial.has_room else "no",
        required,
        takes,
        header,
        words_of(trial.why, unit),
    ]


def _verdict(plan: SitePlan) -> Iterator[Text]:
    from siteplan.comparison.order import less_work
    from siteplan.report.verdict import others_fit, verdict_head

    less = less_work(plan.compared)
    word, named = verdict_head(plan.trials, plan.drawn, asked=plan.system is not None, less=less)
    style = "bold green" if plan.fits else "bold red"
    why = words_of(plan.drawn.why, plan.site.unit)
    if len(plan.compared) > 1 and plan.fits:
        yield Text.assemble((word, style), f": {named}")
        yield Text(f"  {plan.drawn.system}: {why}")
    else:
        others = others_fit(plan.trials, plan.drawn)
        yield Text.assemble((word, style), f": {named}: {why}{others}")


def _taken(plan: SitePlan) -> Iterator[RenderableType]:
    """What each loop type that fits takes, where several do."""
    from siteplan.report.comparison_words import (
        comparison_heads,
        comparison_lines,
        price_note,
    )

    if len(plan.compared) < 2:
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 2))
    table.add_column("what each takes")
    for head in comparison_heads(plan.compared):
        table.add_column(head, overflow="fold")
    for line in comparison_lines(plan.compared, plan.site.unit):
        table.add_row(line.title, *line.cells)
    yield table
    note = price_note(plan.compared, plan.site.unit)
    if note:
        yield Text(f"  {note}")


def _layout_lines(plan: SitePlan) -> Iterator[Text]:
    from siteplan.layout.outfall import Outfall, called
    from siteplan.units.lengths import format_length, rough

    layout, unit = plan.drawn.layout, plan.site.unit
    if layout is None or not layout.elements:
        return
    count, kind = len(layout.elements), layout.elements[0].kind
    thing = called(layout.elements[0])
    line = f"  {count} {thing if count == 1 else plural(thing)}"
    if layout.of(Outfall):
        line = "  supply well and outfall"
    if kind == "bore" and count > 1 and plan.site.exchanger.vertical.pad is None:
        line += f" at {format_length(layout.spacing_m, unit, 1, rounding='down')} spacing"
    if layout.length_m > 0:
        line += f", {format_length(layout.length_m, unit, rough(unit), rounding='down')} in all"
    if layout.header is not None:
        entry = layout.header.entry
        # of one that nobody stated nobody knows a name
        name = "the entry" if entry.label.endswith(ON_WALL) else f"entry {entry.id}"
        name += f" ({entry.label})" if entry.label else ""
        length = format_length(layout.header.length_m, unit, rough(unit), rounding="up")
        line += f"; header trench {length} to {name}"
        if len(plan.site.entries) > 1:
            line += f", shortest header of {len(plan.site.entries)} entry points"
    yield Text(line)


def _pipe_lines(plan: SitePlan) -> Iterator[Text]:
    """Circuits, and what flows in them."""
    from siteplan.report.pipe_words import circuit_words, flow_words

    layout, unit = plan.drawn.layout, plan.site.unit
    for wording in (circuit_words, flow_words):
        line = wording(layout, unit) if layout is not None else ""
        if line:
            yield Text(f"  {line}")


def _access_line(plan: SitePlan) -> Iterator[Text]:
    """How long the way in of the rig or excavator is."""
    from siteplan.units.lengths import format_length, rough

    access, unit = plan.drawn.layout and plan.drawn.layout.access, plan.site.unit
    if not access or access.path.is_empty:
        return
    width = format_length(access.width_m, unit, 1, rounding="up")
    length = format_length(access.path.length, unit, rough(unit), rounding="up")
    name = f"{access.machine} access"
    where = "from the property line to where it reaches the field"
    yield Text(f"  {name} {width} wide, {length} {where}")


def _separation_lines(plan: SitePlan) -> Iterator[Text]:
    from siteplan.comparison.compare import tightest_of
    from siteplan.report.comparison_words import between_words
    from siteplan.units.lengths import format_pair

    rows, unit = plan.drawn.separations, plan.site.unit
    if not rows:
        return
    kept = sum(row.meets for row in rows)
    tightest, layout = tightest_of(rows), plan.drawn.layout
    if tightest is None or layout is None:
        return
    loop = layout.loop
    required, provided = format_pair(tightest.rule.distance_m, tightest.provided_m, unit, 1)
    yield Text(
        f"  {kept} of {len(rows)} separations kept; tightest: {between_words(tightest, loop)}, "
        f"{provided} of {required} required"
    )


def _assumed_lines(plan: SitePlan) -> Iterator[Text]:
    """What the length assumes because the site file does not state it."""
    from siteplan.alternatives.assumptions import assumption_words, instead_words

    for each in plan.assumed:
        name, value, *moved = assumption_words(each, plan.site.unit)
        changes = f"; length {', '.join(moved)}" if each.moves else ""
        instead = instead_words(each, plan.site.unit)
        if instead is not None:
            other, its_value, more = instead
            changes += f"; with {other} {its_value}: {more}"
        yield Text.assemble("  ", ("assumed", "yellow"), f": {name} {value}{changes}")


def _hinges(plan: SitePlan) -> Iterator[Text]:
    from siteplan.report.hinges import hinge_lines

    for line in hinge_lines(plan.site, plan.drawn):
        yield Text.assemble("  ", ("hinges on", "yellow"), f": {line}")


def _weighing(plan: SitePlan) -> Iterator[RenderableType]:
    from siteplan.report.helps import help_lines
    from siteplan.site.loop_options import facts_wanted
    from siteplan.units.lengths import format_length, rough

    weighing, unit = plan.weighing, plan.site.unit
    if weighing.costs:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 2))
        measure = facts_wanted(plan.site.exchanger, weighing.system).measure
        table.add_column(f"what each rule costs, {measure}", overflow="fold")
        table.add_column("gain without it", justify="right")
        table.add_column("header saved", justify="right")
        table.add_column("crossings less", justify="right")
        for cost in weighing.costs:
            rule = cost.rule
            name = f"{rule.subject}, {rule.printed} ({rule.book}: {rule.source})"
            lengths = [
                format_length(length_m, unit, rough(unit), rounding="down") if length_m else "-"
                for length_m in (cost.gain_m, cost.header_m)
            ]
            table.add_row(name, *lengths, str(cost.crossings or "-"))
        yield table
    lines = help_lines(weighing, plan.drawn, unit)
    if lines:
        yield Text("  What would make it fit:")
    for line in lines:
        yield Text(f"    - {line}")


def _finding_line(finding: Finding, unit: UnitSystem) -> Text:
    severity = finding.severity
    return Text.assemble("  ", (severity, STYLES[severity]), f": {words_of(finding, unit)}")
