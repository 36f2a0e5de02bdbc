"""The reasoning behind the length required, line by line, and how sure it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from siteplan.alternatives.assumptions import STEP_K, Assumption, assumption_words, instead_words
from siteplan.alternatives.sensitivity import STEP, Change, percent_words
from siteplan.findings.words import figure_words
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.units.model import UnitSystem


def reasoning_block(content: PlanContent, width: float) -> Block | None:
    """Table of the reasoning, None where the length was given or is a screening figure."""
    figures, unit = content.required.figures, content.site.unit
    if not figures:
        return None
    flow = Flow(width, "reasoning")
    flow.heading("HOW THE LENGTH WAS CALCULATED")
    columns = (
        Column("figure", "FIGURE", wrap=True), Column("value", "VALUE", "right"),
        Column("source", "FROM", wrap=True),
    )  # fmt: skip
    rows = tuple(figure_words(figure, unit, on_paper=True) for figure in figures)
    flow.table(Table(flow.about, columns, rows, _numbers(len(rows))))
    flow.gap(0.4)
    if content.changes:
        flow.gap(0.8)
        columns = (
            Column("figure", "HOW SURE", wrap=True),
            Column("less", f"{100 * STEP:.0f} % LESS", "right"),
            Column("more", f"{100 * STEP:.0f} % MORE", "right"),
        )
        changes = tuple(_change_row(change) for change in content.changes)
        flow.table(Table("sureness", columns, changes, _numbers(len(changes))))
        flow.gap(0.4)
        flow.paragraph(_REMARK)
    if content.assumed:
        flow.gap(0.8)
        flow.table(assumed_table(content.assumed, content.site.unit))
        flow.gap(0.4)
        flow.paragraph(assumed_note(content.assumed, content.site.unit))
    return flow.block()


def _numbers(count: int) -> tuple[str, ...]:
    """Names of rows whose first cells are sentences: their numbers."""
    return tuple(map(str, range(1, count + 1)))


_REMARK = "How sure: by how much the figure required changes when the one named is less or more."


def _change_row(change: Change) -> tuple[str, ...]:
    return (change.figure, percent_words(change.lower), percent_words(change.higher))


def assumed_table(assumed: Sequence[Assumption], unit: UnitSystem) -> Table:
    """What a calculated length assumes, and what the length does when that is less or more."""
    columns = (
        Column("figure", "ASSUMED, NOT STATED", wrap=True),
        Column("value", "VALUE", "right", wrap=True),
        Column("less", "LESS", "right"),
        Column("more", "MORE", "right"),
    )
    rows = tuple(row for each in assumed for row in _assumed_rows(each, unit))
    return Table("assumed", columns, rows, _numbers(len(rows)))


def _assumed_rows(assumption: Assumption, unit: UnitSystem) -> Iterator[tuple[str, ...]]:
    name, value, *_ = assumption_words(assumption, unit)
    if not assumption.moves:
        yield (name, value, "", "")
        return
    yield (name, value, percent_words(assumption.lower), percent_words(assumption.higher))
    instead = instead_words(assumption, unit)
    if instead is not None:
        other, its_value, more = instead
        # what it does to the length is an amount, which no column of shares is wide enough for
        yield (f"with {other}: {more}", its_value, "", "")


def assumed_note(assumed: Sequence[Assumption], unit: UnitSystem) -> str:
    """What the last two columns of that table say."""
    warm = f", {unit.difference.text(STEP_K)} for a temperature"
    heats = any(each.by_kelvin for each in assumed)
    return f"Less, more: length with {100 * STEP:.0f} % less or more of it{warm if heats else ''}."


def sureness(changes: Sequence[Change]) -> str:
    """How sure a calculated length is, in one line; empty where nothing was moved.

    Examples
    --------
    >>> sureness((Change("conductivity", 0.0872, -0.07), Change("load", -0.1, 0.1)))
    'Conductivity 10 % lower: 8.7 % more; load 10 % higher: 10.0 % more.'
    """
    moved = [
        ("lower", change.lower) if change.figure == "conductivity" else ("higher", change.higher)
        for change in changes
    ]
    moves = [
        f"{sure.figure} {100 * STEP:.0f} % {way}: {_more(change)}"
        for sure, (way, change) in zip(changes, moved, strict=True)
        if sure.figure in ("conductivity", "load")
    ]
    text = "; ".join(moves)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _more(change: float | None) -> str:
    return "no length is enough" if change is None else f"{100 * change:.1f} % more"
