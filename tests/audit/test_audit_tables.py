"""Every number of the tables from which the site works is compared with what is drawn."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from audit_lots import codes, full_set_of, marked, message, plan_of, symbol
from drawn_texts import sheet_texts, texts_in
from opened_again import handed_on, opened_again
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.audit.marked import sheet_blocks
from siteplan.audit.model import Audit, Word
from siteplan.sheet.marks import Mark


def audited_with(name: str, tmp_path: Path, change, *, full: bool = True) -> Audit:
    """Audit of a drawing in which something was changed."""
    site, drawing = full_set_of(name) if full else plan_of(name)[::2]
    doc = opened_again(drawing)
    change(doc)
    with handed_on(doc, tmp_path / "plan.dxf"):
        return audit_drawing(tmp_path / "plan.dxf", site)


def texts_of(doc):
    return list(sheet_texts(doc))


def column(doc, first: str, title: str):
    """Cells below a title in the tables that begin with another, by the text of their row."""
    texts = texts_of(doc)

    def at(one):
        return one.at

    found = {}
    for layout in (one for one in doc.layouts if one.name != "Model"):
        texts = list(texts_in(layout))
        for head in (one for one in texts if one.dxf.text == title):
            level = [one for one in texts if abs(at(one)[1] - at(head)[1]) < 0.01]
            starts = [one for one in level if one.dxf.text == first and at(one)[0] < at(head)[0]]
            if not starts:
                continue
            start = max(starts, key=lambda one: at(one)[0])
            below = [one for one in texts if at(one)[1] < at(head)[1] - 0.01]
            for cell in (one for one in below if abs(at(one)[0] - at(head)[0]) < 0.01):
                for name in below:
                    same = abs(at(name)[1] - at(cell)[1]) < 0.01
                    if same and abs(at(name)[0] - at(start)[0]) < 0.01:
                        found.setdefault(name.dxf.text, []).append(cell)
    return found


def raised(text: str) -> str:
    """The text with the last digit of its first number another one."""
    number = re.search(r"\d[\d,]*(?:\.\d+)?", text)
    assert number is not None
    end = number.end() - 1
    return f"{text[:end]}{(int(text[end]) + 5) % 10}{text[end + 1 :]}"


@pytest.mark.parametrize("name", ["bores", "leaning", "trenches"])
def test_an_untouched_set_of_sheets_has_no_finding(name: str) -> None:
    site, drawing = full_set_of(name)
    audit = audit_drawing(drawing, site)
    assert not codes(audit), [in_words(one) for one in audit.findings]
    assert "not-compared" not in {one.code for one in audit.findings}


# table, title of its first column, title of the column, row
CHANGES = [
    ("bores", "Table of elements", "ID", "TAPE 1", "B1"),
    ("leaning", "Table of elements", "ID", "TILT °", "B2"),
    ("leaning", "Table of elements", "ID", "TOWARDS °", "B2"),
    ("trenches", "Table of elements", "ID", "STATION", "T1 end"),
    ("trenches", "Table of header points", "ID", "TAPE 1", "H1"),
    ("trenches", "Table of property corners", "ID", "EAST ft", "P2"),
    ("trenches", "Table of property corners", "ID", "SIDE FROM HERE TO THE NEXT", "P2"),
    ("trenches", "Table of circuits", "ID", "LENGTH", "CIR-2"),
    ("trenches", "Table of circuits", "ID", "PASSES", "CIR-2"),
    ("trenches", "Table of header pipes", "FROM", "TRENCH", "H1"),
    ("trenches", "Table of header pipes", "FROM", "PIPES IN IT", "H1"),
    ("trenches", "Take-off", "ITEM", "QUANTITY", "WARNING TAPE"),
    ("trenches", "Table of separations", "FROM – TO", "REQ'D", "HEADER – PROPERTY LINE"),
]


@pytest.mark.parametrize(("lot", "table", "first", "title", "row"), CHANGES)
def test_a_changed_figure_is_named_by_table_row_and_column(
    lot: str, table: str, first: str, title: str, row: str, tmp_path: Path
) -> None:
    changed = []

    def change(doc) -> None:
        # a part of the table that stands below has no figures in its last column
        figured = [one for one in column(doc, first, title)[row] if re.search(r"\d", one.dxf.text)]
        cell = figured[-1]
        found = " ".join(cell.dxf.text.split())
        changed.append((found, raised(found)))
        cell.dxf.text = changed[0][1]

    audit = audited_with(lot, tmp_path, change)
    assert codes(audit) == {"table"}
    said = message(audit, "table")
    assert f"{table} on sheet" in said
    place = rf"{re.escape(row)}.*, {re.escape(title)}: the sheet says"
    assert re.search(place, said, re.IGNORECASE)
    assert changed[0][1] in said
    assert changed[0][0] in said


def test_a_tape_changed_on_the_plan_sheet_is_found(tmp_path: Path) -> None:
    def change(doc) -> None:
        cell = column(doc, "ID", "TAPE 1")["B1"][0]
        cell.dxf.text = raised(cell.dxf.text)

    audit = audited_with("bores", tmp_path, change, full=False)
    assert "Table of elements on sheet 1, B1, TAPE 1" in message(audit, "table")


def test_a_row_taken_out_of_the_take_off_is_missed(tmp_path: Path) -> None:
    def change(doc) -> None:
        for one in marked(doc, "take-off", "tracer wire"):
            one.destroy()

    audit = audited_with("trenches", tmp_path, change)
    assert re.search(r"Take-off on sheet \d lacks the row tracer wire", message(audit, "table"))


def test_an_id_changed_in_the_table_of_circuits_is_told(tmp_path: Path) -> None:
    def change(doc) -> None:
        next(one for one in texts_of(doc) if one.dxf.text == "CIR-2").dxf.text = "CIR-9"

    audit = audited_with("trenches", tmp_path, change)
    assert re.search(r"CIR-2, ID: the sheet says CIR-9, .* gives CIR-2", message(audit, "table"))


def test_a_row_put_into_the_table_of_circuits_is_told(tmp_path: Path) -> None:
    def change(doc) -> None:
        for one in marked(doc, "circuits", "CIR-2"):
            tags = [(code, "CIR-9" if value == "CIR-2" else value)
                    for code, value in one.get_xdata("SITEPLAN") if code != 1001]  # fmt: skip
            one.set_xdata("SITEPLAN", tags)

    audit = audited_with("trenches", tmp_path, change)
    said = message(audit, "table")
    assert "has a row CIR-9, which nothing drawn gives" in said
    assert re.search(r"Table of circuits on sheet \d lacks the row CIR-2", said)


def test_a_tie_point_moved_is_told_with_the_tapes_that_no_longer_hold(tmp_path: Path) -> None:
    def change(doc) -> None:
        tie = next(one for one in doc.modelspace().query("INSERT") if one.dxf.name == "TIE")
        tie.translate(3.0, 0.0, 0.0)

    audit = audited_with("bores", tmp_path, change)
    assert "Tie point A is drawn E " in message(audit, "tie")
    assert "B1, TAPE 1" in message(audit, "table")
    assert "B1, TAPE 2" not in message(audit, "table")


def test_a_tie_point_erased_is_told(tmp_path: Path) -> None:
    last: list[str] = []

    def change(doc) -> None:
        ties = [one for one in doc.modelspace().query("INSERT") if one.dxf.name == "TIE"]
        last.append("ABCDEFGH"[len(ties) - 1])
        doc.modelspace().delete_entity(ties[-1])

    audit = audited_with("bores", tmp_path, change)
    assert f"no tie point {last[0]} is drawn" in message(audit, "table")


def test_pipes_of_elements_that_were_moved_are_said_not_to_be_compared(tmp_path: Path) -> None:
    def change(doc) -> None:
        symbol(doc, "B1").translate(1.0, 0.0, 0.0)

    audit = audited_with("bores", tmp_path, change)
    assert "take-off were not compared" in message(audit, "not-compared")
    assert "CIR-1" not in message(audit, "table")


def test_a_cell_that_wraps_is_read_as_one_wherever_its_lines_lie() -> None:
    lines = [("three", 1), ("one two", 0)]
    words = [
        Word(text, (7.0 * line, 3.0), 2.05, mark=Mark("header-pipes", "H1", "to", line), sheet=2)
        for text, line in lines
    ]
    (block,) = sheet_blocks(words)
    assert (block.name, block.sheet, block.rows) == ("header-pipes", 2, ("H1",))
    assert block.said("H1", "to") == ("one two three",)


@pytest.mark.parametrize(
    ("lot", "start"),
    [
        ("trenches", r"\d+ circuits? of "),
        ("flat-coil", r"[\d.]+ (?:gpm|L/s) \("),
    ],
)
def test_a_changed_sentence_on_circuits_or_flow_is_told(
    lot: str, start: str, tmp_path: Path
) -> None:
    def change(doc) -> None:
        word = next(one for one in texts_of(doc) if re.match(start, one.dxf.text))
        word.dxf.text = raised(word.dxf.text)

    audit = audited_with(lot, tmp_path, change, full=lot != "trenches")
    assert codes(audit) == {"table"}
    assert "Circuits and flow on sheet " in message(audit, "table")
