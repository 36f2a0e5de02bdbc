"""The title block, from the table [project] of a site file."""

from __future__ import annotations

import datetime

from siteplan.site.options.read import Read
from siteplan.site.project import Project, Revision

TEXTS = (
    "title", "owner", "address", "parcel_id", "prepared_by", "legal_description", "contractor",
    "license_number", "drawn_by", "checked_by",
)  # fmt: skip

UNNAMED = "FILL IN"
"""What `siteplan new` writes where a name is to be filled in."""


def read_project(given: Read) -> Project:
    """Project of a site file's [project] table."""
    return Project(
        date=given["date"] or datetime.date.min,
        revisions=_revisions(given),
        **{key: _filled_in(given[key]) for key in TEXTS},
    )


def _filled_in(text: str | None) -> str:
    """A text that somebody has written; what a new site file asks to fill in is none yet.

    Examples
    --------
    >>> _filled_in("FILL IN"), _filled_in("A. Owner")
    ('', 'A. Owner')
    """
    return "" if text is None or text.strip().upper() == UNNAMED else text


def _revisions(given: Read) -> tuple[Revision, ...]:
    """Revisions in the order of the file, numbered 1, 2, 3 ... where they have no number."""
    revisions = tuple(
        Revision(
            revision["number"] or str(place),
            revision["date"] or datetime.date.min,
            revision["text"] or "",
        )
        for place, revision in enumerate(given["revision"], 1)
    )
    names = [revision.number for revision in revisions]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        given.fault("revision", f"number {name} stands twice.", "Give each a number of its own.")
    return revisions
