"""Detail of the header pit: what is drawn of it, and what whoever digs it is told."""

from dataclasses import replace

import pytest
import sheet_lots
from shapely import LineString, Point

from siteplan.layout.model import Header
from siteplan.layout.piping_model import Circuit, Fittings, HeaderPiece, HeaderPipe, Piping
from siteplan.layout.pit import pit_around
from siteplan.sheet.details.header import header_block
from siteplan.sheet.details.pit import pit_block
from siteplan.sheet.model import Polyline, Text
from siteplan.sheet.pages.detail_sheets import detail_writers
from siteplan.site.model import Entry

FT = 0.3048
AT, END = (30.48, 27.737), (40.48, 27.737)


def content_with(circuits: int = 3, depth_ft: float = 4.0, *, pit: bool = True):
    content = sheet_lots.suburban()
    home = HeaderPiece(
        AT, END, 10.0, 0, (HeaderPipe("supply", "2 in", 0.0), HeaderPipe("return", "2 in", 0.0))
    )
    piping = Piping("header pit", "", (home,), 2 * FT, depth_ft * FT, Fittings(), None, None)
    around = pit_around(END, 0.0) if pit else None
    header = Header((LineString([AT, END]),), Entry("E1", Point(AT)), pit=around)
    made = tuple(Circuit(f"CIR-{k}", (f"B{k}",), "1 in", 100.0, 1) for k in range(1, circuits + 1))
    layout = replace(content.layout, header=header, piping=piping, circuits=made)
    return replace(content, layout=layout)


def words(block):
    return " ".join(item.text for item in block.items if isinstance(item, Text))


def test_a_pit_is_drawn_with_its_circuits_its_manifolds_and_two_pipes_on():
    found = words(pit_block(content_with(), 150.0, room_mm=120.0))
    assert "3 CIRCUITS, A PAIR OF 1 in EACH" in found
    assert "SUPPLY MANIFOLD, 3 PORTS" in found
    assert "RETURN MANIFOLD, 3 PORTS" in found
    assert "2 PIPES TO THE BUILDING 2 in" in found
    # 48 in deep, the pipes 3 in above the bottom: 45 in
    assert "15'-0\"" in found
    assert "4'-0\"" in found
    assert "PIPES 3'-9\" BELOW GRADE" in found


@pytest.mark.parametrize("circuits", [1, 3, 12])
def test_each_circuit_has_its_pair_and_two_pipes_lead_on(circuits):
    block = pit_block(content_with(circuits), 150.0, room_mm=120.0)
    pipes = [item for item in block.items if isinstance(item, Polyline) and item.style == "header"]
    # a pair for each circuit, two pipes on, and one line of pipe in the section
    assert len(pipes) == 2 * circuits + 2 + 1


def test_the_view_and_the_section_are_to_the_same_scale():
    block = pit_block(content_with(depth_ft=5.0), 150.0, room_mm=120.0)
    view, *_, section = (i for i in block.items if getattr(i, "style", "") == "section-hole")
    side = max(x for x, _ in view.points) - min(x for x, _ in view.points)
    deep = max(y for _, y in section.points) - min(y for _, y in section.points)
    assert side / deep == pytest.approx(15 / 5)


def test_whoever_digs_it_is_told_how_it_is_kept_from_caving_in():
    found = words(pit_block(content_with(), 150.0, room_mm=120.0))
    assert "29 CFR 1926.652(a)(1)" in found
    assert "1926.651(j)(2)" in found
    assert "(it is" not in found
    assert "(it is 5'-6\" deep)" in words(
        pit_block(content_with(depth_ft=5.5), 150.0, room_mm=120.0)
    )


def test_without_a_pit_there_is_no_detail_of_one():
    content = content_with(pit=False)
    assert pit_block(content, 150.0, room_mm=120.0) is None
    assert header_block(content, 150.0, room_mm=120.0) is not None


def test_the_sheet_of_details_has_the_pit():
    content = content_with()
    blocks = [writer(content, 150.0) for writer in detail_writers(content, 120.0)]
    assert any("HEADER PIT" in words(block) for block in blocks if block is not None)
