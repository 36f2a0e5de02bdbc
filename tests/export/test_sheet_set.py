"""Files of a set of sheets: pages, bookmarks, layouts, and the drawing without paper."""

import os
import subprocess
import sys
from dataclasses import replace

import ezdxf
import pytest
from drawn_once import compose_set
from drawn_texts import texts_in
from places import ROOT
from pypdf import PdfReader
from sheet_lots import suburban

from siteplan.export.about import about
from siteplan.export.dxf import write_dxf, write_model
from siteplan.export.image import write_set
from siteplan.export.overwrite import package_files
from siteplan.site.sheet_options import SheetOptions


def full_set():
    content = suburban(sheet=SheetOptions(sheets="full", parts="never"))
    return compose_set(replace(content, site=replace(content.site, books=())))


def write_all(folder):
    sheets = full_set()
    write_set(sheets, [folder / f"{k}.png" for k in range(len(sheets))], folder / "plan.pdf")
    write_dxf(sheets[0], folder / "plan.dxf", more=sheets[1:])
    write_model(sheets[0], folder / "model.dxf")
    return sheets


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("set")
    return write_all(folder), folder


def test_the_print_has_a_page_of_the_papers_size_for_each_sheet(written):
    sheets, folder = written
    pages = PdfReader(folder / "plan.pdf").pages
    # 17 x 11 in at 72 pt
    assert [tuple(map(float, page.mediabox[2:])) for page in pages] == [(1224, 792)] * len(sheets)


def test_each_page_has_a_bookmark(written):
    _, folder = written
    reader = PdfReader(folder / "plan.pdf")
    found = [(one.title, reader.get_destination_page_number(one)) for one in reader.outline]
    assert found == [("L1 PLAN", 0), ("L2 DETAILS", 1), ("L3 TABLES", 2)]


def test_the_text_of_every_page_can_be_searched(written):
    _, folder = written
    texts = [page.extract_text() for page in PdfReader(folder / "plan.pdf").pages]
    assert "NOT A BOUNDARY SURVEY" in texts[0]
    assert "BORE SECTION" in texts[1]
    assert "PROPERTY CORNERS AND SIDES" in texts[2]


def test_the_print_says_neither_when_nor_by_what_it_was_made(written):
    _, folder = written
    assert dict(PdfReader(folder / "plan.pdf").metadata) == {"/Title": full_set()[0].title}


def test_the_print_says_what_and_whose_it_is(tmp_path):
    project = replace(
        suburban().site.project, address="1 Lane", parcel_id="22-1", prepared_by="P. Öztürk"
    )
    sheet = full_set()[0]
    write_set([sheet], [tmp_path / "a.png"], tmp_path / "a.pdf", about=about(project), dpi=20)
    # ISO 32000-1, table 317: entries of the document information dictionary
    assert dict(PdfReader(tmp_path / "a.pdf").metadata) == {
        "/Title": project.title,
        "/Author": "P. Öztürk",
        "/Subject": "Plan of ground heat exchanger, 1 Lane, parcel 22-1",
        "/Keywords": "site plan, ground heat exchanger, 22-1",
    }


def test_a_viewer_prints_without_scaling_and_calls_pages_as_the_sheets(written):
    sheets, folder = written
    reader = PdfReader(folder / "plan.pdf")
    # ISO 32000-1, table 150: None is "no page scaling" in the print dialog
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    # ISO 32000-1, 12.4.2: a label range for each page, its prefix alone
    assert reader.page_labels == [sheet.number for sheet in sheets] == ["L1", "L2", "L3"]


def test_one_sheet_has_a_bookmark_too(tmp_path):
    write_set(full_set()[:1], [tmp_path / "a.png"], tmp_path / "a.pdf", dpi=20)
    # ISO 32000-1, 12.3.3: the document outline
    assert [one.title for one in PdfReader(tmp_path / "a.pdf").outline] == ["L1 PLAN"]


def test_fonts_are_embedded_on_every_page(written):
    _, folder = written
    for page in PdfReader(folder / "plan.pdf").pages:
        for font in page["/Resources"]["/Font"].values():
            parts = font.get_object()["/DescendantFonts"] if "/DescendantFonts" in font else [font]
            for part in parts:
                assert "/FontFile2" in part.get_object()["/FontDescriptor"]


def test_the_drawing_has_a_layout_for_each_sheet(written):
    _, folder = written
    doc = ezdxf.readfile(folder / "plan.dxf")
    assert doc.layout_names_in_taborder() == ["Model", "PLAN", "L2", "L3"]
    words = {text.dxf.text for text in texts_in(doc.layout("L3"))}
    assert "L3 OF 3" in words
    assert doc.audit().errors == []


def test_further_sheets_add_nothing_to_model_space(written, tmp_path):
    sheets, folder = written
    write_dxf(sheets[0], tmp_path / "alone.dxf")
    alone, together = (
        ezdxf.readfile(path) for path in (tmp_path / "alone.dxf", folder / "plan.dxf")
    )
    kinds = [[(e.dxftype(), e.dxf.layer) for e in doc.modelspace()] for doc in (alone, together)]
    assert kinds[0] == kinds[1]


def test_the_model_alone_has_the_model_of_the_drawing_and_empty_paper(written):
    _, folder = written
    whole, alone = (ezdxf.readfile(folder / name) for name in ("plan.dxf", "model.dxf"))
    kinds = [[(e.dxftype(), e.dxf.layer) for e in doc.modelspace()] for doc in (whole, alone)]
    assert kinds[0] == kinds[1]
    assert alone.layout_names_in_taborder() == ["Model", "Layout1"]
    assert [e.dxftype() for e in alone.layout("Layout1") if e.dxftype() != "VIEWPORT"] == []
    assert alone.audit().errors == []


@pytest.mark.thorough
def test_the_bytes_depend_neither_on_the_hash_seed_nor_on_the_time_zone(written, tmp_path):
    # beside what this process has, whichever that is
    _, folder = written
    code = (
        "import sys; from pathlib import Path; "
        f"sys.path[:0] = {[str(ROOT / 'tests/export'), str(ROOT / 'tests/lots')]!r}; "
        "from test_sheet_set import write_all; write_all(Path(sys.argv[1]))"
    )
    surroundings = {**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], env=surroundings, check=True)
    names = sorted(path.name for path in folder.iterdir())
    assert names == sorted(path.name for path in tmp_path.iterdir())
    for name in names:
        assert (folder / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_pictures_of_an_older_set_belong_to_the_package(tmp_path):
    for name in ("plan-L2.png", "plan-L10.png", "plan-Lx.png"):
        (tmp_path / name).touch()
    assert package_files(tmp_path)[-2:] == ["plan-L2.png", "plan-L10.png"]
