"""Conditions of the rule books beside distances: what is asked, what the plan has, whether kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.advisories.bounds import Condition, pressure_asked
from siteplan.findings.words import capitalised, words_of
from siteplan.layout.elements import Bore
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.text import NO_BREAK, kept_together
from siteplan.units.heat import format_conductivity
from siteplan.units.model import UnitSystem

CONDITIONS: Final = "conditions"
WANTED: Final = "fluid and grout"
"""What a book may want shown, and this block shows."""
KEPT: Final = {True: "YES", False: "NO", None: "ASK"}


def conditions_block(content: PlanContent, width: float) -> Block | None:
    """What books bind beside distances, and fluid and grout where one wants them shown.

    None where no book of the site asks for either.
    """
    told = _materials(content)
    if not content.conditions and not told:
        return None
    flow = Flow(width, CONDITIONS)
    flow.heading("CONDITIONS")
    if told:
        flow.paragraph(told, name="materials")
        flow.gap(0.4)
    if content.conditions:
        flow.table(condition_table(content.conditions, content.site.unit))
        flow.gap(0.4)
        for number, source in enumerate(_sources(content.conditions), 1):
            flow.paragraph(kept_together(source), indent=5.5, lead=f"[{number}]")
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
            capitalised(condition.bound.printed),
            kept_together(here_words(condition, unit)),
            f"[{sources.index(_source(condition)) + 1}]",
            KEPT[condition.kept],
        )
        for condition in conditions
    )
    return Table(CONDITIONS, columns, rows)


def here_words(condition: Condition, unit: UnitSystem) -> str:
    """What the plan has, and that it is assumed where nobody stated it."""
    assumed = ", assumed" if condition.assumed else ""
    here = capitalised(words_of(condition.here, unit))
    if condition.bound.of == "scale":
        here = here.replace(" ", NO_BREAK)
    return f"{here}{assumed}"


def _sources(conditions: Sequence[Condition]) -> list[str]:
    return list(dict.fromkeys(map(_source, conditions)))


def _source(condition: Condition) -> str:
    bound = condition.bound
    origin = f"{condition.book.id}: {bound.source}"
    return f"{origin} ({bound.note})" if bound.note else origin


def _materials(content: PlanContent) -> str:
    """Fluid and grout in a sentence, with who wants them shown; empty where nobody does."""
    wanted = [
        f"{book.title}: {shown.source}"
        for book in content.books
        for shown in book.shown
        if shown.what == WANTED
    ]
    parts = list(_parts(content)) if wanted else []
    return f"{' '.join(parts)} Shown for {'; '.join(wanted)}." if parts else ""


def _parts(content: PlanContent) -> Iterator[str]:
    layout, exchanger = content.layout, content.site.exchanger
    fluid = exchanger.piping.fluid
    if layout is None or layout.loop.flow:
        return
    if fluid is not None and fluid.mixture:
        yield f"Fluid: {fluid.mixture}{_assumed(content, 'fluid.mixture')}."
    if layout.loop.kind == Bore.kind:
        grout = f"Grout: {exchanger.piping.grout.material}{_assumed(content, 'grout.material')}"
        if exchanger.energy is not None:
            conducts = format_conductivity(exchanger.energy.loop.grout, content.site.unit)
            stated = "loop.grout" not in exchanger.assumed
            grout += f", {conducts}{'' if stated else ' (assumed)'}"
        yield f"{grout}, from the toe of each bore up to the header."


def _assumed(content: PlanContent, path: str) -> str:
    return " (assumed)" if path in content.site.exchanger.unsaid else ""


def pressure_note(content: PlanContent) -> tuple[str, ...]:
    """At what pressure the loop is tested, and who asks it; empty where nobody says."""
    tested = pressure_asked(content.site, content.conditions)
    return () if tested is None else (words_of(tested, content.site.unit),)
