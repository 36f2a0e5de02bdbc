"""Who and what a plan is for: what stands in its title block."""

from __future__ import annotations

import datetime
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Revision:
    """One change of a plan that was handed in before.

    Parameters
    ----------
    number
        As it stands in the block, such as ``"1"`` or ``"A"``.
    """

    number: str
    date: datetime.date
    text: str


@dataclass(frozen=True, slots=True)
class Project:
    """Who and what, for the title block; every text comes from the site file.

    Parameters
    ----------
    drawn_by
        Who drew the plan; empty: whoever prepared it.
    revisions
        The oldest first.
    """

    title: str
    owner: str
    date: datetime.date
    address: str = ""
    parcel_id: str = ""
    prepared_by: str = ""
    legal_description: str = ""
    contractor: str = ""
    license_number: str = ""
    drawn_by: str = ""
    checked_by: str = ""
    revisions: tuple[Revision, ...] = ()

    @property
    def drawer(self) -> str:
        """Who drew the plan; empty where nobody is named."""
        return self.drawn_by or self.prepared_by


WANTED = (
    "owner", "address", "parcel_id", "legal_description", "prepared_by", "checked_by", "contractor",
    "license_number",
)  # fmt: skip
"""What a title block should say beside title and date."""


def not_stated(project: Project) -> tuple[str, ...]:
    """Keys of the title block that the site file leaves empty, in the order of the block."""
    return tuple(key for key in WANTED if not getattr(project, key))
