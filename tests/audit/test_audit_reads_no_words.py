"""No reader of the audit knows a heading, a title or a sentence of the sheet by its words."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest
from audit_lots import full_set_of, mark_of, marked
from ezdxf.entities.factory import ENTITY_CLASSES
from opened_again import opened_again
from shapely import LineString

import siteplan.audit
from siteplan.layout.elements import Bore, Trench, Well
from siteplan.sheet.plan_view.exchanger import element_attributes

ROOM = Path(siteplan.audit.__file__).parent
WRITERS = {"sheet.py", "package.py", "columns.py"}
"""They write the record as built, or read a list of places, and read no drawing."""
READERS = sorted(path for path in ROOM.rglob("*.py") if path.name not in WRITERS)
LEAST = 4
"""A literal of fewer letters is taken for a heading's beginning by chance."""


@cache
def printed() -> frozenset[str]:
    """Headings, titles of columns and sentences of three sets of sheets: all but the cells.

    Of what goes on in a further line its first.
    """
    found = set()
    for lot in ("bores", "leaning", "trenches"):
        document = opened_again(full_set_of(lot)[1])
        for block in ("elements", "element-tapes", "header", "corners", "separations", "circuits",
                      "header-pipes", "take-off", "pipes"):  # fmt: skip
            marks = ((one.dxf.text, mark_of(one)) for one in marked(document, block))
            found |= {text for text, (_, row, _, line) in marks if not row and line == 0}
    return frozenset(found)


@cache
def tags() -> frozenset[str]:
    """Tags of the symbols' attributes, which are for programs though some are words as well."""
    bore = Bore("B1", 0.0, 0.0, 0.15, 90.0, 10.0, 20.0)
    well = Well("W1", 0.0, 0.0, 0.15, 30.0, "supply")
    trench = Trench("T1", LineString([(0, 0), (9, 0)]), 0.6, 1.5, 2)
    return frozenset(tag for one in (bore, well, trench) for tag, _ in element_attributes(one))


def offences(source: str) -> list[str]:
    """Literals that are words of the sheet or begin as they do, and patterns with letters."""
    tree = ast.parse(source)
    told = {
        id(node.value) for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }  # fmt: skip
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).startswith("re."):
            # what follows a backslash is a class of signs and no word
            pattern = re.sub(r"\\.", "", ast.literal_eval(node.args[0]))
            found += [pattern] if any(map(str.isalpha, pattern)) else []
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            text = node.value
            begins = len(text) >= LEAST and any(one.startswith(text) for one in printed())
            # names of types in the format are for programs, though some are words as well
            if (
                text not in tags()
                and text not in ENTITY_CLASSES
                and text.strip()
                and (text in printed() or begins)
            ):
                found.append(text)
    return found


@pytest.mark.parametrize(
    "source",
    [
        """HEAD = "PROV'D" """,
        """SEPARATIONS = "FROM – TO" """,
        """found = word.text == "ID" """,
        """found = word.text.startswith("HEADER TRENCH ")""",
        """COUNT = re.compile(r"(\\d+) BORES?")""",
        """STARTS = {"a": re.compile(r"\\d+ circuits? of ")}""",
        """found = re.match("SIDE", word.text)""",
    ],
)
def test_a_reader_that_knows_words_of_the_sheet_is_found_out(source: str) -> None:
    assert offences(source)


def test_numbers_and_names_of_marks_are_no_words_of_the_sheet() -> None:
    assert not offences("""NUMBER = re.compile(r"\\d[\\d,]*")\ncolumn = "start-east" """)


@pytest.mark.parametrize("path", READERS, ids=lambda path: path.stem)
def test_no_reader_knows_a_heading_a_title_or_a_sentence(path: Path) -> None:
    assert offences(path.read_text(encoding="utf-8")) == []
