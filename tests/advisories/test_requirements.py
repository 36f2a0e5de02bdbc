"""What a book wants on the plan: told by book where it is missing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from places import SAMPLES
from wording import in_words

from siteplan.advisories.requirements import lacking_of, missing_on_the_plan
from siteplan.findings.model import reason
from siteplan.rule_books.model import Book, Shown
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site


@pytest.fixture
def site(lot_text: str, write_site: Callable[..., Path]) -> Site:
    return read_site(write_site(lot_text))


def missing(site: Site, what: str, value: float | None = None, printed: str = "") -> list[str]:
    shown = (Shown(what, value, printed, "Code 1"),)
    book = Book("b", "Somewhere", "", "Code", "2026", "Verify.", (), shown)
    return [in_words(finding) for finding in missing_on_the_plan(site, RuleSet((), (book,)))]


def test_coordinates_need_a_coordinate_system(site: Site) -> None:
    # Connecticut 25-128-62 wants coordinates to the fifth decimal of a degree
    assert "no coordinate system" in missing(site, "coordinate decimals", 5, "5")[0]
    assert missing(read_site(SAMPLES / "rural-acre"), "coordinate decimals", 5, "5") == []


def test_a_search_radius_must_be_stated_and_wide_enough(site: Site) -> None:
    # Illinois 77 Ill. Adm. Code 920.200(b): sources within 200 ft
    (message,) = missing(site, "search radius", 60.96, "200 ft")
    assert message.startswith("Somewhere wants search radius 200 ft on the plan (Code 1): say how")
    near = replace(site, searched_m=30.0)
    wide = replace(site, searched_m=60.96)
    assert "smaller" in missing(near, "search radius", 60.96, "200 ft")[0]
    assert missing(wide, "search radius", 60.96, "200 ft") == []


def test_neighbours_wells_without_a_distance_are_asked_for_with_a_question(site: Site) -> None:
    (message,) = missing(site, "neighbour wells")
    assert "how far around the lot were wells and septic systems looked for?" in message
    assert 'a length such as "200 ft"' in message
    assert missing(replace(site, searched_m=30.0), "neighbour wells") == []


def test_neighbours_wells_are_looked_for_within_the_books_own_radius(site: Site) -> None:
    # North Carolina 15A NCAC 02C .0222(d)(4): wells and, in a line of its own, 250 ft
    shown = (
        Shown("neighbour wells", None, "", "Code 1"), Shown("search radius", 76.2, "250 ft", "1"),
    )  # fmt: skip
    book = Book("b", "Somewhere", "", "Code", "2026", "Verify.", (), shown)
    (wells,) = missing_on_the_plan(site, RuleSet((), (book,)))
    assert '[project] searched = "250 ft"' in in_words(wells)
    # one statement answers both lines: it is asked for once
    assert lacking_of(site, shown[1], book) == reason("told-with", what="neighbor wells")
    near = replace(site, searched_m=30.0)
    assert len(missing_on_the_plan(near, RuleSet((), (book,)))) == 1
    assert lacking_of(replace(site, searched_m=80.0), shown[1], book) is None


def test_empty_lines_of_the_title_block_are_told(site: Site) -> None:
    assert "[project] license_number" in missing(site, "license")[0]
    named = replace(site.project, license_number="GL-1")
    assert missing(replace(site, project=named), "license") == []


def test_what_stands_on_every_sheet_is_never_missing(site: Site) -> None:
    assert missing(site, "north arrow") == missing(site, "scale") == []


def told(site: Site, what: str, value: float | None = None) -> list[str]:
    """Codes of why things that a book wants are missing."""
    book = Book("b", "Somewhere", "", "Code", "2026", "Verify.", (), (Shown(what, value, "", "1"),))
    findings = missing_on_the_plan(site, RuleSet((), (book,)))
    return [finding.values["lacking"].code for finding in findings]


def test_a_slope_is_marked_by_hand(site: Site) -> None:
    assert told(site, "slope") == ["mark-slope-by-hand"]


def test_of_more_decimals_than_the_table_has_its_number_is_told() -> None:
    # six decimals of a degree stand in the table
    assert told(read_site(SAMPLES / "rural-acre"), "coordinate decimals", 7) == ["so-many-given"]


def test_a_location_sketch_is_to_be_attached_where_no_street_locates_the_lot(site: Site) -> None:
    # Elkhart County (IN): location-sketch inset
    assert told(replace(site, features=()), "location sketch") == ["attach-a-sketch"]
    assert told(read_site(SAMPLES / "rural-acre"), "location sketch") == []


def test_a_location_by_global_positioning_needs_a_coordinate_system(site: Site) -> None:
    # Illinois 77 Ill. Adm. Code 920.200(b): location by global positioning
    assert told(site, "coordinates") == ["no-coordinate-system"]
    assert told(read_site(SAMPLES / "rural-acre"), "coordinates") == []


@pytest.mark.parametrize(
    ("what", "codes"),
    [
        # the small lot has a house, a well and a drainfield, and no more
        ("buildings", []),
        ("bores", []),
        ("distances", []),
        ("lot size", []),
        ("owner", []),
        ("driveways", ["no-feature-of-kind"]),
        ("floodplain", ["no-feature-of-kind"]),
        ("reserve area", ["no-feature-of-kind"]),
        ("utilities", ["no-feature-of-kind"]),
    ],
)
def test_what_is_on_the_lot_or_on_every_sheet_is_shown(
    site: Site, what: str, codes: list[str]
) -> None:
    assert told(site, what) == codes
