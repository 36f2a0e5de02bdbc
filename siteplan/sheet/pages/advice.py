"""Which larger paper would show more."""

from __future__ import annotations

from dataclasses import replace

from siteplan.sheet.content.content import DETAILS, PLAN, TABLES, PlanContent
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Sheet
from siteplan.sheet.pages.compose import Arrangement, arranged
from siteplan.sheet.style.paper import paper, papers_from
from siteplan.sheet.tables.pipes import TAKE_OFF, has_pipes


@composing()
def paper_advice(sheet: Sheet, content: PlanContent, *, told: bool = False) -> str:
    """The paper that would list all elements, or show the lot larger; empty where none is needed.

    Parameters
    ----------
    sheet
        The sheet as composed.
    content
        What it was composed from.
    told
        Whether other sheets tell what this one leaves out: then only its scale matters.
    """
    if told:
        content = replace(content, titles=(PLAN, DETAILS, TABLES))
    present = arranged(content, sheet.paper.shrunk())
    if present is None:
        return ""
    missing = _missing(present, content) and not told
    # a scale that was asked for is the designer's own choice
    small = content.site.sheet.scale is None and _ratio(present) > sheet.unit.drawing.readable
    if not missing and not small:
        return "" if told else _room_for_pipes(present, sheet, content)
    others = [
        (name, arrangement)
        for name in papers_from(sheet.paper.name)[1:]
        if (arrangement := arranged(_on_paper(content, name), paper(name).shrunk())) is not None
    ]
    return _more_listed(present, others, content) if missing else _larger_scale(present, others)


def _more_listed(
    present: Arrangement, others: list[tuple[str, Arrangement]], content: PlanContent
) -> str:
    """The smallest paper that lists most elements."""
    count = len(_elements(content))
    listed = {name: min(arrangement.plan.most_rows, count) for name, arrangement in others}
    most = max(listed.values(), default=0)
    if most <= present.plan.most_rows:
        return ""
    name, arrangement = next(pair for pair in others if listed[pair[0]] == most)
    rows = "all" if most == count else f"{most}"
    return (
        f"The sheet lists {present.plan.most_rows} of {count} elements; "
        f'[sheet] size = "{name}" lists {rows}, at {arrangement.view.label}.'
    )


def _larger_scale(present: Arrangement, others: list[tuple[str, Arrangement]]) -> str:
    """The smallest paper on which the plan is larger."""
    for name, arrangement in others:
        if _ratio(arrangement) < _ratio(present):
            return (
                f"The plan is drawn at {present.view.label}; "
                f'[sheet] size = "{name}" shows it at {arrangement.view.label}.'
            )
    return ""


def _room_for_pipes(present: Arrangement, sheet: Sheet, content: PlanContent) -> str:
    """The smallest paper that has room for the take-off; empty where none is needed."""
    if not has_pipes(content) or present.plan.pipes == TAKE_OFF:
        return ""
    for name in papers_from(sheet.paper.name)[1:]:
        arrangement = arranged(_on_paper(content, name), paper(name).shrunk())
        if arrangement is not None and arrangement.plan.pipes == TAKE_OFF:
            return f'The take-off is in takeoff.csv; [sheet] size = "{name}" has room for it.'
    return ""


def _elements(content: PlanContent) -> tuple[object, ...]:
    return content.layout.elements if content.layout else ()


def _missing(arrangement: Arrangement, content: PlanContent) -> bool:
    return arrangement.plan.most_rows < len(_elements(content))


def _ratio(arrangement: Arrangement) -> float:
    """Ratio of the scale on the sheet as plotted; the view is the one before enlargement."""
    return arrangement.view.ratio / arrangement.enlargement


def _on_paper(content: PlanContent, name: str) -> PlanContent:
    options = replace(content.site.sheet, size=name)
    return replace(content, site=replace(content.site, sheet=options))
