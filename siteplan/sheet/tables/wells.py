"""Tables of a well pair: aquifer, levels, breakthrough and drift; wells around; cautions."""

from __future__ import annotations

from typing import Final

from siteplan.demand.well_figures import well_figures
from siteplan.demand.wells import WellStudy
from siteplan.findings.words import figure_words, without_disclaimer
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import STRONG, Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.plan_names import on_plan, plan_names
from siteplan.site.model import Site
from siteplan.units.lengths import format_length

OUTFALL_CAUTION: Final = (
    "Protect aquifer and surface water: a licensed well contractor drills, seals, develops and "
    "tests the well. Permits to withdraw and to discharge come first: ask the water authority, "
    "which also says what temperature and flow the water there bears. Nothing is added to the "
    "water; treated, softened or mixed with antifreeze it is not discharged. Stone against "
    "erosion at the outfall; its pipe drains, so that ice does not close it. A hydrogeologist "
    "decides where figures are assumed."
)
WELL_FIGURES: Final = "wells"
WELLS_AROUND: Final = "wells-around"
CAUTION: Final = (
    "Protect the aquifer: a licensed well contractor drills, seals, develops and tests both wells. "
    "Permits to withdraw, and to discharge or inject, come first: ask the water authority. Nothing "
    "is added to the water; water that was treated, softened or mixed with antifreeze never goes "
    "back. A hydrogeologist decides where figures are assumed."
)


def wells_block(content: PlanContent, width: float) -> Block | None:
    """What is known of a well pair, None of other loop types."""
    study = content.wells
    if study is None:
        return None
    flow = Flow(width, WELL_FIGURES)
    flow.heading("WELLS AND AQUIFER")
    flow.table(_figures(content, study))
    if study.levels.neighbours:
        flow.gap(0.8)
        flow.table(around_table(study, content.site))
    flow.gap(0.4)
    flow.paragraph(OUTFALL_CAUTION if study.outfall else CAUTION, STRONG)
    return flow.block()


def _figures(content: PlanContent, study: WellStudy) -> Table:
    unit = content.site.unit
    columns = (
        Column("figure", "FIGURE", wrap=True), Column("value", "VALUE", "right"),
        Column("source", "FROM", wrap=True),
    )  # fmt: skip
    rows = tuple(
        tuple(without_disclaimer(words) for words in figure_words(figure, unit, on_paper=True))
        for figure in (on_plan(each, content.site) for each in well_figures(content.site, study))
    )
    return Table(WELL_FIGURES, columns, rows, tuple(map(str, range(1, len(rows) + 1))))


def around_table(study: WellStudy, site: Site) -> Table:
    """Wells of others, the nearest first: how far, what their level does, what stands in them."""
    unit, names = site.unit, plan_names(site)
    columns = (
        Column("well", "WELL AROUND", wrap=True), Column("distance", "DISTANCE", "right"),
        Column("fall", "FALL", "right"), Column("rise", "RISE", "right"),
        Column("water", "WATER IN IT", "right"), Column("reached", "RETURN REACHES IT"),
    )  # fmt: skip
    rows = tuple(
        (
            names.get(each.id, each.id),
            format_length(each.distance_m, unit, rounding="down"),
            format_length(each.drawdown_m, unit, rounding="up"),
            format_length(each.rise_m, unit, rounding="up"),
            "not stated" if each.water_m is None
            else format_length(each.water_m, unit, rounding="down"),
            f"within {study.seasons.years} years" if each.reached else "no",
        )
        for each in study.levels.neighbours
    )  # fmt: skip
    return Table(WELLS_AROUND, columns, rows)
