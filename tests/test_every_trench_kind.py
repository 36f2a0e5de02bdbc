"""One small lot planned end to end with every kind of trench, down to the sheet and the files."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from campaign import thorough
from wording import in_words

from siteplan.layout.elements import Trench
from siteplan.plan import plan_site
from siteplan.sheet.model import Text
from siteplan.sheet.pages.compose import compose
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds

pytestmark = pytest.mark.usefixtures("coarse")

FT = 0.3048
# kind; words; width and depth [ft]; pipe in a foot of trench, worked by hand:
# rings of 33 in (36 in), 18 in apart: (33 pi + 18) / 18 = 6.760, (36 pi + 18) / 18 = 7.283
KINDS = {
    "one pipe": ("one-pipe", 1, 5, 1),
    "two pipes side by side": ("two-pipe", 2, 5, 2),
    "two pipes stacked": ("stacked two-pipe", 1, 6, 2),
    "four pipes": ("four-pipe", 2, 6, 4),
    "six pipes": ("six-pipe", 3, 6, 6),
    "flat coil": ("flat-coil", 3, 5, 6.760),
    "upright coil": ("upright-coil", 8 / 12, 7, 7.283),
    "wide pit": ("wide-pit", 12, 5, 6),
}
STREET = '[[feature]]\nid = "road"\nkind = "street"\nline = [[-20, -15], [220, -15]]\n\n'


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], Site]:
    """House, well and drainfield on 200 ft square, a street before it; 200 ft of trench."""

    def built(kind: str) -> Site:
        text = lot_text.replace("[exchanger]", f"{STREET}[exchanger]")
        text = text.replace('capacity = "2 ton"', 'length = { given = "200 ft", by = "x" }')
        tables = (
            f'[horizontal]\nkind = "{kind}"\nspacing = "16 ft"\n[ground]\nfrost = "3 ft"\n'
            '[sheet]\nsize = "ANSI D"\n'
        )
        return read_site(write_site(text + tables))

    return built


def test_every_kind_is_tried_here() -> None:
    assert set(KINDS) == set(trench_kinds())


@pytest.mark.parametrize("kind", [*[*KINDS][::2], *map(thorough, [*KINDS][1::2])])
def test_a_plan_digs_the_kind_that_is_asked_for(make: Callable[[str], Site], kind: str) -> None:
    words, width, depth, pipe = KINDS[kind]
    plan = plan_site(make(kind), system="horizontal")
    assert plan.fits, in_words(plan.drawn.why)
    assert plan.drawn.layout is not None
    took = plan.drawn.layout.elements[0].kind_name
    assert trench_kinds()[took].words == words
    layout = plan.drawn.layout
    assert layout is not None
    trenches = [one for one in layout.elements if isinstance(one, Trench)]
    assert sum(one.line.length for one in trenches) >= 200 * FT - 1e-6
    for one in trenches:
        assert one.kind_name == kind
        assert (one.width_m, one.depth_m) == pytest.approx((width * FT, depth * FT), rel=1e-3)
        assert one.pipe_m == pytest.approx(pipe * one.line.length, rel=1e-3)
    assert layout.access is not None
    assert layout.access.machine == "excavator"
    assert "error" not in {one.severity for one in plan.drawn.findings}
    sheet = compose(plan.content())
    texts = " ".join(one.text for one in sheet.primitives if isinstance(one, Text))
    assert "TRENCH SECTION" in texts
    assert "EXCAVATOR ACCESS 6' CLEAR" in texts


def test_crossovers_are_drawn_listed_and_told_in_the_legend(
    make: Callable[[str], Site], tmp_path: Path
) -> None:
    plan = plan_site(make("one pipe"), system="horizontal")
    layout = plan.drawn.layout
    assert layout is not None
    assert layout.crossovers
    sheet = compose(plan.content())
    lines = [one for one in sheet.primitives if getattr(one, "layer", "") == "M-GHEX-PIPE-XOVR-N"]
    assert len(lines) == len(layout.crossovers)
    texts = {one.text for one in sheet.primitives if isinstance(one, Text)}
    assert {"CROSSOVER X", *(one.id for one in layout.crossovers)} <= texts
    plan.write(tmp_path)
    with (tmp_path / "elements.csv").open(encoding="utf-8") as file:
        rows = [row["id"] for row in csv.DictReader(file) if row["kind"] == "crossover"]
    assert rows == [one.id for one in layout.crossovers]
    assert "M-GHEX-PIPE-XOVR-N" in (tmp_path / "plan.dxf").read_text(encoding="utf-8")


@pytest.mark.thorough
def test_more_pipe_in_a_trench_is_more_pipe_in_the_take_off(
    make: Callable[[str], Site], tmp_path: Path
) -> None:
    pipe_ft = {}
    for kind in ("two pipes side by side", "flat coil"):
        folder = tmp_path / kind
        plan_site(make(kind), system="horizontal").write(folder)
        assert {path.name for path in folder.iterdir()} >= {"plan.dxf", "plan.png", "takeoff.csv"}
        with (folder / "takeoff.csv").open(encoding="utf-8") as file:
            rows = [row for row in csv.DictReader(file) if row["item"] == "circuit pipe"]
        assert {row["unit"] for row in rows} == {"ft"}
        pipe_ft[kind] = sum(float(row["quantity"]) for row in rows)
    # 200 ft of two pipes are 400 ft, of a flat coil 1,352 ft, and what joins them to the header
    assert 400 <= pipe_ft["two pipes side by side"] < 700
    assert 1352 <= pipe_ft["flat coil"] < 1652
