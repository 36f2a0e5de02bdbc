"""``siteplan new``: a lot in feet that a file says to be in degrees."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from siteplan.cli import main


def test_a_square_of_a_hundred_degrees_is_not_said_to_cross_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # RFC 7946, 4: coordinates of GeoJSON are degrees; these are feet
    ring = [[0, 0], [100, 0], [100, 100], [0, 100], [0, 0]]
    lot = {"type": "Feature", "properties": {"kind": ["a", 1]},
           "geometry": {"type": "Polygon", "coordinates": [ring]}}  # fmt: skip
    (tmp_path / "lot.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [lot]}), encoding="utf-8"
    )
    assert main(["new", str(tmp_path / "lot"), "--parcel", str(tmp_path / "lot.geojson")]) == 2
    said = capsys.readouterr().err
    assert "reaches too far over the earth to be drawn in EPSG:4326" in said
    assert "crosses itself" not in said
    assert not (tmp_path / "lot").exists()
