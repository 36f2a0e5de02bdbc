"""A permit sheet speaks the words of the trade: no key, table or assignment of a site file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from string import Formatter

import pytest
from campaign import several
from file_words import file_words, file_words_in
from planned import full_set, planned, unweighed
from together import SAMPLE_NAMES

from siteplan.findings.entries import entries
from siteplan.findings.words import FILE
from siteplan.rule_books.loader import book_ids
from siteplan.sheet.model import Sheet, Text
from siteplan.sheet.pages.owner import owner_page
from siteplan.sheet.pages.set import compose_set
from siteplan.site.readers.site_file import read_site


def texts(*sheets: Sheet) -> list[str]:
    return [text.text for sheet in sheets for text in sheet.of_type(Text)]


@pytest.mark.parametrize("text", [
    "give [circuits] flow", "[project]", 'searched = ""', "set pipes = 2", "coldest_day",
    "us-safety: CGA Best Practices", "maine: ch. 6", "maine.toml", "state it in the site file",
    "common practice, no source",
])  # fmt: skip
def test_words_of_a_file_are_told_from_words_of_the_trade(text: str) -> None:
    assert list(file_words(text))


@pytest.mark.parametrize("text", [
    "[1] 29 CFR 1926.1408, Table A", "3 BORES × 266 ft = 798 ft", "SCALE 1\" = 20'",
    "R=166.61'  L=83.47'", "6 in deep; 12.0 gpm", "10-144 CMR ch. 232, ch. 6 s. 600",
    "State of Maine", "see elements.csv",
])  # fmt: skip
def test_words_of_the_trade_are_none_of_a_file(text: str) -> None:
    assert list(file_words(text)) == []


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_no_sheet_of_a_sample_has_words_of_a_file(name: str) -> None:
    page = owner_page(planned(name).content())
    assert file_words_in(texts(*full_set(name), *([page] if page is not None else []))) == []


BOOKS = [book for book in book_ids() if "practice" not in book]
TOGETHER = several(24, 1)
"""So many books hold at once; in a campaign each alone."""


@pytest.mark.parametrize("first", range(0, len(BOOKS), TOGETHER))
def test_no_sheet_under_rule_books_has_words_of_a_file(
    first: int, lot_text: str, write_site: Callable[..., Path]
) -> None:
    def words_under(books: list[str]) -> list[str]:
        text = f'{lot_text}\n[sheet]\nset = "full"\n[rules]\nbooks = {books}\n'
        content = unweighed(read_site(write_site(text)), "vertical").content()
        layout = content.layout
        if layout is None and len(books) > 1:  # a ban of one hides what the others ask for
            half = len(books) // 2
            return [*words_under(books[:half]), *words_under(books[half:])]
        # what is drawn of a layout does not change its words
        few = layout and replace(
            layout, elements=layout.elements[:1], header=None, access=None, crossovers=()
        )
        return file_words_in(texts(*compose_set(replace(content, layout=few))))

    assert words_under(BOOKS[first : first + TOGETHER]) == []


def on_paper(template: str) -> str:
    """What stands on a sheet whatever the values are."""
    said = []
    for literal, name, spec, _ in Formatter().parse(template):
        said.append(literal)
        if name == "paper":
            said.append(on_paper(spec or ""))
        elif name and name != FILE:
            said.append("X")
    return "".join(said).replace("common practice, no source", "common practice")


def test_no_sentence_of_the_catalogue_brings_words_of_a_file_onto_paper() -> None:
    told = {
        (entry.code, word)
        for entry in entries().values()
        # an audit, and its phrases, are read at the screen
        if entry.chapter != "audit"
        for template in (entry.says, entry.metric, entry.figure, entry.basis)
        for word in file_words(on_paper(template))
    }
    assert told == set()
