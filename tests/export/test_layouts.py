"""Paper and windows of a drawing, and how far it says that it goes, by ezdxf's own measuring."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import ezdxf
import places
import pytest
from drawn_once import compose_set
from ezdxf import bbox
from planned import planned_once

from siteplan.export.dxf import dxf_text
from siteplan.sheet.model import Sheet
from siteplan.site.readers.site_file import read_site

LOTS = ("small-suburban", "good-aquifer")


@cache
def written(name: str) -> tuple[tuple[Sheet, ...], Any]:
    plan = planned_once(read_site(places.SAMPLES / name / "site.toml"))
    sheets = tuple(compose_set(plan.content()))
    return sheets, ezdxf.read(io.StringIO(dxf_text(sheets[0], more=sheets[1:])))


@pytest.mark.parametrize("name", LOTS)
def test_each_layout_has_the_paper_of_its_sheet_to_the_edge(name: str) -> None:
    sheets, doc = written(name)
    names = [each for each in doc.layout_names_in_taborder() if each != "Model"]
    assert len(names) == len(sheets)
    for sheet, layout in zip(sheets, map(doc.layout, names), strict=True):
        inch = 25.4 if layout.dxf_layout.dxf.plot_paper_units == 0 else 1.0
        page = layout.dxf_layout.dxf
        # paper sizes are millimetres in the file, whatever the unit (DXF reference, PLOTSETTINGS)
        size = sorted((page.paper_width, page.paper_height))
        assert size == pytest.approx(
            sorted((sheet.paper.width_mm, sheet.paper.height_mm)), abs=0.01
        )
        for edge in ("left_margin", "bottom_margin", "right_margin", "top_margin"):
            assert page.get(edge, 0.0) == 0.0
        assert tuple(layout.dxf.limmin)[:2] == (0.0, 0.0)
        wide, high = tuple(layout.dxf.limmax)[:2]
        assert (wide * inch, high * inch) == pytest.approx(
            (sheet.paper.width_mm, sheet.paper.height_mm), abs=0.01
        )


@pytest.mark.parametrize("name", LOTS)
def test_each_window_shows_its_part_of_the_model_to_scale_and_is_locked(name: str) -> None:
    sheets, doc = written(name)
    names = [each for each in doc.layout_names_in_taborder() if each != "Model"]
    shown = 0
    for sheet, layout in zip(sheets, map(doc.layout, names), strict=True):
        windows = [port for port in layout.viewports() if port.dxf.id != 1]
        assert len(windows) == (sheet.view.width_mm > 0)
        for window in windows:
            shown += 1
            inch = 25.4 if layout.dxf_layout.dxf.plot_paper_units == 0 else 1.0
            # $INSUNITS: 2 is feet, 6 metres; a foot is exact (NIST Special Publication 811)
            unit_mm = {2: 304.8, 6: 1000.0}[doc.header["$INSUNITS"]]
            scale = window.dxf.view_height * unit_mm / (window.dxf.height * inch)
            assert scale == pytest.approx(sheet.view.ratio, rel=1e-6)
            assert window.dxf.flags & 16384  # display locked (DXF reference, VIEWPORT)
            low = window.dxf.center.x - window.dxf.width / 2
            assert low * inch >= -0.01
            assert (low + window.dxf.width) * inch <= sheet.paper.width_mm + 0.01
    assert shown


@pytest.mark.parametrize("name", LOTS)
def test_a_program_opens_the_drawing_on_all_of_the_model_and_little_more(name: str) -> None:
    _, doc = written(name)
    model = doc.modelspace()
    drawn = bbox.extents(model, fast=True)
    low, high = model.dxf.extmin, model.dxf.extmax
    size = max(drawn.size.x, drawn.size.y)
    for axis in (0, 1):
        # texts are as wide as their font, which ezdxf measures by another: a few percent
        assert low[axis] <= drawn.extmin[axis] + 0.03 * size
        assert high[axis] >= drawn.extmax[axis] - 0.03 * size
        assert low[axis] >= drawn.extmin[axis] - 0.1 * size
        assert high[axis] <= drawn.extmax[axis] + 0.1 * size
    assert tuple(model.dxf.limmin)[:2] == pytest.approx(tuple(low)[:2])
    assert tuple(model.dxf.limmax)[:2] == pytest.approx(tuple(high)[:2])
