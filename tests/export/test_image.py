import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pypdf
import pytest
from campaign import thorough
from drawn_once import compose
from matplotlib.image import imread
from sheet_lots import FT, composed, pond_farm, rural, suburban

from siteplan.export.about import About
from siteplan.export.image import write_set
from siteplan.export.ink import ink
from siteplan.export.pdf import write_pages
from siteplan.export.picture import write_picture
from siteplan.site.sheet_options import SheetOptions


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("image")
    sheet = compose(suburban(sheet=SheetOptions("ANSI B", 360)))
    write_set([sheet], [folder / "plan.png"], folder / "plan.pdf")
    return sheet, folder / "plan.png", folder / "plan.pdf"


def page_of(path):
    return pypdf.PdfReader(path).pages[0]


def path_points(page):
    """Points of all moveto and lineto operators of a page [pt]."""
    stream = page.get_contents().get_data().decode("latin-1")
    found = re.findall(r"(-?[\d.]+) (-?[\d.]+) [ml]\s", stream)
    return np.array([(float(x), float(y)) for x, y in found])


def test_the_page_has_the_size_of_the_paper(files):
    _, _, pdf = files
    box = page_of(pdf).mediabox
    # 17 x 11 in at 72 pt
    assert (float(box.width), float(box.height)) == pytest.approx((1224.0, 792.0))


def test_the_pdf_is_exactly_to_scale(files):
    sheet, _, pdf = files
    points = path_points(page_of(pdf))
    ring = np.array(suburban().site.parcel.exterior.coords[:-1])
    # every corner of the parcel is drawn where the scale puts it: 1" = 30' is 2.4 pt a foot
    for corner in ring:
        expected = sheet.view.to_paper([corner])[0] * 72 / 25.4
        assert np.abs(points - expected).max(axis=1).min() < 0.001
    feet = np.hypot(*(ring[0] - ring[-1])) / FT
    ends = sheet.view.to_paper([ring[0], ring[-1]]) * 72 / 25.4
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(2.4 * feet)


def test_sixty_feet_at_one_inch_to_twenty_are_216_points(tmp_path):
    content = suburban(sheet=SheetOptions("Arch D", 240))
    sheet = compose(content)
    write_set([sheet], [tmp_path / "plan.png"], tmp_path / "plan.pdf", dpi=20)
    points = path_points(page_of(tmp_path / "plan.pdf"))
    # the drainfield's lower left corner is at (150, 22) ft, the reserve's at (80, 16) and (140, 16)
    ends = sheet.view.to_paper([(80 * FT, 16 * FT), (140 * FT, 16 * FT)]) * 72 / 25.4
    near = [points[np.abs(points - end).max(axis=1).argmin()] for end in ends]
    assert near[1][0] - near[0][0] == pytest.approx(216.0, abs=0.001)


def test_the_text_of_the_pdf_can_be_searched(files):
    _, _, pdf = files
    text = page_of(pdf).extract_text()
    for words in ("Loop field, Alder Bend", "NOT A BOUNDARY SURVEY", "B12", "DRAINFIELD"):
        assert words in text


def test_the_pdf_embeds_its_fonts_as_truetype(files):
    _, _, pdf = files
    fonts = page_of(pdf)["/Resources"]["/Font"]
    kinds = {fonts[name].get_object()["/Subtype"] for name in fonts}
    assert kinds <= {"/Type0", "/TrueType"}


def test_the_png_has_two_hundred_dots_per_inch(files):
    _, png, _ = files
    assert imread(png).shape[:2] == (2200, 3400)


def test_nothing_of_the_plan_runs_into_the_strip(files):
    sheet, png, _ = files
    picture = imread(png)[..., :3]
    dots = 200 / 25.4
    left = round((sheet.view.left_mm + sheet.view.width_mm + 0.8) * dots)
    top, bottom = (round((279.4 - y) * dots) for y in (250.0, 20.0))
    # the free band between the rule of the strip and its text
    band = picture[top:bottom, left : left + round(1.6 * dots)]
    assert band.min() == 1.0


def test_the_street_beyond_the_window_is_clipped_in_the_pdf_too(files):
    _, _, pdf = files
    stream = page_of(pdf).get_contents().get_data().decode("latin-1")
    assert re.search(r" re W\*? n\s", stream)


@pytest.mark.parametrize("lot", [rural, thorough(pond_farm)])
def test_the_same_sheet_gives_the_same_bytes(lot, tmp_path):
    sheet = composed(lot)
    for name in ("a", "b"):
        write_set([sheet], [tmp_path / f"{name}.png"], tmp_path / f"{name}.pdf", dpi=100)
    for suffix in ("png", "pdf"):
        assert (tmp_path / f"a.{suffix}").read_bytes() == (tmp_path / f"b.{suffix}").read_bytes()


def test_one_figure_or_two_give_the_same_files(tmp_path):
    sheet = composed(rural)
    write_set([sheet], [tmp_path / "a.png"], tmp_path / "a.pdf", dpi=100)
    write_picture(ink(sheet), tmp_path / "b.png", dpi=100)
    write_pages([ink(sheet)], tmp_path / "b.pdf", about=About(sheet.title), names=["L1 PLAN"])
    for suffix in ("png", "pdf"):
        assert (tmp_path / f"a.{suffix}").read_bytes() == (tmp_path / f"b.{suffix}").read_bytes()


def test_names_in_other_scripts_are_drawn_without_complaint(tmp_path):
    content = suburban()
    project = replace(content.site.project, owner="Жанна Öztürk 道", title="Größe – Ελλάδα")
    sheet = compose(replace(content, site=replace(content.site, project=project)))
    write_set([sheet], [tmp_path / "a.png"], tmp_path / "a.pdf", dpi=60)
    text = page_of(tmp_path / "a.pdf").extract_text()
    assert "Жанна Öztürk ?" in text
    assert "Größe – Ελλάδα" in text


def test_no_global_plotting_state_is_loaded():
    code = "import siteplan.export.image, sys; sys.exit('matplotlib.pyplot' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
