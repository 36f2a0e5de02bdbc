"""Tables of circuits and of header pipes, and of the reasoning behind the length."""

import re
from dataclasses import replace

import pytest
import sheet_lots
from planned import planned
from shapely import LineString

from siteplan.alternatives.sensitivity import Change
from siteplan.demand.model import Required
from siteplan.findings.model import reason
from siteplan.findings.words import words_of
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import (
    Circuit,
    Crossover,
    Fittings,
    HeaderPiece,
    HeaderPipe,
    OwnPipes,
    Piping,
)
from siteplan.quantities.take_off import Item
from siteplan.sheet.content.header_flow import NAMES
from siteplan.sheet.model import Text
from siteplan.sheet.style.text import text_width
from siteplan.sheet.tables.circuits import circuit_way, circuits_block
from siteplan.sheet.tables.frame_words import coordinate_note
from siteplan.sheet.tables.header import (
    LETTERED,
    ROLES,
    header_pieces_block,
    piece_words,
    pipe_words,
    point_name,
)
from siteplan.sheet.tables.pipes import rounded_words
from siteplan.sheet.tables.reasoning import reasoning_block, sureness
from siteplan.sheet.tables.separations import basis_block
from siteplan.units.systems import US


@pytest.fixture(scope="module")
def acre():
    return planned("rural-acre")


@pytest.fixture(scope="module")
def one_pipe():
    return planned("rural-acre/one-pipe.toml")


def texts(block):
    return [item.text for item in block.items if isinstance(item, Text)]


def test_every_circuit_has_its_row_with_pipe_length_and_flow(acre):
    found = texts(circuits_block(acre.content(), 150.0))
    layout = acre.drawn.layout
    assert [text for text in found if text.startswith("CIR-")] == [c.id for c in layout.circuits]
    assert found[0] == "CIRCUIT SCHEDULE, 3/4 in PIPE"
    # 12 gpm of all circuits together, equally divided
    assert found.count(f"{12 / len(layout.circuits):.1f} gpm") == len(layout.circuits)


def test_a_circuit_through_a_crossover_trench_names_it_between_its_trenches(one_pipe):
    layout = one_pipe.drawn.layout
    words = [circuit_way(one, layout) for one in layout.circuits]
    for crossover in layout.crossovers:
        one, other = crossover.trenches
        assert any(f"{one} – {crossover.id} – {other}" in text for text in words)


def test_connecting_pipe_has_no_column_where_there_are_none(acre):
    assert "LINKS" not in texts(circuits_block(acre.content(), 150.0))


def test_connecting_pipe_has_a_column_where_there_are_some(one_pipe):
    assert "LINKS" in texts(circuits_block(one_pipe.content(), 150.0))


def test_trenches_joined_at_the_header_have_no_crossover_between_them():
    crossover = Crossover("X1", LineString([(0, 0), (3, 0)]), ("T1", "T2"), 0.6, 1.5)
    layout = Layout("horizontal", (), None, 3.0, 0.0, crossovers=(crossover,))
    circuit = Circuit("CIR-1", ("T2", "T3"), "3/4 in", 99.0, 4)
    assert circuit_way(circuit, layout) == "T2 – T3"


def test_nothing_laid_out_has_no_circuits():
    content = sheet_lots.suburban()
    assert circuits_block(content, 100.0) is None


def test_every_piece_of_header_has_its_row(acre):
    pieces = acre.drawn.layout.piping.pieces
    found = texts(header_pieces_block(acre.content(), 150.0))
    # the pipes of a piece are one cell on one line of so wide a table
    assert sum(text.startswith(("S ", "R ")) for text in found) == len(pieces)


def test_the_letters_of_pipes_in_a_table_are_those_of_the_plan_and_explained_below(acre):
    piping = acre.drawn.layout.piping
    assert piping.layout == "reverse return"
    found = " ".join(texts(header_pieces_block(acre.content(), 150.0)))
    assert "S: supply. R: return. RR: reverse return." in found
    # what the legend of the plan calls them
    assert {letter: name.lower() for letter, name in NAMES.items()} == {
        LETTERED[role]: ROLES[role] for role in ("supply", "return", "return home")
    }


def test_the_header_pipes_begin_at_the_entry(acre):
    layout = acre.drawn.layout
    assert point_name(layout.piping.pieces[0].start, layout, US) == "H1"


def test_a_piece_without_a_named_end_is_told_by_its_coordinates():
    layout = Layout("horizontal", (), None, 3.0, 0.0)
    assert point_name((3.048, 6.096), layout, US) == "E 10.00 N 20.00"


def test_a_size_that_is_not_known_says_so():
    assert pipe_words((HeaderPipe("supply", "", 0.0),)) == "supply sized by flow"


def test_where_the_header_steps_down_the_rows_differ():
    content = sheet_lots.suburban()
    large = HeaderPipe("supply", "2 in", 1e-3)
    small = HeaderPipe("supply", "1 in", 5e-4)
    first = HeaderPiece((30.48, 27.737), (0, 0), 12.0, 0, (large,))
    second = HeaderPiece((0, 0), (6, 0), 6.0, 0, (small,))
    piping = Piping("direct return", "", (first, second), 0.6, 1.2, Fittings(), None, None)
    found = texts(
        header_pieces_block(replace(content, layout=replace(content.layout, piping=piping)), 150.0)
    )
    assert found.index("S 2 in") < found.index("S 1 in")


def test_every_line_of_the_reasoning_stands_in_its_table(acre):
    content = acre.content()
    assert len(content.required.figures) > 5
    found = texts(reasoning_block(content, 150.0))
    for figure in content.required.figures:
        assert words_of(figure, US) in found


def test_a_given_length_has_no_table_of_reasoning():
    assert reasoning_block(sheet_lots.suburban(), 100.0) is None


def test_the_basis_says_in_one_line_how_sure_a_calculated_length_is(acre):
    found = " ".join(texts(basis_block(acre.content(), 150.0)))
    change = next(one for one in acre.changes if one.figure == "conductivity")
    assert f"Conductivity 10 % lower: {100 * change.lower:.1f} % more" in found
    load = next(one for one in acre.changes if one.figure == "load")
    assert f"load 10 % higher: {100 * load.higher:.1f} % more" in found
    # what the site file does not state stands beside it
    assert "ASSUMED, NOT STATED" in found
    assert "coldest fluid entering the heat pump" in found


def test_a_given_length_says_nothing_of_how_sure_it_is():
    assert not re.search("10 %", " ".join(texts(basis_block(sheet_lots.suburban(), 100.0))))


def test_a_flow_that_is_not_known_is_not_printed_as_a_length_of_nothing():
    unknown = Required(0.0, "given", reason("no-flow-required"))
    content = replace(sheet_lots.well_pair(), required=unknown)
    found = " ".join(texts(basis_block(content, 100.0)))
    assert "flow required not known" in found
    assert "Required 0" not in found


def test_where_no_length_is_enough_that_is_said():
    assert sureness((Change("load", -0.1, None),)) == "Load 10 % higher: no length is enough."


def test_the_table_of_reasoning_tells_what_each_figure_does():
    content = replace(
        sheet_lots.suburban(),
        required=Required(
            100.0,
            "calculated",
            reason("length-not-known"),
            figures=(reason("figure-u-bend-top", top_m=0.3048),),
        ),
        changes=(Change("spacing", 0.031, -0.02),),
    )
    found = texts(reasoning_block(content, 150.0))
    assert {"+3.1 %", "-2.0 %"} <= set(found)


def test_the_summary_holds_the_reasoning_and_the_changes(acre):
    found = acre.summary()
    assert [one["value"] for one in found["length_lines"]] == [
        words_of(figure, US) for figure in acre.drawn.required.figures
    ]
    figures = [one["figure"] for one in found["length_changes"]]
    assert figures == ["conductivity", "load", "COP", "spacing"]


def test_a_trench_with_nothing_but_circuits_own_pipes_names_them():
    own = (OwnPipes("CIR-5", "3/4 in", 2), OwnPipes("CIR-7", "3/4 in", 1))
    assert piece_words(HeaderPiece((0, 0), (1, 0), 1.0, 0, (), own)) == "2 of CIR-5, 1 of CIR-7"


def test_a_trench_without_any_pipe_says_so():
    assert piece_words(HeaderPiece((0, 0), (1, 0), 1.0, 0, ())) == "none"


def test_the_table_of_header_pipes_names_circuits_beside_the_header_and_says_what_they_are():
    content = sheet_lots.suburban()
    supply, own = HeaderPipe("supply", "1 in", 5e-4), OwnPipes("CIR-5", "3/4 in", 2)
    piece = HeaderPiece((0, 0), (6, 0), 6.0, 0, (supply,), (own,))
    piping = Piping("direct return", "", (piece,), 0.6, 1.2, Fittings(), None, None)
    found = texts(
        header_pieces_block(replace(content, layout=replace(content.layout, piping=piping)), 150.0)
    )
    assert "S 1 in and 2 of CIR-5" in found
    assert "its own pipe on the way from element to element" in " ".join(found)


def test_the_heading_of_a_narrow_table_of_circuits_keeps_clear(one_pipe):
    # a column of the strip leaves 82 mm for text
    heads = [
        item
        for item in circuits_block(one_pipe.content(), 82.0).items
        if isinstance(item, Text) and item.bold and item.text in ("THROUGH", "LENGTH")
    ]
    first, second = heads
    left = second.at[0] - text_width(second.text, second.height_mm, bold=True)
    assert first.at[0] + text_width(first.text, first.height_mm, bold=True) < left


def test_one_pipe_is_no_pipes(one_pipe):
    assert "1 pipe." in coordinate_note(one_pipe.drawn.layout, US)


def test_a_take_off_without_grout_speaks_of_none():
    pipe = Item("circuit pipe", "1 in", "length", 10.0, "", "pipe")
    grout = Item("grout, mixed", "", "fluid", 1.0, "", "grout")
    assert rounded_words([pipe]) == "Rounded up, no waste allowance"
    assert rounded_words([pipe, grout]).endswith("but that of grout")
