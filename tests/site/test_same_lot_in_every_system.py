"""One lot in several units and coordinate systems is one lot, and gets one layout, within 1 mm.

The systems are those of the EPSG register that cover northern Utah: degrees, UTM, and the state
plane in metres, in international feet and in US survey feet.
"""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from siteplan.plan import plan_site
from siteplan.site.model import Site
from siteplan.site.readers.site_file import site_from

SYSTEMS = {
    "EPSG:4269": "degrees", "EPSG:26912": "UTM 12 N", "EPSG:32142": "state plane, m",
    "EPSG:2281": "state plane, ft", "EPSG:3560": "state plane, US survey ft",
}  # fmt: skip
SAME_M = 0.001
DAY = datetime.date(2026, 3, 14)


def test_the_systems_are_in_the_units_that_the_register_says() -> None:
    units = [pyproj.CRS(name).axis_info[0].unit_name for name in SYSTEMS]
    assert units == ["degree", "metre", "metre", "foot", "US survey foot"]


def site_in(folder: Path, system: str, parcel: Polygon, house: Polygon, units: str) -> Site:
    """The lot, given in UTM, written and read in a system."""
    way = pyproj.Transformer.from_crs("EPSG:26912", system, always_xy=True)

    def written(shape: Polygon) -> Any:
        moved = shapely.transform(shape, lambda at: np.column_stack(way.transform(*at.T)))
        return shapely.geometry.mapping(moved)

    features = [
        {"type": "Feature", "properties": {"kind": kind}, "geometry": written(shape)}
        for kind, shape in (("parcel", parcel), ("building", house))
    ]
    content = {
        "type": "FeatureCollection", "crs": {"properties": {"name": system}},
        "features": features,
    }  # fmt: skip
    (folder / "lot.geojson").write_text(json.dumps(content), encoding="utf-8")
    return site_from(
        {
            "project": {"title": "Lot", "owner": "A. Owner", "date": DAY, "units": units},
            "geometry": {"file": "lot.geojson"},
            "exchanger": {
                "system": "horizontal", "entry": "any wall",
                "length": {"given": "120 m", "by": "the designer"},
            },
        },
        folder=folder,
    )  # fmt: skip


def lot_at(east: float, north: float, turn: float, wide: float, deep: float) -> list[Polygon]:
    shapes = [
        shapely.box(0, 0, wide, deep),
        shapely.box(0.4 * wide, 0.2 * deep, 0.4 * wide + 12, 0.2 * deep + 9),
    ]
    turned = [affinity.rotate(shape, turn, origin=(0, 0)) for shape in shapes]
    return [affinity.translate(shape, east, north) for shape in turned]


@settings(max_examples=several(6, 12), deadline=None, derandomize=True)
@given(
    st.floats(420_000, 460_000), st.floats(4_500_000, 4_600_000), st.floats(0, 90),
    st.floats(40, 300), st.floats(40, 300),
)  # fmt: skip
def test_a_lot_is_the_same_in_every_system_and_unit(
    tmp_path_factory: pytest.TempPathFactory,
    east: float, north: float, turn: float, wide: float, deep: float,
) -> None:  # fmt: skip
    parcel, house = lot_at(east, north, turn, wide, deep)
    folder = tmp_path_factory.mktemp("lot")
    first, *others = [
        site_in(folder, system, parcel, house, units)
        for system in SYSTEMS for units in ("ft", "m")
    ]  # fmt: skip
    for other in others:
        assert other.parcel.hausdorff_distance(first.parcel) < SAME_M
        assert other.features[0].shape.hausdorff_distance(first.features[0].shape) < SAME_M
        for entry, same in zip(other.entries, first.entries, strict=True):
            assert entry.point.distance(same.point) < SAME_M


def test_the_layout_is_the_same_in_every_system_and_unit(tmp_path: Path) -> None:
    parcel, house = lot_at(440_000, 4_550_000, 17.0, 60.0, 80.0)
    plans = [
        plan_site(site_in(tmp_path, system, parcel, house, units))
        for system, units in zip(SYSTEMS, ("ft", "m", "ft", "m", "ft"), strict=True)
    ]
    first, *others = [
        [each.footprint for each in plan.drawn.layout.elements]
        for plan in plans if plan.drawn.layout is not None
    ]  # fmt: skip
    assert len(first) > 1
    assert len(others) == len(SYSTEMS) - 1
    for other in others:
        assert len(other) == len(first)
        for one, same in zip(first, other, strict=True):
            assert one.hausdorff_distance(same) < SAME_M
