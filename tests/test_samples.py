"""End to end: every sample through the command line, then its files read back by other means."""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import ezdxf
import jsonschema
import numpy as np
import pytest
from drawn_once import compose_set
from drawn_texts import texts_in
from ezdxf.document import Drawing
from legible import plot_faults
from places import ROOT
from planned import planned, planned_once, sheets_of
from pypdf import PdfReader
from wording import in_words

from siteplan.cli import main
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet
from siteplan.site.readers.site_file import read_site
from siteplan.site.trench_kinds import trench_kinds

SAMPLES = sorted(path.name for path in (ROOT / "samples").iterdir() if path.is_dir())
SCHEMA = json.loads((ROOT / "tests/references/summary.schema.json").read_text(encoding="utf-8"))
FOOT = 0.3048
LAYERS = {
    "bore": "M-GHEX-BORE-N",
    "coil": "M-GHEX-COIL-N",
    "well": "M-GHEX-WELL-N",
    "trench": "M-GHEX-TRCH-N",
}
PAPER_IN = {  # ASME Y14.1 and ISO 216, wide side first
    "rural-acre": (17, 11),
    "small-suburban": (17, 11),
    "tight-lot": (17, 11),
    "farm-pond": (34, 22),
    "mill-pond": (34, 22),
    "school": (36, 24),
    "good-aquifer": (420 / 25.4, 297 / 25.4),
    "shared-aquifer": (17, 11),
}
SHEETS = {  # the plan alone where it says all at no smaller a scale
    "rural-acre": 3,
    "small-suburban": 3,
    "tight-lot": 3,
    "farm-pond": 4,
    "mill-pond": 4,
    "school": 4,
    "good-aquifer": 3,
    "shared-aquifer": 3,
}
PARTS = {"school": 1, "farm-pond": 1, "mill-pond": 1}
"""Sheets among them that show a part of the plan at a larger scale."""


DPI = 50
"""A quarter of what a picture has: four times as fast. All 200 are drawn in `test_image.py`."""


@dataclass(frozen=True)
class Package:
    """A permit package and how the command ended."""

    name: str
    folder: Path
    code: int
    composed: list[tuple[PlanContent, tuple[Sheet, ...]]]

    @cached_property
    def summary(self) -> dict[str, Any]:
        text = (self.folder / "summary.json").read_text(encoding="utf-8")
        content: dict[str, Any] = json.loads(text)
        return content

    @cached_property
    def drawing(self) -> Drawing:
        return ezdxf.readfile(self.folder / "plan.dxf")

    @cached_property
    def metres_per_unit(self) -> float:
        return {2: FOOT, 6: 1.0}[self.drawing.header["$INSUNITS"]]


@pytest.fixture(scope="module", params=SAMPLES)
def package(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Package:
    name = str(request.param)
    folder = tmp_path_factory.mktemp(name) / "permit"
    composed: list[tuple[PlanContent, tuple[Sheet, ...]]] = []

    def keep(content: PlanContent) -> tuple[Sheet, ...]:
        # what other tests look at too, composed once
        assert repr(content) == repr(planned(name).content())
        sheets = sheets_of(name)
        composed.append((content, sheets))
        return sheets

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("siteplan.export.package.compose_set", keep)
        patch.setattr("siteplan.plan.plan_site", planned_once)
        patch.setattr("siteplan.export.image.DPI", DPI)
        code = main(["plan", str(ROOT / "samples" / name), "--out", str(folder), "--quiet"])
    return Package(name, folder, code, composed)


def test_the_exit_code_tells_whether_it_fits(package: Package) -> None:
    assert package.code == (1 if package.name == "tight-lot" else 0)
    assert package.summary["fits"] is (package.code == 0)


def test_the_package_is_whole(package: Package) -> None:
    names = sorted(path.name for path in package.folder.iterdir())
    files = [
        "elements.csv", "model.dxf", "owner.pdf", "package.sha256", "plan.dxf", "plan.pdf",
        "plan.png", "stakes.csv", "summary.json", "takeoff.csv",
    ]  # fmt: skip
    parts = PARTS.get(package.name, 0)
    files += [f"plan-L1{letter}.png" for letter in "ABCDEFGHI"[:parts]]
    files += [f"plan-L{number}.png" for number in range(2, SHEETS[package.name] - parts + 1)]
    if read_site(ROOT / "samples" / package.name).georeference is not None:
        files += ["elements.geojson", "stakes.gpx"]
    assert names == sorted(files)
    assert sorted(path.name for path in package.folder.parent.iterdir()) == ["permit"]


def test_everything_on_the_full_set_can_be_read(package: Package) -> None:
    ((content, sheets),) = package.composed
    if len(sheets) == 1:
        options = replace(content.site.sheet, sheets="full")
        sheets = compose_set(replace(content, site=replace(content.site, sheet=options)))
    assert len(sheets) >= 3
    assert [(sheet.number, fault) for sheet in sheets for fault in plot_faults(sheet)] == []


def test_the_title_block_of_a_sample_lacks_nothing(package: Package) -> None:
    assert "title-block" not in {finding["code"] for finding in package.summary["findings"]}


def test_the_figures_of_a_samples_page_are_those_of_its_plan(package: Package) -> None:
    page = (ROOT / "samples" / package.name / "README.md").read_text(encoding="utf-8")
    elements, required = package.summary["elements"], package.summary["length_required_m"]
    for told in re.findall(r"([\d,]+) ft of [\w-]+ trench", page):
        assert int(told.replace(",", "")) == math.ceil(required / FOOT - 1e-6)
    for number, depth in re.findall(r"(\d+) bores of (\d+) ft", page):
        assert int(number) == len(elements)
        assert {round(element["depth_m"] / FOOT) for element in elements} == {int(depth)}


def test_the_summary_keeps_its_schema(package: Package) -> None:
    jsonschema.validate(package.summary, SCHEMA)


def test_each_sample_gets_the_loop_type_it_is_there_for(package: Package) -> None:
    expected = {
        "rural-acre": "horizontal",
        "small-suburban": "vertical",
        "farm-pond": "pond",
        "mill-pond": "pond",
        "good-aquifer": "open",
        "shared-aquifer": "open",
        "tight-lot": None,
        "school": "vertical",
    }
    assert package.summary["system"] == expected[package.name]


def test_what_fits_provides_what_is_required(package: Package) -> None:
    summary = package.summary
    if summary["fits"]:
        assert summary["length_provided_m"] >= summary["length_required_m"] - 1e-6
        assert all(row["meets"] for row in summary["separations"])
        assert summary["header"]["length_m"] > 0
    else:
        assert "short" in summary["why"]


def test_every_element_is_in_the_drawing_on_its_layer_within_a_millimetre(
    package: Package,
) -> None:
    doc, unit = package.drawing, package.metres_per_unit
    for element in package.summary["elements"]:
        layer = LAYERS[element["kind"]]
        found = [
            place
            for place in places_on(doc, layer)
            if math.dist(np.array(place) * unit, (element["x_m"], element["y_m"])) < 1e-3
        ]
        assert found, (element["id"], layer)
    wanted = {element["id"] for element in package.summary["elements"]}
    assert wanted <= ids_in(doc)


def places_on(doc: Drawing, layer: str) -> Iterator[tuple[float, float]]:
    """Insertion points of blocks, and first points of polylines, on one layer."""
    for entity in doc.modelspace().query(f'*[layer=="{layer}"]'):
        if entity.dxftype() == "INSERT":
            yield entity.dxf.insert.x, entity.dxf.insert.y
        elif entity.dxftype() == "LWPOLYLINE":
            yield from list(entity.get_points("xy"))[:1]


def ids_in(doc: Drawing) -> set[str]:
    inserts = doc.modelspace().query("INSERT")
    return {a.dxf.text for insert in inserts for a in insert.attribs if a.dxf.tag == "ELEMENT"}


def test_the_visible_ids_stand_as_text_too(package: Package) -> None:
    # on the plan, or on the part of it that shows them at a larger scale
    texts = {text.dxf.text for layout in package.drawing.layouts for text in texts_in(layout)}
    assert {element["id"] for element in package.summary["elements"]} <= texts


def test_the_parcel_in_the_drawing_has_the_parcels_size(package: Package) -> None:
    from siteplan.site.readers.site_file import read_site

    site = read_site(ROOT / "samples" / package.name)
    (line,) = package.drawing.modelspace().query('LWPOLYLINE[layer=="V-PROP-LINE-E"]')
    x, y = np.array(list(line.get_points("xy"))).T * package.metres_per_unit
    shoelace = abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
    assert shoelace == pytest.approx(site.parcel.area, rel=1e-9)


def test_the_drawing_has_no_audit_errors(package: Package) -> None:
    auditor = package.drawing.audit()
    assert [error.message for error in auditor.errors] == []
    assert package.drawing.dxfversion >= "AC1024"  # R2010


def test_the_paper_space_layout_has_the_true_scale(package: Package) -> None:
    doc = package.drawing
    layout = next(doc.layouts.get(name) for name in doc.layout_names() if name != "Model")
    main_viewport = layout.main_viewport()
    (viewport,) = [one for one in layout.query("VIEWPORT") if one is not main_viewport]
    scale = viewport.dxf.view_height * package.metres_per_unit
    paper_m = 0.0254 if layout.dxf.plot_paper_units == 0 else 1e-3
    ratio = scale / (viewport.dxf.height * paper_m)
    engineering = [120 * k for k in (1, 2, 3, 4, 5, 6, 10, 20)] + [100, 200, 250, 500, 1000]
    assert min(abs(ratio - known) for known in engineering) < 1e-6 * ratio


def test_the_gallery_names_the_sheets_that_there_are(package: Package) -> None:
    page = (ROOT / "docs/gallery.md").read_text(encoding="utf-8")
    (section,) = [part for part in page.split("\n## ") if f"plan samples/{package.name}`" in part]
    named = set(re.findall(r"\bL\d+[A-Z]?\b", section.partition("`siteplan")[0]))
    written = {path.stem.removeprefix("plan-") for path in package.folder.glob("plan-L*.png")}
    assert named in (set(), written | {"L1"})


def test_the_print_has_its_paper_size_and_searchable_text(package: Package) -> None:
    page, *others = PdfReader(package.folder / "plan.pdf").pages
    assert len(others) + 1 == SHEETS[package.name]
    size = float(page.mediabox.width) / 72, float(page.mediabox.height) / 72
    assert size == pytest.approx(PAPER_IN[package.name], abs=1e-3)
    assert {tuple(other.mediabox) for other in others} <= {tuple(page.mediabox)}
    text = page.extract_text()
    # where elements stand close together they are named on a part at a larger scale
    named = " ".join(one.extract_text() for one in (page, *others[: PARTS.get(package.name, 0)]))
    for element in package.summary["elements"]:
        assert element["id"] in named
    for caution in ("NOT A BOUNDARY SURVEY", "29 CFR 1926", "811", "authority"):
        assert caution in text


def test_the_picture_is_a_png_of_as_many_dots_an_inch_as_letters_need(package: Package) -> None:
    data = (package.folder / "plan.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = (int.from_bytes(data[i : i + 4], "big") for i in (16, 20))
    wide, high = PAPER_IN[package.name]
    # letters are 1.3 times larger on paper beyond ANSI B and A3: 50 / 1.3 = 38
    dots = 38 if wide > 20 else DPI
    assert (width, height) == (pytest.approx(wide * dots, abs=1), pytest.approx(high * dots, abs=1))


def test_the_table_of_elements_agrees_with_the_summary(package: Package) -> None:
    with (package.folder / "elements.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    elements = package.summary["elements"]
    assert [row["id"] for row in rows] == [element["id"] for element in elements]
    unit = "ft" if package.metres_per_unit == FOOT else "m"
    for row, element in zip(rows, elements, strict=True):
        easting = float(row[f"easting_{unit}"]) * package.metres_per_unit
        assert easting == pytest.approx(element["x_m"], abs=6e-4)
    georeferenced = package.name in ("rural-acre", "farm-pond", "school")
    assert all(bool(row["latitude"]) == georeferenced for row in rows)
    if georeferenced:
        assert all(len(row["latitude"].partition(".")[2]) == 6 for row in rows)


@pytest.mark.thorough
def test_the_same_input_gives_the_same_bytes(
    tmp_path: Path, lot_text: str, write_site: Callable[..., Path], forget: Callable[[], None]
) -> None:
    # all loop types are tried on the small lot, and trenches are drawn
    site = str(write_site(lot_text.replace("2 ton", "1 ton")))
    for name in ("first", "second"):
        forget()
        main(["plan", site, "--out", str(tmp_path / name), "--quiet"])
    for path in (tmp_path / "first").iterdir():
        assert path.read_bytes() == (tmp_path / "second" / path.name).read_bytes(), path.name


KINDS_OF_TRENCH = sorted(
    path for path in (ROOT / "samples/rural-acre").glob("*.toml") if path.name != "site.toml"
)


@pytest.mark.parametrize("path", KINDS_OF_TRENCH, ids=lambda path: path.stem)
def test_the_acre_takes_every_other_kind_of_trench(path: Path) -> None:
    plan = planned(f"rural-acre/{path.name}")
    assert plan.fits, in_words(plan.drawn.why)
    wanted = plan.site.exchanger.horizontal
    trenches = plan.drawn.layout.elements
    assert {trench.kind_name for trench in trenches} == {wanted.kind}
    in_circuits = sum(
        circuit.length_m - circuit.connecting_m for circuit in plan.drawn.layout.circuits
    )
    assert in_circuits == pytest.approx(sum(trench.pipe_m for trench in trenches))


def test_with_the_acre_itself_the_samples_show_every_kind_of_trench() -> None:
    shown = {read_site(path).exchanger.horizontal.kind for path in KINDS_OF_TRENCH}
    shown.add(read_site(ROOT / "samples/rural-acre").exchanger.horizontal.kind)
    assert shown == set(trench_kinds())
