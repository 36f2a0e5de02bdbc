"""The page to mail: what it shows, that it is whole by itself, and that no word in it can run."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from planned import planned, sheets_of

from siteplan.alternatives.remedies import Remedy
from siteplan.alternatives.weighing import Weighing
from siteplan.cli import main
from siteplan.export.ink import ink
from siteplan.export.page import page_of
from siteplan.export.svg import svg_of
from siteplan.findings.model import reason
from siteplan.report.helps import help_lines
from siteplan.sheet.style.text import text_width

pytestmark = pytest.mark.usefixtures("coarse")

SVG = "{http://www.w3.org/2000/svg}"
HELPS = ("vertical: bores 20.0 ft deeper",)
HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>\"'&"


class Elements(HTMLParser):
    """Every element of a page with its attributes, and the text of scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, list[str]] = {"script": [], "style": [], "td": [], "li": []}
        self._open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        self._open.append(tag)
        if tag in self.inside:
            self.inside[tag].append("")

    def handle_endtag(self, tag):
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data):
        if self._open and self._open[-1] in self.inside:
            self.inside[self._open[-1]][-1] += data


@pytest.fixture(scope="module")
def text():
    return page_of(planned("rural-acre").content(), HELPS)


@pytest.fixture(scope="module")
def page(text):
    return Elements(text)


# --- the sheets in it


@pytest.mark.parametrize("sample", ["rural-acre"])
def test_a_sheet_shows_every_text_where_the_print_has_it(sample):
    for sheet in sheets_of(sample):
        root = ElementTree.fromstring(svg_of(sheet))
        height = float(root.get("viewBox", "").split()[3])
        shown = []
        for item in root.iter(f"{SVG}text"):
            x, y = map(float, re.findall(r"[-\d.]+", item.get("transform", ""))[:2])
            shown.append((item.text, round(x, 1), round(height - y, 1), item.get("textLength")))
        printed = [
            (
                letters.text,
                round(letters.start[0], 1),
                round(letters.start[1], 1),
                text_width(letters.text, letters.height_mm, bold=letters.bold),
            )
            for letters in ink(sheet).letters
            if letters.text
        ]
        assert len(shown) == len(printed)
        for one, other in zip(sorted(shown), sorted(printed), strict=True):
            assert one[0] == other[0]
            assert one[1:3] == pytest.approx(other[1:3], abs=0.11)
            assert float(one[3]) == pytest.approx(other[3], abs=0.01)


def test_the_corners_of_the_lot_lie_at_the_scale_of_the_sheet():
    site, sheet = planned("tight-lot").site, sheets_of("tight-lot")[0]
    root = ElementTree.fromstring(svg_of(sheet))
    height = float(root.get("viewBox", "").split()[3])
    numbers = [
        np.reshape([float(n) for n in re.findall(r"-?[\d.]+", path.get("d", ""))], (-1, 2))
        for path in root.iter(f"{SVG}path")
    ]
    places = np.vstack(numbers) * (1, -1) + (0, height)
    corners = sheet.view.to_paper(site.parcel.exterior.coords)
    gaps = [np.hypot(*(places - corner).T).min() for corner in corners]
    assert max(gaps) < 0.01


def test_the_page_measures_by_the_scale_that_the_sheet_says(page):
    """An inch of paper is 25.4 mm, a foot 0.3048 m (NIST Special Publication 811)."""
    (frames,) = (json.loads(said) for said in page.inside["script"] if said.startswith("{"))
    for sheet in sheets_of("rural-acre"):
        feet = re.fullmatch(r"""1" = (\d+)'""", sheet.view.label)
        assert feet is not None
        shown = frames["sheets"][sheet.number]
        assert shown["metres"] == pytest.approx(int(feet[1]) * 0.3048 / 25.4)
        assert shown["height"] == sheet.paper.height_mm
    assert frames["metres"] == 0.3048


# --- the page by itself


def test_the_page_asks_for_nothing_from_anywhere(text, page):
    asked = [
        value
        for _, attributes in page.elements
        for name, value in attributes.items()
        if name in ("src", "href", "action", "data", "poster", "srcset")
    ]
    assert asked == ["data:,"]
    assert not re.search(r"@import|url\((?!#)", "".join(page.inside["style"]))
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
    assert not [name for _, found in page.elements for name in found if name.startswith("on")]


def test_nothing_may_run_but_the_script_and_the_style_that_came_with_it(page):
    (policy,) = (found["content"] for tag, found in page.elements if "http-equiv" in found)
    allowed = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert allowed["default-src"] == "'none'"
    style, (data, script) = page.inside["style"], page.inside["script"]
    for name, told in (("script-src", script), ("style-src", style[0])):
        digest = base64.b64encode(hashlib.sha256(told.encode()).digest()).decode()
        assert allowed[name] == f"'sha256-{digest}'"
    assert json.loads(data)["unit"] == "ft"
    # what builds elements of text would let words of a site file become elements
    assert "innerHTML" not in script
    assert "eval(" not in script


def test_words_of_a_site_file_stay_words():
    plan = planned("rural-acre")
    content = plan.content()
    project = replace(content.site.project, title=HOSTILE, owner=HOSTILE)
    features = tuple(
        replace(feature, label=HOSTILE) if feature.kind == "tree" else feature
        for feature in content.site.features
    )
    site = replace(content.site, project=project, features=features)
    plain, hostile = (Elements(page_of(shown)) for shown in (content, replace(content, site=site)))
    kinds = [sorted({tag for tag, _ in found.elements} | {"text"}) for found in (plain, hostile)]
    assert kinds[0] == kinds[1]
    assert len(hostile.inside["script"]) == 2
    assert hostile.inside["script"][1] == plain.inside["script"][1]


def test_the_tables_hold_what_the_plan_measured(page):
    plan = planned("rural-acre")
    cells = page.inside["td"]
    assert cells.count("YES") == sum(each.meets for each in plan.content().separations)
    for element in plan.drawn.layout.elements:
        assert element.id in cells
    told = " ".join(page.inside["li"])
    assert "NOT A BOUNDARY SURVEY" in told
    assert "811" in told


def test_the_page_begins_with_what_would_make_a_lot_fit(text, page):
    assert text.index(HELPS[0]) < text.index("<details id=") < text.index("<h2>Separations")
    assert page.inside["li"][0] == HELPS[0]


def test_what_helps_several_loop_types_is_told_once_and_names_no_place_of_the_file():
    plan = planned("rural-acre")
    # 2 bores of 364 ft where the limit is 300 ft: 110.9472 m and 91.44 m
    deeper = reason("deeper-bores", bores=2, depth_m=110.9472, most_m=91.44, pipe=None, few=None)
    again = reason("to-be-calculated-again")
    spaced = reason("nearer-together", spacing_m=4.572, now_m=6.096, after=again, screened=None)
    found = (
        Remedy("vertical", "depth", deeper),
        Remedy("vertical", "spacing", spaced),
        Remedy("horizontal", "spacing", spaced),
    )
    told = help_lines(Weighing("vertical", (), found), plan.drawn, plan.site.unit, on_paper=True)
    assert told[0].startswith("vertical: 2 bores 364.0 ft deep instead of the 300.0 ft limit")
    assert told[1].startswith("vertical, horizontal: spacing 15.0 ft instead of 20.0 ft")
    assert len(told) == 2
    assert not any("[" in line for line in told)


def test_every_layer_of_the_plan_has_its_switch(page):
    switched = {found["data-layer-of"] for _, found in page.elements if "data-layer-of" in found}
    drawn = {
        item.layer
        for sheet in sheets_of("rural-acre")
        for item in sheet.primitives
        if item.space == "model"
    }
    assert switched == drawn


@pytest.mark.thorough
def test_the_same_plan_gives_the_same_page(text):
    assert page_of(planned("rural-acre").content(), HELPS) == text


# --- the command


def test_the_command_writes_one_file_and_leaves_what_is_there(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("siteplan.plan.plan_site", lambda *_, **__: planned("rural-acre"))
    out = tmp_path / "lot.html"
    site = str(Path(__file__).parents[2] / "samples" / "rural-acre")
    assert main(["page", site, "--out", str(out), "--quiet"]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["lot.html"]
    before = out.read_bytes()
    assert main(["page", site, "--out", str(out)]) == 2
    assert "--force" in capsys.readouterr().err
    assert out.read_bytes() == before
    assert main(["page", site, "--out", str(out), "--force", "--quiet"]) == 0
    assert out.read_bytes() == before
    assert main(["page", site, "--out", str(tmp_path)]) == 2
    assert main(["page", site, "--out", str(tmp_path / "none" / "lot.html")]) == 2
    assert "cannot be written" in capsys.readouterr().err
