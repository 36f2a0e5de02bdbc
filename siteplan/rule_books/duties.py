"""From TOML to duties: what somebody has to do before, at and after the work."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, cast

from siteplan.reading import Table
from siteplan.rule_books.bounds import needs_source, read_parts, source_of
from siteplan.rule_books.conditions import read_condition
from siteplan.rule_books.meant import judge_meant
from siteplan.rule_books.model import DUTY_OF, STAGES, Duty, DutyOf, Stage
from siteplan.rule_books.standing import Standing, read_standing
from siteplan.vocabulary.loop_types import element_parts

USUAL_STAGE: Final[Mapping[str, Stage]] = {
    "permit": "before",
    "notice": "before",
    "variance": "before",
    "who builds": "at the work",
    "construction": "at the work",
    "inspection": "at the work",
    "record": "after",
}
"""When a thing is done, where a book does not say."""
_DUE = re.compile(
    r"\d[\d,.]*\s*((business|working) day|hour|hr|h|day|d|week|wk|month|mo|year|yr)s?"
    r"|at once|yearly",
    re.IGNORECASE,
)


def duty_name(values: Mapping[str, Any], number: int) -> str:
    """What a duty is called in messages."""
    return f"duty {values.get('id', values.get('of', number))!r}"


def read_duty(table: Table, *, document: str, standing: Standing) -> Duty:
    """Duty of one ``[[duty]]`` table; faults go where the table's go."""
    for key, example in (
        ("of", 'of = "permit"'),
        ("printed", 'printed = "permit of the county for each bore"'),
        ("source", 'source = "section" or "common practice, no source"'),
    ):
        table.required(key, example)
    needs_source(table)
    of = cast("DutyOf", table.choice("of", DUTY_OF, ""))
    due = table.text("due")
    if due and not _DUE.fullmatch(due):
        table.fault("due", f"{due!r} is not a time.", 'Write due = "72 hours" or "60 days".')
    duty = Duty(
        id=table.text("id", of.replace(" ", "-")),
        of=of,
        stage=cast("Stage", table.choice("stage", STAGES, USUAL_STAGE.get(of, STAGES[0]))),
        parts=read_parts(table, element_parts()),
        printed=table.text("printed"),
        source=source_of(table.text("source"), document),
        due=due,
        when=read_condition(table),
        note=table.text("note"),
        standing=read_standing(table, standing),
    )
    judge_meant(table)
    table.finish()
    return duty
