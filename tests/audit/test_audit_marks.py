"""The audit finds the tables by their marks: reworded, moved, changed, deleted, stripped."""

from __future__ import annotations

import codecs
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from audit_lots import codes, full_set_of, mark_of, marked, message, move, plan_of
from drawn_texts import sheet_texts, texts_in
from opened_again import handed_on, opened_again
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.audit.model import Audit
from siteplan.audit.words import BLOCKS
from siteplan.export.dxf import write_dxf
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.place.blocks import Flow
from siteplan.sheet.place.table import Table
from siteplan.sheet.tables import elements, pipes

TABLES = {
    "elements": "set-out-1", "header": "set-out-1", "corners": "east", "separations": "required",
    "circuits": "length", "header-pipes": "trench", "take-off": "quantity",
}  # fmt: skip
"""A column with figures of each table of the lot with trenches."""


@pytest.fixture
def document():
    """The full set of the lot with trenches, to be changed."""
    return opened_again(full_set_of("trenches")[1])


def audit_of(document, tmp_path: Path) -> Audit:
    with handed_on(document, tmp_path / "plan.dxf"):
        return audit_drawing(tmp_path / "plan.dxf", full_set_of("trenches")[0])


def other_digit(text: str) -> str:
    """The text with its last digit another one."""
    place = max(number for number, sign in enumerate(text) if sign.isdigit())
    return f"{text[:place]}{(int(text[place]) + 5) % 10}{text[place + 1 :]}"


def test_every_text_of_the_sheets_own_layer_says_what_it_is(document) -> None:
    texts = [one for one in sheet_texts(document) if one.dxf.layer == "G-ANNO-TEXT"]
    assert len(texts) > 200
    assert not [one.dxf.text for one in texts if mark_of(one) is None]
    assert {mark_of(one)[0] for one in texts} > {*TABLES, "title-block", "notes", "legend"}


def test_cells_moved_are_still_found_and_a_changed_one_of_each_table_told(
    document, tmp_path: Path
) -> None:
    for one in (one for block in TABLES for one in marked(document, block)):
        one.translate(3.0, -2.0, 0.0)
    assert not codes(audit_of(document, tmp_path))
    cells = {block: marked(document, block, column=TABLES[block])[-1] for block in TABLES}
    for cell in cells.values():
        cell.dxf.text = other_digit(cell.dxf.text)
    audit = audit_of(document, tmp_path)
    assert codes(audit) == {"table"}
    told = [in_words(one) for one in audit.findings if one.code == "table"]
    untold = [
        block
        for block, cell in cells.items()
        if not any(
            f"{BLOCKS[block]} on sheet" in words and cell.dxf.text.strip() in words
            for words in told
        )
    ]
    assert untold == []


def test_a_cell_deleted_is_told_of_each_table(document, tmp_path: Path) -> None:
    for block, column in TABLES.items():
        cells = [one for one in marked(document, block, column=column) if mark_of(one)[1]]
        cells[-1].destroy()
    audit = audit_of(document, tmp_path)
    told = [in_words(one) for one in audit.findings if one.code == "table"]
    silent = [words for words in told if "the sheet says nothing" in words]
    assert [block for block in TABLES if not any(BLOCKS[block] in words for words in silent)] == []


def test_a_coordinate_deleted_is_told_though_it_is_compared_with_the_lines(
    document, tmp_path: Path
) -> None:
    marked(document, "elements", "T1", "east")[0].destroy()
    assert "T1, EAST ft: the sheet says nothing" in message(audit_of(document, tmp_path), "table")


def test_a_column_deleted_with_its_title_is_told(document, tmp_path: Path) -> None:
    for one in marked(document, "circuits", column="passes"):
        one.destroy()
    assert "PASSES: the sheet says nothing" in message(audit_of(document, tmp_path), "table")


def test_each_table_deleted_as_a_whole_is_told(document, tmp_path: Path) -> None:
    others = [block for block in TABLES if block != "header"]
    for one in (one for block in others for one in marked(document, block)):
        one.destroy()
    audit = audit_of(document, tmp_path)
    assert not audit.passes
    missed = message(audit, "table")
    untold = [one for one in others if f"has the {BLOCKS[one].lower()} any more" not in missed]
    assert untold == []


def test_the_table_of_header_points_deleted_is_told_by_its_length(document, tmp_path: Path) -> None:
    for one in marked(document, "header"):
        one.destroy()
    audit = audit_of(document, tmp_path)
    assert not audit.passes
    assert "No sheet tells the length of the header any more" in message(audit, "header-length")


def test_a_heading_deleted_is_told(document, tmp_path: Path) -> None:
    for one in marked(document, "circuits", column="heading"):
        one.destroy()
    said = message(audit_of(document, tmp_path), "table")
    assert "Table of circuits on sheet 3 has no heading any more" in said


def test_a_total_changed_in_the_heading_of_the_elements_is_told(document, tmp_path: Path) -> None:
    for one in marked(document, "elements", column="heading"):
        one.dxf.text = other_digit(one.dxf.text)
    assert "Table of elements on sheet 3 is headed" in message(
        audit_of(document, tmp_path), "table"
    )


def test_a_name_changed_on_the_plan_is_told(document, tmp_path: Path) -> None:
    names = [one for one in texts_in(document.modelspace()) if one.dxf.text == "T1"]
    names[0].dxf.text = "T7"
    audit = audit_of(document, tmp_path)
    assert "The name beside T1" in message(audit, "label")
    assert "says T7" in message(audit, "label")


def strip(document) -> None:
    """Drop all marks, as a program does that knows no extended data."""
    for one in document.entitydb.values():
        if one.is_alive and one.has_xdata("SITEPLAN"):
            one.discard_xdata("SITEPLAN")


def test_a_drawing_without_marks_does_not_pass_in_silence(document, tmp_path: Path) -> None:
    strip(document)
    # what nobody compares any more is not told to be right
    for one in sheet_texts(document):
        one.dxf.text = one.dxf.text.replace("CIR-2", "CIR-9")
    audit = audit_of(document, tmp_path)
    assert not audit.passes
    assert codes(audit) == {"no-marks"}
    said = message(audit, "no-marks")
    assert "carries no marks (XDATA of SITEPLAN): tables were not compared" in said
    assert all(words[1:] in said for words in BLOCKS.values())


def test_a_drawing_without_marks_is_judged_by_its_geometry(tmp_path: Path) -> None:
    site, _, drawing = plan_of("bores")
    document = opened_again(drawing)
    move(document, "B1", 0.0, -30.0)
    strip(document)
    with handed_on(document, tmp_path / "plan.dxf"):
        audit = audit_drawing(tmp_path / "plan.dxf", site)
    assert "no-marks" in codes(audit)
    assert codes(audit) & {"separation", "spacing", "outside-parcel", "header-gap"}


def test_a_text_that_lost_its_mark_is_missed_and_named(document, tmp_path: Path) -> None:
    cell = marked(document, "circuits", "CIR-2", "length")[0]
    cell.discard_xdata("SITEPLAN")
    audit = audit_of(document, tmp_path)
    assert "CIR-2, LENGTH: the sheet says nothing" in message(audit, "table")
    assert cell.dxf.handle in message(audit, "text-without-mark")


def other_words(text: str) -> str:
    """The text in letters that nobody reads, its figures as they are."""
    return codecs.encode(text, "rot13")


@pytest.fixture
def reworded(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The full set of the lot with trenches, all headings, titles and sentences worded otherwise.

    The sentences are those of both sides, as a release that words them otherwise has them.
    """
    heading, table = Flow.heading, Flow.table

    def other_table(self: Flow, given: Table, **place: float) -> None:
        columns = tuple(replace(one, title=other_words(one.title)) for one in given.columns)
        table(self, replace(given, columns=columns), **place)

    monkeypatch.setattr(Flow, "heading", lambda self, text: heading(self, other_words(text)))
    monkeypatch.setattr(Flow, "table", other_table)
    for module, name in (
        (elements, "header_title"), (pipes, "circuit_words"), (pipes, "flow_words"),
    ):  # fmt: skip
        said = getattr(module, name)
        other = lambda *given, said=said, **named: other_words(said(*given, **named))  # noqa: E731
        monkeypatch.setattr(module, name, other)
    site, plan, _ = plan_of("trenches")
    content = plan.content()
    whole = replace(site, sheet=replace(site.sheet, sheets="full"))
    first, *more = compose_set(replace(content, site=whole))
    path = tmp_path / "reworded.dxf"
    write_dxf(first, path, more=more)
    return path


def test_reworded_headings_titles_and_sentences_break_no_table(
    reworded: Path, tmp_path: Path
) -> None:
    document = ezdxf.readfile(reworded)
    said = {one.dxf.text for one in sheet_texts(document)}
    assert not said & {"SEPARATIONS", "FROM – TO", "PROV'D", "TAKE-OFF", "HEADER PIPES", "CIRCUITS"}
    assert not codes(audit_of(document, tmp_path))
    for block, column in TABLES.items():
        cell = marked(document, block, column=column)[-1]
        cell.dxf.text = other_digit(cell.dxf.text)
    told = message(audit_of(document, tmp_path), "table")
    assert [block for block in TABLES if f"{BLOCKS[block]} on sheet" not in told] == []


def test_a_sentence_about_circuits_changed_on_the_only_sheet_is_told(tmp_path: Path) -> None:
    site, plan, _ = plan_of("trenches")
    alone = replace(site, sheet=replace(site.sheet, sheets="one", size="Arch D"))
    (sheet,) = compose_set(replace(plan.content(), site=alone))
    path = tmp_path / "one.dxf"
    write_dxf(sheet, path)
    document = ezdxf.readfile(path)
    assert not codes(audit_of(document, tmp_path))
    sentence = marked(document, "pipes", column="circuit-words")[0]
    sentence.dxf.text = other_digit(sentence.dxf.text)
    assert "Circuits and flow on sheet" in message(audit_of(document, tmp_path), "table")
