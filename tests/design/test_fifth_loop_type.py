"""A loop type that the package has never heard of is planned like all others.

It is put together here: a ground basket is a coil of pipe wound into a wide, shallow hole that
an excavator digs.
"""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, ClassVar

import ezdxf
import pytest
from pypdf import PdfReader
from small_lot import GROUND

import siteplan
from siteplan.available.ground import Prepared, ground_with, within_reach
from siteplan.available.prepared import PreparedLot, reach_of
from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.cli import main
from siteplan.design.loop_types import RECORDS, LoopRecord
from siteplan.findings.model import reason
from siteplan.layout.centred import Centred
from siteplan.layout.header.router import reachable_area
from siteplan.layout.in_rows import place_in_rows
from siteplan.layout.model import Layout
from siteplan.plan import SitePlan
from siteplan.quantities.take_off import take_off
from siteplan.rules.ruleset import RuleSet, rules_of
from siteplan.sheet.model import Text
from siteplan.sheet.pages.set import compose_set
from siteplan.site.loop_options import LoopOptions, options_of
from siteplan.site.model import Exchanger, GivenLength, Site
from siteplan.site.options.choices import choices
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.loop_types import LoopType, loop_types

pytestmark = pytest.mark.usefixtures("coarse")

NAME = "basket"
PIPE_M = 30.0
"""Pipe of a basket [m]."""
WIDE_M = 1.2
DEEP_M = 2.5
APART_M = 4.0
FACTS = LoopType(
    name=NAME,
    kind="basket",
    noun="ground basket",
    parts=("basket",),
    measure="basket pipe",
    edge="side of the hole",
    symbols=("coil",),
    layer="coil",
    style="coil",
    tags=("DEPTH", "LENGTH"),
    asked="[basket] apart, {center} to {center}",
    usual_pipe="3/4 in",
    machine="excavator",
    legend="NEW GROUND BASKET",
)


@dataclass(frozen=True, slots=True)
class Basket(Centred):
    """A ground basket: its centre, diameter, depth, and the pipe wound in it [m]."""

    kind: ClassVar[str] = "basket"
    depth_m: float
    pipe_m: float

    @property
    def part(self) -> str:
        return "basket"

    @property
    def bottom_m(self) -> float | None:
        return self.depth_m

    @property
    def length_m(self) -> float:
        return self.pipe_m

    @property
    def symbol(self) -> str:
        return "coil"


@dataclass(frozen=True, slots=True)
class BasketOptions:
    apart_m: float = APART_M
    reach_m: float = WIDE_M / 2
    length: GivenLength | None = None


@dataclass(frozen=True, slots=True)
class WithBaskets(Exchanger):
    """What is wanted, with options of baskets beside those of the other loop types."""

    basket: BasketOptions = BasketOptions()


def asked(site: Site) -> LoopOptions:
    return options_of(site.exchanger, NAME) or BasketOptions()


def ground_of_baskets(lot: PreparedLot) -> Prepared:
    area = lot.area("basket", reach_m=asked(lot.site).reach_m)
    return Prepared(ground_with(lot, within_reach(lot, NAME, area.shape)), area.keep_outs)


def lay_out_baskets(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    area, apart_m = reachable_area(prepared.ground), asked(site).apart_m
    needed = math.ceil(required_m / PIPE_M)
    placed = place_in_rows(prepared.ground, area, spacing_m=apart_m, count=needed)
    baskets = tuple(
        Basket(f"G{number}", float(x), float(y), 2 * asked(site).reach_m, DEEP_M, PIPE_M)
        for number, (x, y) in enumerate(placed.points, start=1)
    )
    short = len(baskets) < needed
    obstacle = reason("no-available-area", things="baskets") if short else None
    capacity_m = placed.capacity * PIPE_M
    return Layout(NAME, baskets, placed.header, apart_m, capacity_m, obstacle)


@pytest.fixture(autouse=True)
def known(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The invented loop type stands in the table of loop types, and has a record."""
    monkeypatch.setitem(loop_types(), NAME, FACTS)
    record = LoopRecord(FACTS, ground_of_baskets, engine=lay_out_baskets)
    monkeypatch.setitem(RECORDS, NAME, record)
    choices.cache_clear()
    yield
    choices.cache_clear()


LOT = (
    GROUND
    + """\
[exchanger]
length = { given = "600 ft", by = "a designer" }
entry = [[80, 70]]

[[rules.own]]
from = "potable well"
for = ["basket"]
distance = "100 ft"
source = "county, 7"
"""
)
"""The small lot, where a rule of its own keeps baskets 100 ft from a well."""


def lot(**exchanger: Any) -> dict[str, Any]:
    values = tomllib.loads(LOT)
    values["exchanger"] |= exchanger
    return values


def site_with_options() -> Site:
    site = siteplan.site_from(lot())
    pairs = {field.name: getattr(site.exchanger, field.name) for field in fields(Exchanger)}
    return replace(site, exchanger=WithBaskets(**pairs))


@pytest.fixture
def plan(known: None) -> SitePlan:  # noqa: ARG001
    return siteplan.plan_site(site_with_options(), system=NAME)


def test_its_name_may_be_asked_for_in_the_site_file() -> None:
    site = siteplan.site_from(lot(system=NAME))
    assert siteplan.plan_site(site).system == NAME
    assert siteplan.site_from(lot(order=[NAME])).exchanger.order[0] == NAME


def test_it_is_laid_out_and_holds_what_is_required(plan: SitePlan) -> None:
    # 600 ft are 182.88 m: 7 baskets of 30 m
    assert plan.fits
    assert plan.system == NAME
    layout = plan.drawn.layout
    assert layout is not None
    assert [type(element) for element in layout.elements] == [Basket] * 7
    assert layout.length_m == pytest.approx(210.0)
    assert layout.header is not None
    # one circuit through each basket at least, none through two and none left out
    assert sorted(name for circuit in layout.circuits for name in circuit.elements) == [
        f"G{k}" for k in range(1, 8)
    ]


def test_it_is_compared_with_the_others() -> None:
    plan = siteplan.plan_site(siteplan.site_from(lot()))
    assert [trial.system for trial in plan.trials] == list(loop_types())
    assert [trial.fits for trial in plan.trials if trial.system == NAME] == [True]


def test_its_ground_is_told_before_it_is_laid_out() -> None:
    site = site_with_options()
    assert reach_of("basket", site.exchanger) == WIDE_M / 2
    well = next(feature for feature in site.features if feature.id == "well")
    area = siteplan.available_areas(site).of("basket").shape
    # the rule's 100 ft and the radius of the basket
    least_m = 100 * FOOT + WIDE_M / 2
    assert area.distance(well.shape) == pytest.approx(least_m, abs=1e-3)


def test_the_checks_measure_it_against_a_rule(plan: SitePlan) -> None:
    own = [row for row in plan.drawn.separations if row.rule.book == "this site"]
    pairs = {(row.part, row.rule.subject, row.meets) for row in own}
    assert ("basket", "potable well", True) in pairs


def test_the_checks_refuse_it_where_it_breaks_a_rule(plan: SitePlan) -> None:
    layout = plan.drawn.layout
    assert layout is not None
    first, second, *others = layout.elements
    # the well stands at 20, 180 ft: 10 ft beside it, and two baskets 1 m apart
    moved = (
        replace(first, x_m=30 * FOOT, y_m=180 * FOOT),
        replace(second, x_m=30 * FOOT + 1.0, y_m=180 * FOOT),
    )
    wrong = replace(layout, elements=(*moved, *others))
    rules = rules_of(plan.site)
    rows = separations(plan.site, wrong, rules)
    findings = check_layout(plan.site, wrong, rows, 182.88)
    codes = {finding.code for finding in findings if finding.subject in (first.id, second.id)}
    assert codes == {"separation", "spacing", "header-gap"}


def test_quantities_count_it(plan: SitePlan) -> None:
    assert plan.drawn.layout is not None
    items = {item.what: item for item in take_off(plan.site, plan.drawn.layout)}
    # 7 baskets of 30 m, and what leads from each to the header and back
    assert items["circuit pipe"].amount >= 210.0
    # two couplings for each basket
    assert items["coupling"].amount >= 14
    assert items["header trench"].amount > 0


def test_the_summary_tells_it(plan: SitePlan) -> None:
    summary = json.loads(json.dumps(plan.summary()))
    assert summary["system"] == NAME
    elements = summary["elements"]
    assert {row["kind"] for row in elements} == {"basket"}
    assert {(row["diameter_m"], row["depth_m"]) for row in elements} == {(WIDE_M, DEEP_M)}


@pytest.mark.thorough
def test_the_terminal_reports_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "site.toml"
    path.write_text(LOT, encoding="utf-8")
    assert main(["fit", str(path)]) == 0
    (row,) = (line for line in capsys.readouterr().out.splitlines() if line.startswith(f"{NAME} "))
    assert row.split()[:2] == [NAME, "yes"]
    assert main(["plan", str(path), "--system", NAME, "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr().out
    assert "FITS: basket:" in told
    assert "7 baskets" in told
    assert main(["why", str(path), "30", "180", "--part", "basket"]) == 1
    assert "100 ft from potable well" in capsys.readouterr().out


def test_the_sheets_show_it(plan: SitePlan) -> None:
    sheets = compose_set(plan.content())
    texts = [item.text for sheet in sheets for item in sheet.primitives if isinstance(item, Text)]
    assert {f"G{k}" for k in range(1, 8)} <= set(texts)
    told = " ".join(texts)
    assert "7 GROUND BASKETS" in told
    assert "NEW GROUND BASKET" in told
    assert "(side of the hole)" in told


@pytest.mark.thorough
def test_the_package_is_written(plan: SitePlan, tmp_path: Path) -> None:
    plan.write(tmp_path / "out")
    drawing = ezdxf.readfile(tmp_path / "out" / "plan.dxf")
    names = {
        attribute.dxf.text
        for insert in drawing.modelspace().query("INSERT")
        for attribute in insert.attribs
        if attribute.dxf.tag == "ELEMENT"
    }
    assert names == {f"G{k}" for k in range(1, 8)}
    assert not drawing.audit().errors
    pdf = tmp_path / "out" / "plan.pdf"
    assert "GROUND BASKET" in "".join(page.extract_text() for page in PdfReader(pdf).pages)
    (picture, *_) = sorted((tmp_path / "out").glob("*.png"))
    assert picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    rows = (tmp_path / "out" / "elements.csv").read_text(encoding="utf-8")
    assert rows.count("basket") == 7
