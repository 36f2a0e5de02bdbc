"""What the books have people do before, at and after the work, for a loop type on a site."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.findings.model import Finding
from siteplan.rule_books.model import STAGES, Book, Duty, Part
from siteplan.rules.conditions import plant_of
from siteplan.site.model import Site, System
from siteplan.vocabulary.loop_types import loop_type

RETURN_WELL: Final[Part] = "return well"
NOT_ASKED: Final = "variance"
"""What nobody has to do for a plan that keeps every distance."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A duty, and the book that asks it."""

    duty: Duty
    book: Book


def duties_on(site: Site, books: Sequence[Book], system: System) -> tuple[Asked, ...]:
    """Every duty of the books that a loop type meets, in the order in which they are done."""
    plant, parts = plant_of(site), _parts(site, system)
    asked = [
        Asked(duty, book)
        for book in books
        for duty in book.duties
        if duty.of != NOT_ASKED
        and any(part in duty.parts and plant.meets(duty.when, part) for part in parts)
    ]
    return tuple(sorted(asked, key=lambda one: STAGES.index(one.duty.stage)))


def _parts(site: Site, system: System) -> tuple[Part, ...]:
    """Parts that the loop type has here: no return well where an outfall takes the water."""
    outfall = site.exchanger.open.outfall
    parts = loop_type(system).parts
    return tuple(part for part in parts if not (outfall and part == RETURN_WELL))


def duty_remarks(site: Site, books: Sequence[Book], system: System) -> Iterator[Finding]:
    """That there are duties: one note for each stage."""
    asked = duties_on(site, books, system)
    for stage in STAGES:
        here = [condition.duty for condition in asked if condition.duty.stage == stage]
        if here:
            what = tuple(
                f"{duty.printed} ({duty.due})" if duty.due else duty.printed for duty in here
            )
            values = {"stage": stage, "what": what}
            yield Finding("to-do", subject=stage, values=values)
