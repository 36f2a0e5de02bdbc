"""Layers with columns of their own words, named as in a site file."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

import county_lots
import numpy as np
import pyogrio
import pytest
import shapely

from siteplan.errors import InputError
from siteplan.screening.mapped import mapped_layers
from siteplan.screening.sources import read_around
from siteplan.site.readers.site_file import site_from

PLACES = [shapely.Point(county_lots.CORNER) for _ in range(5)]
TYPES = ["DWELL", "DWELL", "septic tank", "POLE", "TREE"]
KINDS = {"DWELL": "potable well", "POLE": "skip"}


def write(path: Path) -> Path:
    binary = shapely.to_wkb(np.array(PLACES, dtype=object))
    pyogrio.raw.write(
        path, binary, [np.array(TYPES, dtype=object)], ["TYPE"], layer="points", driver="GPKG",
        geometry_type="Point", crs=county_lots.CRS,
    )  # fmt: skip
    return path


def tables(**more: object) -> dict[str, dict[str, list[dict[str, object]]]]:
    layer = {"file": "points.gpkg", "columns": {"kind": "TYPE"}, "kinds": KINDS, **more}
    return {"geometry": {"layer": [layer]}}


def test_words_of_a_column_mean_what_a_site_file_says(tmp_path: Path) -> None:
    write(tmp_path / "points.gpkg")
    source, same = tmp_path / "loads.toml", lambda path: path
    found = mapped_layers(tables(kinds={**KINDS, "TREE": "tree"}), source, same)
    bounds = (0.0, 0.0, 1e7, 1e7)
    counted = {layer.kind: len(read_around(layer, bounds)) for layer in found}
    assert counted == {"potable well": 2, "septic tank": 1, "tree": 1}
    # a plan of a lot around these points reads the same of the same table
    lot = shapely.Point(county_lots.CORNER).buffer(40)
    county_lots.write_lots(tmp_path / "lot.gpkg", [lot])
    told = tables(kinds={**KINDS, "TREE": "tree"})["geometry"]["layer"]
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": date(2026, 1, 1), "units": "m"},
            "geometry": {"layer": [{"file": "lot.gpkg", "kind": "parcel"}, *told]},
            "exchanger": {"capacity": "3 ton", "entry": [[40, 40]]},
        },
        folder=tmp_path,
    )
    assert Counter(feature.kind for feature in site.features) == counted


def test_rows_are_picked_by_what_another_column_says(tmp_path: Path) -> None:
    write(tmp_path / "points.gpkg")
    one = {"file": "points.gpkg", "kind": "potable well", "where": "TYPE = 'DWELL'"}
    told = {"geometry": {"layer": [one]}}
    (layer,) = mapped_layers(told, tmp_path / "loads.toml", lambda path: path)
    assert len(read_around(layer, (0.0, 0.0, 1e7, 1e7))) == 2


def test_all_words_that_mean_nothing_are_told_at_once(tmp_path: Path) -> None:
    write(tmp_path / "points.gpkg")
    layers = [
        *tables(kinds={})["geometry"]["layer"],
        {"file": "points.gpkg", "columns": {"kind": "KIND"}},
    ]
    with pytest.raises(InputError) as error:
        mapped_layers({"geometry": {"layer": layers}}, tmp_path / "x.toml", lambda path: path)
    text = str(error.value)
    assert all(word in text for word in ("'DWELL'", "'POLE'", "'KIND'"))
