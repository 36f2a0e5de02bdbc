"""Sheets that several tests look at, each composed once in a process however many do.

`compose` and `compose_set` here stand in for those of the package where a test looks at what is
drawn, not at how it comes about: not where the package is made to do something else for a test.
"""

from __future__ import annotations

from functools import lru_cache

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet
from siteplan.sheet.pages import compose as plan_sheet
from siteplan.sheet.pages import set as whole_set

MOST = 48
"""So many are kept: a file's tests run one after the other, and look at few lots each."""


def compose(content: PlanContent) -> Sheet:
    """Plan sheet of a lot, composed once for all contents that say the same."""
    return _sheet(content) if _known(content) else plan_sheet.compose(content)


def compose_set(content: PlanContent) -> tuple[Sheet, ...]:
    """Sheets of a lot, composed once for all contents that say the same."""
    return _sheets(content) if _known(content) else whole_set.compose_set(content)


def _known(content: PlanContent) -> bool:
    """Whether a content can be told from others."""
    try:
        hash(content)
    except TypeError:
        return False
    return True


@lru_cache(maxsize=MOST)
def _sheet(content: PlanContent) -> Sheet:
    return plan_sheet.compose(content)


@lru_cache(maxsize=MOST)
def _sheets(content: PlanContent) -> tuple[Sheet, ...]:
    return whole_set.compose_set(content)
