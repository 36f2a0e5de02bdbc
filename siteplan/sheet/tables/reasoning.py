"""The reasoning behind the length required, line by line, and how sure it is."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.alternatives.assumptions import Assumption, assumption_words
from siteplan.alternatives.sensitivity import STEP, Change, percent_words
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.units.model import UnitSystem


def reasoning_block(content: PlanContent, width: float) -> Block | None:
    """Table of the reasoning, None where the length was given or is a screening figure."""
    lines = content.required.lines
    if not lines:
        return None
    flow = Flow(width, "reasoning")
    flow.heading("HOW THE LENGTH WAS CALCULATED")
    columns = (
        Column("figure", "FIGURE", wrap=True), Column("value", "VALUE", "right"),
        Column("source", "FROM", wrap=True),
    )  # fmt: skip
    rows = tuple((line.words, line.value, line.source) for line in lines)
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
        assumed = (
            Column("figure", "ASSUMED, NOT STATED", wrap=True),
            Column("value", "VALUE", "right", wrap=True),
            Column("lower", "LENGTH IF LOWER", wrap=True),
            Column("higher", "LENGTH IF HIGHER", wrap=True),
        )
        told = tuple(assumption_words(each, content.site.unit) for each in content.assumed)
        flow.table(Table("assumed", assumed, told, _numbers(len(told))))
    return flow.block()


def _numbers(count: int) -> tuple[str, ...]:
    """Names of rows whose first cells are sentences: their numbers."""
    return tuple(map(str, range(1, count + 1)))


_REMARK = "How sure: by how much the figure required changes when the one named is less or more."


def _change_row(change: Change) -> tuple[str, ...]:
    return (change.figure, percent_words(change.lower), percent_words(change.higher))


def assumed_words(assumed: Sequence[Assumption], unit: UnitSystem) -> str:
    """What a calculated length assumes, and what each does to it, in one paragraph."""
    told = []
    for each in assumed:
        name, value, *moved = assumption_words(each, unit)
        changes = f" ({'; '.join(moved)})" if each.moves else ""
        told.append(f"{name} {value}{changes}")
    return f"ASSUMED, not stated: {', '.join(told)}."


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
