"""What is connected to what can be read on the plan: circuits, pipes of the header, their flow."""

from __future__ import annotations

import math
import re
from collections import Counter

import numpy as np
import pytest
import shapely
from legible import text_box
from planned import full_set, planned
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, Point

from siteplan.layout.elements import Well
from siteplan.sheet.content.header_flow import flow_pipes, piece_name, pipes_text
from siteplan.sheet.marks import FLOW, HEADER, KEYED, LABEL
from siteplan.sheet.model import Polyline, Symbol, Text
from siteplan.sheet.style.styles import layer, styles

SAMPLES = (
    "rural-acre", "small-suburban", "good-aquifer", "farm-pond", "mill-pond", "tight-lot", "school",
)  # fmt: skip
BESIDE_MM = 25.0
"""A name so near to what it names is at it; by eye on plotted sheets."""
samples = pytest.mark.parametrize("name", SAMPLES)


def plans_of(name):
    """The plan and its parts."""
    return [sheet for sheet in full_set(name) if sheet.name in ("PLAN", "PART OF PLAN")]


def layout_of(name):
    return planned(name).content().layout


def labels(sheet, column=None):
    return [
        text
        for text in sheet.of_type(Text)
        if text.mark is not None and text.mark.block == LABEL and column in (None, text.mark.column)
    ]


def circuit_names(text):
    """Circuits that a short text stands for: CIR-1, 2 or CIR-1 to 4."""
    counted = re.fullmatch(r"CIR-(\d+) to (\d+)", text)
    if counted:
        numbers = range(int(counted[1]), int(counted[2]) + 1)
        return {f"CIR-{number}" for number in numbers}
    return {f"CIR-{number}" for number in text.removeprefix("CIR-").split(", ")}


@samples
def test_every_circuit_has_its_name_at_each_of_its_elements(name):
    layout = layout_of(name)
    asked = {(circuit.id, element) for circuit in layout.circuits for element in circuit.elements}
    kinds = {element.id: element for element in layout.elements}
    found = set()
    for sheet in plans_of(name):
        for text in labels(sheet):
            if not text.text.startswith("CIR-"):
                continue
            shape = shapely.transform(kinds[text.mark.row].footprint, sheet.view.to_paper)
            if text_box(text, sheet).distance(shape) <= BESIDE_MM:
                found |= {(circuit, text.mark.row) for circuit in circuit_names(text.text)}
    assert asked <= found


@samples
def test_as_much_flows_out_as_home_in_every_piece_of_header(name):
    layout = layout_of(name)
    if layout.of(Well):
        pytest.skip("an open loop gives water to one well and takes it from another")
    assert layout.piping.pieces
    for piece in layout.piping.pieces:
        flows = {True: 0.0, False: 0.0}
        for pipe, known in zip(piece.pipes, flow_pipes(piece, layout), strict=True):
            # a pair carries the flow of its circuit, one pipe out and one home
            flows[known.stream.out] += pipe.flow_m3s
        assert flows[True] == pytest.approx(flows[False], abs=1e-12)


def ways_to_the_entry(header):
    """Points of the header every 10 cm or so, and the way along it from each to the entry [m]."""
    lines = [shapely.segmentize(run, 0.1) for run in header.runs]
    coords = np.concatenate([shapely.get_coordinates(line) for line in lines])
    points, number = np.unique(coords.round(3), axis=0, return_inverse=True)
    number, start, pairs = number.ravel(), 0, []
    for line in lines:
        count = shapely.get_num_coordinates(line)
        pairs += [(number[k], number[k + 1]) for k in range(start, start + count - 1)]
        start += count
    # a branch may begin between two of the points of another run
    near = shapely.STRtree(shapely.points(points)).query(
        shapely.points(points), predicate="dwithin", distance=0.06
    )
    pairs += near.T.tolist()
    one, other = np.array(pairs).T
    length = np.maximum(np.hypot(*(points[one] - points[other]).T), 1e-6)
    graph = csr_array((length, (one, other)), shape=(len(points), len(points)))
    entry = np.hypot(*(points - (header.entry.point.x, header.entry.point.y)).T).argmin()
    return points, dijkstra(graph, directed=False, indices=entry)


@samples
def test_arrows_point_from_or_to_the_building_as_they_are_marked(name):
    layout = layout_of(name)
    points, ways = ways_to_the_entry(layout.header)
    seen = Counter()
    for sheet in plans_of(name):
        arrows = [
            item
            for item in sheet.of_type(Symbol)
            if item.mark is not None and item.mark.block == FLOW
        ]
        for arrow in arrows:
            ahead, behind = (
                (
                    arrow.at[0] + step * math.cos(math.radians(arrow.angle_deg)),
                    arrow.at[1] + step * math.sin(math.radians(arrow.angle_deg)),
                )
                for step in (0.5, -0.5)
            )
            far, near = (ways[np.hypot(*(points - place).T).argmin()] for place in (ahead, behind))
            out = arrow.mark.column == "out"
            assert bool(far > near) is out, (sheet.number, arrow)
            seen[arrow.mark.row, out] += 1
    assert seen
    # water comes from the supply well; in a closed loop the supply leads to the field
    closed = not layout.of(Well)
    assert seen["S", closed]
    assert not seen["S", not closed]
    assert not seen["RR", True]


@samples
def test_every_piece_has_the_letters_of_the_header_or_its_pipes_beside_it(name):
    layout = layout_of(name)
    sheets = plans_of(name)
    # what is built is named on the parts where there are some
    named = [sheet for sheet in sheets if sheet.name == "PART OF PLAN"] or sheets
    few = len(layout.piping.pieces) <= 12
    for piece in layout.piping.pieces:
        line = LineString([piece.start, piece.end])
        wanted = {size.partition(" (")[0] for size in pipes_text(piece, layout)}
        told = [
            text.text
            for sheet in named
            for text in labels(sheet, "header-size")
            if text_box(text, sheet).distance(shapely.transform(line, sheet.view.to_paper)) <= 60.0
        ]
        assert any(text.startswith("HDR") for text in told)
        if few:
            assert any(text.startswith(f"HDR {size}") for text in told for size in wanted), piece


@samples
def test_number_and_size_of_the_pipes_in_every_piece_stand_on_a_sheet_that_shows_it(name):
    """At the piece, or behind its name in a list on the same sheet."""
    layout = layout_of(name)
    sheets = plans_of(name)
    named = [sheet for sheet in sheets if sheet.name == "PART OF PLAN"] or sheets
    for piece in layout.piping.pieces:
        wanted = f"HDR {', '.join(pipes_text(piece, layout))}"
        line = LineString([piece.start, piece.end])
        found = False
        for sheet in named:
            near = shapely.transform(line, sheet.view.to_paper).buffer(60.0)
            # line below line of each; two with one first line are two
            named_here: list[list[str]] = []
            for text in labels(sheet, "header-size"):
                if text_box(text, sheet).intersects(near):
                    if text.text.startswith("HDR") or not named_here:
                        named_here.append([])
                    named_here[-1].append(text.text)
            told = {" ".join(lines) for lines in named_here}
            told |= {line for lines in named_here for line in lines}
            listed = " ".join(
                text.text
                for text in sheet.of_type(Text)
                if text.mark is not None and text.mark.block == KEYED
            )
            own = re.search(rf"HDR-[0-9, ]*\b{piece_name(piece, layout)[4:]}\b[0-9, ]*: ", listed)
            in_list = own and listed[own.end() :].startswith(", ".join(pipes_text(piece, layout)))
            found |= bool(wanted in told or in_list)
        assert found, piece


@samples
def test_no_size_of_a_header_leaves_out_what_its_pipes_do(name):
    """Beside sizes with S and R, one without them would be read as something else."""
    for sheet in plans_of(name):
        told = " ".join(text.text for text in labels(sheet, "header-size"))
        sizes = re.findall(r"\d+ ×.*?(?=,|\(|HDR|$)", told)
        lettered = re.findall(r"\d+ × [^,(]*\((?:\d+ )?[A-Z]", told)
        assert len(sizes) == len(lettered), told


def test_sizes_are_counted_as_they_lie_in_the_trench():
    layout = layout_of("rural-acre")
    for piece in layout.piping.pieces:
        counts = Counter(pipe.size for pipe in piece.pipes)
        said = dict(
            reversed(size.partition(" (")[0].split(" × "))  # type: ignore[misc]
            for size in pipes_text(piece, layout)
        )
        assert {size: int(number) for size, number in said.items()} == counts


@samples
def test_header_points_of_the_plan_are_those_of_the_table(name):
    sheets = full_set(name)
    drawn = {text.text for sheet in plans_of(name) for text in labels(sheet, "header-point")}
    drawn -= {"SHORE ENTRY", "SHORE ENTRY, ASSUMED"}  # what a name stands for, below it
    listed = {
        text.mark.row
        for sheet in sheets
        for text in sheet.of_type(Text)
        if text.mark is not None and text.mark.block == HEADER and text.mark.row
    }
    assert drawn
    assert drawn == listed


@samples
def test_supply_and_return_are_lines_of_their_own(name):
    looks = styles()
    assert looks["header-return"].linetype != looks["header"].linetype
    assert looks["header-reverse"].linetype not in (
        looks["header"].linetype, looks["header-return"].linetype,
    )  # fmt: skip
    layout = layout_of(name)
    back = any(
        pipe.stream.letter == "R" for piece in layout.piping.pieces
        for pipe in flow_pipes(piece, layout)
    )  # fmt: skip
    drawn = [
        line
        for sheet in plans_of(name)
        for line in sheet.of_type(Polyline)
        if line.layer == layer("header-return")
    ]
    # of a well pair each trench holds one pipe, which is drawn as the header itself
    assert bool(drawn) is (back and not layout.of(Well))
    runs = shapely.union_all(layout.header.runs)
    for sheet in plans_of(name):
        beside = sheet.view.metres(3.0)
        for line in sheet.of_type(Polyline):
            if line.layer == layer("header-return"):
                assert all(Point(point).distance(runs) < beside for point in line.points)


@pytest.mark.parametrize("name", ["small-suburban", "farm-pond", "tight-lot"])
def test_no_size_of_a_header_hides_the_way_in_or_the_edge_of_what_is_heaped(name):
    sizes = 0
    for sheet in plans_of(name):
        thin = [
            LineString(sheet.view.to_paper(line.path))
            for line in sheet.of_type(Polyline)
            if line.style in ("access", "stockpile") and line.space == "model"
        ]
        for text in labels(sheet, "header-size"):
            sizes += 1
            hidden = [line for line in thin if text_box(text, sheet).intersects(line)]
            assert not hidden, text.text
    assert sizes
