"""The drawing read by libraries that had no part in writing it: GDAL, and an npm package."""

from __future__ import annotations

import collections
import json
import math
import shutil
import subprocess
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from drawings import drawing_of, drawing_to_change, write_drawing
from sheet_lots import FT, pond_farm, rural, suburban, well_pair

from siteplan.layout.elements import Trench
from siteplan.sheet.style.styles import layer

LOTS = [suburban, rural, pond_farm, well_pair]
MILLIMETRE_FT = 0.001 / FT
READER = """
const Parser = require('dxf-parser');
const text = require('fs').readFileSync(process.argv[1], 'utf8');
const drawing = new Parser().parseSync(text);
const model = drawing.entities.filter((entity) => !entity.inPaperSpace);
console.log(JSON.stringify(model.map((entity) => ({
  type: entity.type, layer: entity.layer, name: entity.name, at: entity.position,
  vertices: entity.vertices,
}))));
"""


def written(lot: Any, folder: Path) -> tuple[Any, Path]:
    path = folder / "plan.dxf"
    write_drawing(lot, path)
    return lot(), path


def by_gdal(path: Path) -> dict[str, np.ndarray]:
    import pyogrio

    pyogrio.set_gdal_config_options({"DXF_INLINE_BLOCKS": False})
    try:
        meta, _, geometry, fields = pyogrio.raw.read(path, layer="entities")
    finally:  # it holds for the whole process
        pyogrio.set_gdal_config_options({"DXF_INLINE_BLOCKS": None})
    read = dict(zip(meta["fields"], fields, strict=True))
    return {**read, "geometry": shapely.from_wkb(geometry)}


def counts_by_ezdxf(document: Any) -> collections.Counter[str]:
    return collections.Counter(one.dxf.layer for one in document.modelspace())


@pytest.mark.parametrize("lot", LOTS)
def test_gdal_finds_the_entities_of_every_layer(lot, tmp_path):
    _, path = written(lot, tmp_path)
    read = by_gdal(path)
    found = collections.Counter(
        name
        for name, paper in zip(read["Layer"], read["PaperSpace"], strict=True)
        if paper not in (1, True)
    )
    mine = counts_by_ezdxf(drawing_of(lot)[1])
    # GDAL takes a dimension apart into lines, arrows and text
    dimensions = {name for name in mine if "DIMS" in name}
    for name in mine.keys() - dimensions:
        assert found[name] >= mine[name], name
    assert set(mine) <= set(found)


def test_gdal_finds_every_bore_within_a_millimetre(tmp_path):
    content, path = written(suburban, tmp_path)
    read = by_gdal(path)
    points = [
        shape
        for shape, name, block in zip(
            read["geometry"], read["Layer"], read["BlockName"], strict=True
        )
        if name == layer("bore") and block
    ]
    bores = content.layout.elements
    assert len(points) == len(bores)
    for bore in bores:
        nearest = min(math.hypot(p.x - bore.x_m / FT, p.y - bore.y_m / FT) for p in points)
        assert nearest < MILLIMETRE_FT


def test_gdal_finds_every_trench_within_a_millimetre(tmp_path):
    content, path = written(rural, tmp_path)
    read = by_gdal(path)
    lines = [
        shape
        for shape, name in zip(read["geometry"], read["Layer"], strict=True)
        if name == layer("trench") and shape.geom_type == "LineString"
    ]
    trenches = [one for one in content.layout.elements if isinstance(one, Trench)]
    for trench in trenches:
        wanted = trench.line  # this lot is drawn in metres
        assert min(line.hausdorff_distance(wanted) for line in lines) < 0.001


@pytest.mark.parametrize("version", ["R2010", "R2013", "R2018"])
def test_a_copy_in_another_version_has_no_faults(version, tmp_path):
    document = drawing_to_change(suburban)
    document.dxfversion = version
    document.saveas(tmp_path / "copy.dxf")
    copy = ezdxf.readfile(tmp_path / "copy.dxf")
    assert copy.acad_release == version
    audit = copy.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert counts_by_ezdxf(copy) == counts_by_ezdxf(drawing_of(suburban)[1])


@pytest.fixture(scope="module")
def npm_reader(tmp_path_factory):
    """Function that reads a drawing with the npm package dxf-parser."""
    if shutil.which("npm") is None:
        pytest.skip("there is no npm on this machine")
    folder = tmp_path_factory.mktemp("npm")
    command = ["npm", "install", "--silent", "--no-audit", "--no-fund", "dxf-parser@1.1.2"]
    try:
        done = subprocess.run(command, cwd=folder, capture_output=True, timeout=120, check=False)
    except subprocess.TimeoutExpired:
        pytest.skip("the npm registry does not answer")
    if done.returncode:
        pytest.skip("the npm registry does not answer")

    def read(path: Path) -> list[dict[str, Any]]:
        told = subprocess.run(
            ["node", "-e", READER, str(path)], cwd=folder, capture_output=True, check=True
        )
        found: list[dict[str, Any]] = json.loads(told.stdout)
        return found

    return read


@pytest.mark.parametrize("lot", LOTS)
def test_an_npm_package_finds_the_same_entities_on_every_layer(lot, tmp_path, npm_reader):
    _, path = written(lot, tmp_path)
    found = collections.Counter((one["type"], one["layer"]) for one in npm_reader(path))
    model = drawing_of(lot)[1].modelspace()
    # it knows neither hatches nor leaders
    mine = collections.Counter(
        (one.dxftype(), one.dxf.layer) for one in model if one.dxftype() not in ("HATCH", "LEADER")
    )
    assert found == mine


def test_an_npm_package_finds_bores_and_trenches_where_they_lie(tmp_path, npm_reader):
    content, path = written(suburban, tmp_path)
    read = npm_reader(path)
    places = [
        one["at"] for one in read if one["type"] == "INSERT" and one["layer"] == layer("bore")
    ]
    assert len(places) == len(content.layout.elements)
    for bore in content.layout.elements:
        away = min(math.hypot(p["x"] - bore.x_m / FT, p["y"] - bore.y_m / FT) for p in places)
        assert away < MILLIMETRE_FT
