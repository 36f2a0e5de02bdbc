"""The set of sheets: the plan, and where it cannot say all, details and tables."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.sheet.compose import arranged, compose, composed, finished, says_all
from siteplan.sheet.content import DETAILS, PLAN, TABLES, PlanContent
from siteplan.sheet.details import detail_pages
from siteplan.sheet.model import Sheet, View
from siteplan.sheet.pages import Form, Page, page_primitives, pages, table_form
from siteplan.sheet.paper import paper
from siteplan.sheet.table_sheet import table_writers

NOWHERE: Final = (0.0, 0.0)


def compose_set(content: PlanContent) -> tuple[Sheet, ...]:
    """All sheets, the plan first.

    Raises
    ------
    ExportError
        The paper size is unknown, or the plan does not fit on it at the scale asked for.
    """
    page = paper(content.site.sheet.size).shrunk()
    wanted = content.site.sheet.sheets
    if wanted != "full":
        found = arranged(content, page)
        if found is not None and (wanted == "one" or says_all(content, found)):
            return (composed(content, page, found),)
    details, drawn = detail_pages(content, page)
    written = table_form(page)
    titles = (PLAN, *(DETAILS for _ in details))
    titles = (*titles, *(TABLES for _ in pages(content, table_writers(content), written)))
    told = replace(content, titles=titles)
    # written again, as the tables speak of sheets by their number
    tables = pages(told, table_writers(told), written)
    plan = compose(told)
    others = [*((one, drawn) for one in details), *((one, written) for one in tables)]
    return (plan, *(_sheet(told, *one, plan, number=k) for k, one in enumerate(others, 2)))


def _sheet(content: PlanContent, page: Page, form: Form, plan: Sheet, *, number: int) -> Sheet:
    """A sheet without a window on the plan; its scale in model space is the plan's."""
    small = form.paper
    ratio = plan.view.ratio * small.enlargement
    view = View(ratio, plan.view.label, small.margin_mm, small.margin_mm, 0.0, 0.0, NOWHERE)
    items = page_primitives(content, page, form, number=number)
    return replace(finished(content, small, view, items), name=content.titles[number - 1])
