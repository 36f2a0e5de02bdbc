"""What the authorities of a site's books want on the plan, and what of it is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from siteplan.checks.model import Finding
from siteplan.rule_books.model import Book, Shown
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.site.project import Project, not_stated

COORDINATE_DECIMALS = 6
"""Decimals of latitude and longitude in the table of elements."""
TIES = 2
"""Fixed points from which every element is tied on the sheet."""
TITLE_BLOCK = "title-block"
"""Code of the finding that the title block is not complete."""


def title_block_finding(project: Project) -> tuple[Finding, ...]:
    """One finding that names what the title block lacks; empty where it lacks nothing.

    Examples
    --------
    >>> import datetime
    >>> bare = Project("Field", "A. Owner", datetime.date(2026, 3, 14), address="2 Elm Way")
    >>> title_block_finding(bare)[0].message[:60]
    'The title block does not say parcel_id, legal_description, p'
    """
    missing = not_stated(project)
    if not missing:
        return ()
    words = f"The title block does not say {', '.join(missing)}: give them under [project]."
    return (Finding(TITLE_BLOCK, "warning", words, "project"),)


def missing_on_the_plan(site: Site, rules: RuleSet) -> tuple[Finding, ...]:
    """One finding for each thing that a book wants shown and the plan cannot show."""
    return tuple(finding for book in rules.books for finding in _of_book(site, book))


def _of_book(site: Site, book: Book) -> Iterator[Finding]:
    for shown in book.shown:
        why = lacking(site, shown)
        if why:
            yield Finding(
                code="not-shown",
                severity="warning",
                message=f"{book.title} wants {_words(shown)} on the plan ({shown.source}): {why}",
                subject=shown.what,
                rule=book.id,
            )


def lacking(site: Site, shown: Shown) -> str:
    """Why the plan cannot show what a book wants, and the mend; empty where it can."""
    return _LACKING.get(shown.what, _nothing)(site, shown)


def _words(shown: Shown) -> str:
    return f"{shown.what} {shown.printed}".strip()


def _nothing(_: Site, __: Shown) -> str:
    return ""


def _decimals(site: Site, shown: Shown) -> str:
    if site.georeference is None:
        return "the lot has no coordinate system; give its geometry as GeoJSON with one."
    wanted = shown.value or 0
    return f"{COORDINATE_DECIMALS} are given." if wanted > COORDINATE_DECIMALS else ""


def _radius(site: Site, shown: Shown) -> str:
    wanted = shown.value or 0.0
    if site.searched_m is None:
        return (
            "say how far around the lot wells and septic systems were looked for, with "
            f'[project] searched = "{shown.printed}".'
        )
    return "" if site.searched_m >= wanted else "the site file's searched radius is smaller."


def _ties(site: Site, shown: Shown) -> str:
    if not site.of_kind("building"):
        return "no building corner to tie to; draw a building."
    return "" if (shown.value or 0) <= TIES else f"{TIES} are given for each element."


def _field(name: str) -> Callable[[Site, Shown], str]:
    def absent(site: Site, _: Shown) -> str:
        return "" if getattr(site.project, name) else f"give it as [project] {name}."

    return absent


def _kind(*kinds: str) -> Callable[[Site, Shown], str]:
    def absent(site: Site, _: Shown) -> str:
        if site.of_kind(*kinds):
            return ""
        return f"no feature of kind {' or '.join(kinds)} is given; make sure that there is none."

    return absent


def _never(words: str) -> Callable[[Site, Shown], str]:
    return lambda _, __: words


_LACKING: dict[str, Callable[[Site, Shown], str]] = {
    "coordinate decimals": _decimals,
    "contractor": _field("contractor"),
    "easements": _kind("easement"),
    "fluid and grout": _never("write it on the sheet by hand."),
    "legal description": _field("legal_description"),
    "license": _field("license_number"),
    "neighbour wells": _radius,
    "parcel id": _field("parcel_id"),
    "search radius": _radius,
    "septic": _kind("septic tank", "drainfield"),
    "slope": _never("mark slope and its direction on the sheet by hand."),
    "ties": _ties,
}
"""How to tell that a thing is missing; what is not here stands on every sheet."""
