"""Conditions of the rule books beside distances: what is asked, what the plan has, whether kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from siteplan.advisories.bounds import Condition
from siteplan.findings.words import capitalised, without_disclaimer, words_of
from siteplan.rule_books.figures import Checked, apart
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.text import NO_BREAK
from siteplan.sheet.tables.source_words import source_indent
from siteplan.units.model import UnitSystem

CONDITIONS: Final = "conditions"
KEPT: Final = {True: "YES", False: "NO", None: "ASK"}


def conditions_block(content: PlanContent, width: float) -> Block | None:
    """What books bind beside distances; None where no book of the site does."""
    if not content.conditions:
        return None
    flow = Flow(width, CONDITIONS)
    flow.heading("CONDITIONS")
    flow.table(condition_table(content.conditions, content.site.unit))
    flow.gap(0.4)
    sources = _sources(content.conditions)
    for number, source in enumerate(sources, 1):
        flow.paragraph(source, indent=source_indent(sources), lead=f"[{number}]")
    return flow.block()


def condition_table(conditions: Sequence[Condition], unit: UnitSystem) -> Table:
    """One row for each thing that a book binds."""
    columns = (
        Column("of", "OF"), Column("asked", "ASKED", wrap=True),
        Column("here", "HERE", wrap=True), Column("rule", "RULE", "center"),
        Column("kept", "KEPT", "center"),
    )  # fmt: skip
    sources = _sources(conditions)
    rows = tuple(
        (
            condition.bound.of.upper(),
            capitalised(_asked_words(condition, unit)),
            here_words(condition, unit),
            f"[{sources.index(_source(condition)) + 1}]",
            KEPT[condition.kept],
        )
        for condition in conditions
    )
    return Table(CONDITIONS, columns, rows)


def _asked_words(condition: Condition, unit: UnitSystem) -> str:
    """What a book prints, and the figure that is checked where that is another one."""
    others = [_figure_words(figure, unit) for figure in apart(condition.bound)]
    printed = condition.bound.printed
    return f"{printed} (checked: {', '.join(others)}; see the source)" if others else printed


def _figure_words(figure: Checked, unit: UnitSystem) -> str:
    """A figure by which the plan is checked, as it is read on a sheet."""
    forms: dict[str, Callable[[float], str]] = {
        "pressure": unit.pressure.text,
        "length": lambda value: short_mark(value, unit),
        "minutes": lambda value: f"{value:g} min",
        "share": lambda value: f"{100 * value:g} %",
        "ratio": lambda value: f"DR {value:g}",
        "times": lambda value: f"{value:g} x operating",
        "days": lambda value: f"{value:g} days",
    }
    return forms[figure.of](figure.value)


def here_words(condition: Condition, unit: UnitSystem) -> str:
    """What the plan has, and that it is assumed where nobody stated it."""
    assumed = ", assumed" if condition.assumed else ""
    here = capitalised(words_of(condition.here, unit, on_paper=True))
    if condition.bound.of == "scale":
        here = here.replace(" ", NO_BREAK)
    return f"{here}{assumed}"


def _sources(conditions: Sequence[Condition]) -> list[str]:
    return list(dict.fromkeys(map(_source, conditions)))


def _source(condition: Condition) -> str:
    bound = condition.bound
    origin = without_disclaimer(bound.source) + bound.standing.words
    return f"{origin} ({without_disclaimer(bound.note)})" if bound.note else origin
