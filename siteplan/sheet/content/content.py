"""What a plan sheet has to show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.advisories.bounds import Condition, ties_asked
from siteplan.alternatives.assumptions import Assumption
from siteplan.alternatives.sensitivity import Change
from siteplan.available.area import KeepOut
from siteplan.checks.model import Separation
from siteplan.comparison.compare import Taken
from siteplan.demand.model import Required
from siteplan.demand.wells import WellStudy
from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Book
from siteplan.sheet.content.setting_out import setting_out
from siteplan.sheet.content.stakes import SettingOut
from siteplan.sheet.content.ties import TiePoint
from siteplan.site.model import Site

PLAN: Final = "PLAN"
PART: Final = "PART OF PLAN"
DETAILS: Final = "DETAILS"
TABLES: Final = "TABLES"
"""Titles of sheets."""


@dataclass(frozen=True, slots=True)
class Deviations:
    """How what was built deviates from its plan: a table in words, and what stands below it.

    ``names`` are what programs call its columns.
    """

    names: tuple[str, ...]
    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlanContent:
    """Everything the sheet speaks of, decided before the sheet begins.

    Parameters
    ----------
    layout
        What goes in the ground; None where nothing could be laid out.
    keep_outs
        What was taken off the parcel for the parts on the sheet.
    separations
        One row each in the table, one dimension string each on the plan.
    fits
        Whether the length required is provided and every check passes.
    verdict
        The same in one sentence.
    changes
        What a calculated length does when conductivity, load or spacing moves by a tenth.
    titles
        Titles of all sheets of the set, the plan first.
    staked
        How everything is staked; None: to be chosen for the layout.
    built
        Deviations of what was built; None where the sheet shows what is to be built.
    conditions
        What rule books bind beside distances, and whether the plan keeps it.
    books
        The books.
    compared
        What each loop type that fits takes, where several were tried.
    wells
        What is known of a well pair; None of other loop types.
    notes_on_plan
        So many of the notes stand on the plan, the others with the tables; None: not decided yet.
    shown_on
        By the name of a block of the tables the number of the first sheet that has it.
    """

    site: Site
    layout: Layout | None
    keep_outs: tuple[KeepOut, ...]
    separations: tuple[Separation, ...]
    required: Required
    fits: bool
    verdict: str
    findings: tuple[Finding, ...] = ()
    changes: tuple[Change, ...] = ()
    assumed: tuple[Assumption, ...] = ()
    titles: tuple[str, ...] = (PLAN,)
    staked: SettingOut | None = None
    built: Deviations | None = None
    conditions: tuple[Condition, ...] = ()
    books: tuple[Book, ...] = ()
    compared: tuple[Taken, ...] = ()
    wells: WellStudy | None = None
    notes_on_plan: int | None = None
    shown_on: tuple[tuple[str, str], ...] = ()

    @property
    def tie_points(self) -> tuple[TiePoint, ...]:
        """Points from which stakes are taped."""
        return self.setting_out.ties

    @property
    def setting_out(self) -> SettingOut:
        """How everything is staked, chosen for the layout where it is not given."""
        if self.staked is not None:
            return self.staked
        if self.layout is None:
            return SettingOut()
        return setting_out(self.site, self.layout, ties_asked(self.books))

    @property
    def numbers(self) -> tuple[str, ...]:
        """Number of each sheet of the set, the plan first."""
        return sheet_numbers(self.titles)

    def sheet_of(self, title: str) -> str:
        """Number of the first sheet of a title; empty where the set has none."""
        return self.numbers[self.titles.index(title)] if title in self.titles else ""

    def sheets_of(self, title: str) -> str:
        """Numbers of the sheets of a title, the first and the last; empty where there are none."""
        mine = [n for n, own in zip(self.numbers, self.titles, strict=True) if own == title]
        return f"{mine[0]}–{mine[-1].removeprefix('L')}" if len(mine) > 1 else "".join(mine)

    def sheet_with(self, block: str) -> str:
        """Number of the first sheet that has a block; of the first one of tables until it is known.

        The plan where there are no tables.
        """
        return dict(self.shown_on).get(block) or self.sheet_of(TABLES) or "L1"

    def see(self, file: str) -> str:
        """Where a table stands that has no room on the plan: a sheet of tables, or a file."""
        tables = self.sheet_of(TABLES)
        return f"see sheet {tables}" if tables else f"see {file}"


def sheet_numbers(titles: Sequence[str]) -> tuple[str, ...]:
    """Numbers of sheets: parts of the plan are lettered, the others counted.

    Examples
    --------
    >>> sheet_numbers(("PLAN", "PART OF PLAN", "PART OF PLAN", "DETAILS", "TABLES"))
    ('L1', 'L1A', 'L1B', 'L2', 'L3')
    """
    numbers: list[str] = []
    count = parts = 0
    for title in titles:
        if title == PART:
            numbers.append(f"L1{_letters(parts)}")
            parts += 1
        else:
            count += 1
            numbers.append(f"L{count}")
    return tuple(numbers)


def _letters(number: int) -> str:
    """A, B ... Z, AA, AB ... from 0 on.

    Examples
    --------
    >>> _letters(0), _letters(25), _letters(26)
    ('A', 'Z', 'AA')
    """
    more, last = divmod(number, 26)
    return (_letters(more - 1) if more else "") + chr(ord("A") + last)
