"""Marks stand in the drawing as extended data, and nothing else of it changes."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from audit_lots import mark_of
from drawn_once import compose
from drawn_texts import texts_in
from sheet_lots import composed, pond_farm, rural, suburban, well_pair

from siteplan.export.dxf import write_dxf, write_model
from siteplan.sheet.marks import Mark
from siteplan.sheet.model import Symbol, Text


def marks_of(text):
    """Mark of each line of a text: a paragraph has that of its first."""
    known = mark_of(text)
    count = len(text.plain_text(split=True)) if text.dxftype() == "MTEXT" else 1
    return [] if known is None else [Mark(*known[:3], known[3] + k) for k in range(count)]


LOTS = [suburban, rural, pond_farm, well_pair]


@pytest.mark.parametrize("lot", LOTS)
def test_every_mark_of_the_sheet_stands_on_its_text_or_symbol(lot, tmp_path: Path) -> None:
    sheet = composed(lot)
    write_dxf(sheet, tmp_path / "plan.dxf")
    document = ezdxf.readfile(tmp_path / "plan.dxf")
    assert "SITEPLAN" in document.appids
    wanted = [
        one.mark
        for one in sheet.primitives
        if isinstance(one, (Text, Symbol)) and one.mark and getattr(one, "text", "a symbol")
    ]
    spaces = (document.modelspace(), document.layout("PLAN"))
    marks = [mark for space in spaces for one in texts_in(space) for mark in marks_of(one)]
    symbols = [mark_of(one) for space in spaces for one in space.query("INSERT")]
    marks += [Mark(*one) for one in symbols if one is not None]
    key = lambda mark: (mark.block, mark.row, mark.column, mark.line)  # noqa: E731
    assert sorted(marks, key=key) == sorted(wanted, key=key)
    assert len(marks) > 60


def test_a_mark_stands_on_the_text_that_it_is_of(tmp_path: Path) -> None:
    content = suburban()
    write_dxf(compose(content), tmp_path / "plan.dxf")
    document = ezdxf.readfile(tmp_path / "plan.dxf")
    names = {one.id for one in content.layout.elements}
    cells = {}
    for one in texts_in(document.layout("PLAN")):
        block, row, column, _ = mark_of(one) or ("", "", "", 0)
        if block == "elements" and column == "id" and row:
            cells[row] = one.dxf.text
    assert cells == {name: name for name in names}


def test_the_model_alone_has_the_names_of_elements_marked(tmp_path: Path) -> None:
    sheet = composed(suburban)
    write_model(sheet, tmp_path / "model.dxf")
    document = ezdxf.readfile(tmp_path / "model.dxf")
    labels = [mark for one in texts_in(document.modelspace()) if (mark := mark_of(one))]
    assert {mark[:3] for mark in labels} >= {("label", "B1", "bore"), ("label", "A", "tie")}
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
