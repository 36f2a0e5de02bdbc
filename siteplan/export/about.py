"""What a file says of itself to whoever files it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.site.project import Project

WHAT: Final = "Plan of ground heat exchanger"
KEYWORDS: Final = ("site plan", "ground heat exchanger")


@dataclass(frozen=True, slots=True)
class About:
    """What a print says of itself; an empty text is left out."""

    title: str
    subject: str = ""
    author: str = ""
    keywords: str = ""


def about(project: Project) -> About:
    """What the print of a project says of itself.

    Examples
    --------
    >>> from datetime import date
    >>> project = Project("Loop", "A. Owner", date(2026, 1, 2), address="1 Lane", parcel_id="22-1")
    >>> about(project).subject, about(project).keywords
    ('Plan of ground heat exchanger, 1 Lane, parcel 22-1', 'site plan, ground heat exchanger, 22-1')
    """
    parcel = f"parcel {project.parcel_id}" if project.parcel_id else ""
    subject = ", ".join(filter(None, (WHAT, project.address, parcel)))
    keywords = ", ".join(filter(None, (*KEYWORDS, project.parcel_id)))
    return About(project.title, subject, project.prepared_by or project.drawer, keywords)
