"""The title block, from the table [project] of a site file."""

from __future__ import annotations

import datetime

from siteplan.reading import Table
from siteplan.site.project import Project, Revision

TEXTS = (
    "address", "parcel_id", "prepared_by", "legal_description", "contractor", "license_number",
    "drawn_by", "checked_by",
)  # fmt: skip


def read_project(table: Table) -> Project:
    """Project of a site file's [project] table."""
    for key, example in (("title", 'title = "Loop field"'), ("owner", 'owner = "A. Owner"')):
        if table.required(key, example) and table.raw(key) == "":
            table.fault(key, "is empty.", f"Write it as {example}.")
    project = Project(
        title=table.text("title"),
        owner=table.text("owner"),
        date=_date(table),
        revisions=_revisions(table),
        **{key: table.text(key) for key in TEXTS},
    )
    table.finish()
    return project


def _revisions(table: Table) -> tuple[Revision, ...]:
    """Revisions in the order of the file, numbered 1, 2, 3 ... where they have no number."""
    found = []
    for place, one in enumerate(table.tables("revision", lambda _, k: f"revision {k}"), 1):
        one.required("text", 'text = "Bore B3 moved"')
        number = one.raw("number")
        if isinstance(number, int) and not isinstance(number, bool):
            name = str(number)
        else:
            name = one.text("number", str(place))
        found.append(Revision(name, _date(one), one.text("text")))
        one.finish()
    names = [one.number for one in found]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        table.fault("revision", f"number {name} stands twice.", "Give each a number of its own.")
    return tuple(found)


def _date(table: Table) -> datetime.date:
    value = table.raw("date")
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    if table.required("date", "date = 2026-03-14"):
        table.fault("date", f"{value!r} is not a date.", "Write date = 2026-03-14, no quotes.")
    return datetime.date.min
