"""Loop types side by side: what each that fits takes, on the sheet of a study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from siteplan.comparison.compare import Taken
from siteplan.findings.words import capitalised
from siteplan.report.comparison_words import IN_SHORT, WORDY, Line, comparison_lines, price_note
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.plan_names import plan_names

COMPARISON: Final = "comparison"
WHOLE, SHORT = True, False
"""How much a block tells: all, or figures alone and of those what matters most."""


def comparison_block(content: PlanContent, width: float, *, whole: bool = WHOLE) -> Block | None:
    """What each loop type takes that has room; None where fewer than two have."""
    if len(content.compared) < 2:
        return None
    flow = Flow(width, COMPARISON)
    flow.heading("LOOP TYPES THAT HAVE ROOM")
    names = plan_names(content.site)
    named = tuple(_with_name(taken, names) for taken in content.compared)
    lines = comparison_lines(named, content.site.unit)
    flow.table(comparison_table(content, lines, whole=whole))
    flow.gap(0.4)
    if whole:
        for number, taken in enumerate(content.compared):
            told = (f"{line.title} {line.cells[number]}" for line in lines if line.name in WORDY)
            said = f"{taken.system}: {'; '.join(told)}."
            flow.paragraph(capitalised(said), name=taken.system)
    flow.paragraph(f"* Drawn. {price_note(content.compared, content.site.unit)}".strip())
    return flow.block()


def _with_name(taken: Taken, names: Mapping[str, str]) -> Taken:
    """The same with the name on the plan of what its tightest distance is kept from."""
    row = taken.tightest
    if row is None or row.feature not in names:
        return taken
    return replace(taken, tightest=replace(row, feature=names[row.feature]))


def comparison_table(content: PlanContent, lines: tuple[Line, ...], *, whole: bool) -> Table:
    """One column for each loop type, one row for each figure."""
    columns = (
        Column("of", "TAKES"),
        *(
            Column(
                taken.system,
                f"{taken.system.upper()}{' *' if taken.drawn else ''}",
                "right",
                wrap=True,
            )
            for taken in content.compared
        ),
    )
    shown = [line for line in lines if line.name not in WORDY and (whole or line.name in IN_SHORT)]
    rows = tuple((line.title.upper(), *line.cells) for line in shown)
    return Table(COMPARISON, columns, rows, tuple(line.name for line in shown))
