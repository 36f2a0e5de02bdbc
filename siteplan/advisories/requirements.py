"""What the authorities of a site's books want on the plan, and what of it is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from siteplan.findings.model import Finding, Reason, Values, reason
from siteplan.rule_books.model import Book, Shown
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.site.project import Project, not_stated
from siteplan.units.model import UnitSystem

COORDINATE_DECIMALS = 6
"""Decimals of latitude and longitude in the table of elements."""
TITLE_BLOCK = "title-block"
"""Code of the finding that the title block is not complete."""
TOLD_ABOVE = "told-with"
"""Code of the reason that another row has the reason."""
SAID = {"parcel id": "parcel number"}
"""Keys that nobody says so."""
WELLS, RADIUS = "neighbour wells", "search radius"
Answer = Callable[[Site, Shown], Reason | None]
"""Why a site cannot show what a book wants."""


def title_block_finding(project: Project) -> tuple[Finding, ...]:
    """One finding that names what the title block lacks; empty where it lacks nothing.

    Examples
    --------
    >>> import datetime
    >>> bare = Project("Field", "A. Owner", datetime.date(2026, 3, 14), address="2 Elm Way")
    >>> title_block_finding(bare)[0].values["missing"][:3]
    ('parcel_id', 'legal_description', 'prepared_by')
    """
    missing = not_stated(project)
    if not missing:
        return ()
    values: Values = {"missing": tuple(missing), "named": tuple(map(_in_words, missing))}
    return (Finding(TITLE_BLOCK, subject="project", values=values),)


def missing_on_the_plan(site: Site, rules: RuleSet) -> tuple[Finding, ...]:
    """One finding for each thing that a book wants shown and the plan cannot show."""
    return tuple(finding for book in rules.books for finding in _of_book(site, book))


def _of_book(site: Site, book: Book) -> Iterator[Finding]:
    for shown in book.shown:
        because = lacking_of(site, shown, book)
        # one statement answers both: it is asked for once
        if because is not None and because.code != TOLD_ABOVE:
            yield Finding(
                "not-shown",
                subject=shown.what,
                rule=book.id,
                values={
                    "title": book.title,
                    "what": f"{named(shown, site.unit)} {shown.printed}".strip(),
                    "source": shown.source,
                    "lacking": because,
                },
            )


def named(shown: Shown, unit: UnitSystem) -> str:
    """What a book wants shown, as it is spelled where the sheet is read."""
    return _in_words(shown.what).replace("neighbour", unit.neighbor)


def _in_words(key: str) -> str:
    """A key as the trade says it."""
    words = key.replace("_", " ")
    return SAID.get(words, words)


def with_radius(shown: Shown, book: Book) -> Shown:
    """What a book wants; neighbours' wells within its search radius, where it says none of them."""
    if shown.what != WELLS or shown.printed:
        return shown
    radius = next((other for other in book.shown if other.what == RADIUS), shown)
    return replace(shown, value=radius.value, printed=radius.printed)


def lacking_of(site: Site, shown: Shown, book: Book) -> Reason | None:
    """Why the plan cannot show what a row of a book wants; None where it can.

    A search radius that another row of the book asks for too is asked for there.
    """
    because = lacking(site, with_radius(shown, book))
    wells = any(other.what == WELLS for other in book.shown)
    if because is None or shown.what != RADIUS or not wells:
        return because
    return reason(TOLD_ABOVE, what=f"{site.unit.neighbor} wells")


def lacking(site: Site, shown: Shown) -> Reason | None:
    """Why the plan cannot show what a book wants, and the mend; None where it can."""
    answer = _LACKING.get(shown.what)
    return answer(site, shown) if answer is not None else None


def _decimals(site: Site, shown: Shown) -> Reason | None:
    if site.georeference is None:
        return reason("no-coordinate-system")
    wanted = shown.value or 0
    if wanted <= COORDINATE_DECIMALS:
        return None
    return reason("so-many-given", number=COORDINATE_DECIMALS)


def _radius(site: Site, shown: Shown) -> Reason | None:
    if site.searched_m is None and not shown.printed:
        return reason("searched-how-far")
    if site.searched_m is None:
        return reason("searched-not-stated", printed=shown.printed)
    return None if site.searched_m >= (shown.value or 0.0) else reason("searched-too-near")


def _field(name: str) -> Answer:
    def absent(site: Site, _: Shown) -> Reason | None:
        return None if getattr(site.project, name) else reason("give-under-project", key=name)

    return absent


def _kind(*kinds: str) -> Answer:
    def absent(site: Site, _: Shown) -> Reason | None:
        return None if site.of_kind(*kinds) else reason("no-feature-of-kind", kinds=kinds)

    return absent


def _sketch(site: Site, _: Shown) -> Reason | None:
    """The location on the sheets shows the lot by its streets: without any it locates nothing."""
    return None if site.of_kind("street") else reason("attach-a-sketch")


def _never(code: str) -> Answer:
    return lambda _, __: reason(code)


UTILITIES = (
    "sewer line", "water line", "gas line", "electric line", "communication line",
    "overhead power line",
)  # fmt: skip
_LACKING: dict[str, Answer] = {
    "buildings": _kind("building"),
    "coordinates": _decimals,
    "coordinate decimals": _decimals,
    "contractor": _field("contractor"),
    "driveways": _kind("driveway"),
    "easements": _kind("easement"),
    "floodplain": _kind("floodplain"),
    "legal description": _field("legal_description"),
    "license": _field("license_number"),
    "location sketch": _sketch,
    WELLS: _radius,
    "parcel id": _field("parcel_id"),
    "reserve area": _kind("reserve area"),
    RADIUS: _radius,
    "septic": _kind("septic tank", "drainfield"),
    "slope": _never("mark-slope-by-hand"),
    "storm water": _kind("storm drain", "drain tile"),
    "streets": _kind("street"),
    "surface water": _kind("stream", "pond", "wetland"),
    "utilities": _kind(*UTILITIES),
}
"""How to tell that a thing is missing; what is not here stands on every sheet."""
