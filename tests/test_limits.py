"""docs/limits.md tells the limits that the program keeps, and each is kept."""

from __future__ import annotations

import datetime
import json
import math
from pathlib import Path
from typing import Any

import places
import pytest

from siteplan import limits
from siteplan.cli import TOLD
from siteplan.errors import InputError
from siteplan.site.options.declared import declared
from siteplan.site.options.quantities import limits_of
from siteplan.site.readers.judge import LARGEST_PARCEL_M, NEIGHBOURHOOD_M, TURNED
from siteplan.site.readers.site_file import read_site, site_from

PAGE = (places.ROOT / "docs" / "limits.md").read_text(encoding="utf-8")
ROWS = (
    f"| site file, list of prices | {limits.MOST_TOML_BYTES / 1e6:.0f} MB |",
    f"| GeoJSON that a site file names as its lot | {limits.MOST_GEOJSON_BYTES / 1e6:.0f} MB |",
    f"| KML, also inside a zip | {limits.MOST_XML_BYTES / 1e6:.0f} MB |",
    f"read for one lot, or looked at by `inspect` | {limits.MOST_ROWS:,} |",
    f"| files in a zip | {limits.MOST_ZIPPED:,} |",
    f"| {limits.MOST_PACKED} times its own size, and {limits.MOST_UNPACKED / 1e6:,.0f} MB |",
    f"| survey drawing (DXF) | {limits.MOST_DXF_BYTES / 1e6:.0f} MB |",
    f"blocks counted as often as they are inserted | {limits.MOST_ENTITIES:,} |",
    f"| drawing that is audited (DXF) | {limits.MOST_DXF_BYTES / 1e6:.0f} MB, "
    f"{limits.MOST_DRAWN:,} things in model space |",
    f"and things on the layer of its header | {limits.MOST_SYMBOLS:,} |",
    f"| list of measured places (CSV), list of checksums | {limits.MOST_LIST_BYTES / 1e6:.0f} MB |",
    f"(JSON) that are read again | {limits.MOST_SUMMARY_BYTES / 1e6:.0f} MB |",
    f"At most {limits.MOST_ELEMENTS:,} bores, coils, mats or frames are laid out on one lot",
    f"| blocks of a drawing within one another | {limits.DEEPEST_BLOCKS} |",
    f"| a coordinate in a drawing, in its own unit | {limits.FARTHEST_DRAWN / 1e12:.0f}e12 |",
    f"| tables and arrays within one another | {limits.DEEPEST} |",
    f"| a text | {limits.LONGEST_TEXT:,} characters |",
    f"| a name, or a label of one line on a sheet | {limits.LONGEST_NAME} characters |",
    f"| a number, whatever it counts | {limits.LARGEST:.0e} |".replace("e+", "e"),
    f"| the year of a date | {limits.FIRST_YEAR} to {limits.LAST_YEAR} |",
    f"| calls of a deed | {limits.MOST_CALLS:,} |",
    f"| faults printed by one command | {TOLD};",
    f"in the file's own unit | {limits.FARTHEST:.0e} |".replace("e+0", "e"),
    f"| corners of one shape | {limits.MOST_VERTICES:,} |",
    f"| corners of one shape that is planned with | {limits.MOST_CORNERS:,} |",
    f"| corners of a lot with all around it | {limits.MOST_VERTICES_IN_ALL:,} |",
    f"| depth contours of one pond | {limits.MOST_CONTOURS}, "
    f"of {limits.MOST_CORNERS:,} corners each |",
    f"| features of a lot | {limits.MOST_FEATURES:,} |",
    f"| width of a lot | {LARGEST_PARCEL_M:,.0f} m",
    f"| a feature from the parcel | {NEIGHBOURHOOD_M:.0f} m",
    f"of the parcel | {TURNED} times that |",
)
FOOT = 0.3048  # exact: National Institute of Standards and Technology, Special Publication 811
LENGTHS = {"feature.overhang": 60, "feature.canopy": 150, "vertical.depth": 3000,
           "feature.clearance": 5000}  # fmt: skip


@pytest.mark.parametrize("row", ROWS)
def test_the_page_tells_the_limit(row: str) -> None:
    assert row in PAGE


@pytest.mark.parametrize(("path", "feet"), LENGTHS.items())
def test_the_page_tells_the_limit_of_a_length(path: str, feet: int) -> None:
    assert f"of {feet:,} ft" in PAGE
    option = declared(path if path != "vertical.depth" else "vertical.depth.most")
    assert limits_of(option)[1] == pytest.approx(feet * FOOT)


def lot(**more: Any) -> dict[str, Any]:
    return {
        "project": {"title": "T", "owner": "O", "date": datetime.date(2026, 3, 14)},
        "geometry": {"parcel": [[0, 0], [200, 0], [200, 150], [0, 150]]},
        "exchanger": {"capacity": "2 ton", "entry": [80, 70]},
        **more,
    }


def fault_of(values: dict[str, Any]) -> str:
    with pytest.raises(InputError) as caught:
        site_from(values)
    return str(caught.value)


def line(corners: int) -> dict[str, Any]:
    # within a thousandth of a foot of a straight line, so that it may be thinned
    points = [[10 + 100 * k / corners, 10 + 0.001 * (k % 2)] for k in range(corners)]
    return {"kind": "water line", "line": points}


def test_one_corner_too_many() -> None:
    assert site_from(lot(feature=[line(limits.MOST_VERTICES)])).features
    assert "has 50,001 corners; 50,000 are read." in fault_of(
        lot(feature=[line(limits.MOST_VERTICES + 1)])
    )


def test_too_many_corners_in_all(monkeypatch: pytest.MonkeyPatch) -> None:
    # the limit itself stands on the page, as above; what is told at it does not hang on its size
    monkeypatch.setattr("siteplan.site.readers.judge.MOST_VERTICES_IN_ALL", 2_000)
    assert "has 2,004 corners in all; 2,000 are read." in fault_of(lot(feature=[line(500)] * 4))


def test_one_feature_too_many() -> None:
    trees = [{"kind": "tree", "at": [1 + k % 90, 1 + k // 90]} for k in range(limits.MOST_FEATURES)]
    assert "has 5,001 features; 5,000 are read." in fault_of(lot(feature=trees))


def test_one_table_too_deep() -> None:
    deep: Any = 1
    for _ in range(limits.DEEPEST):
        deep = [deep]
    assert "within one another" in fault_of(lot(sheet={"paper": deep}))


def test_a_circle_of_values_ends() -> None:
    ring: list[Any] = []
    ring.append(ring)
    assert "within one another" in fault_of(lot(sheet={"paper": ring}))


@pytest.mark.parametrize(
    ("text", "said"),
    [("x" * 20_001, "a text of 20,001 characters"), ("a\0b", "U+0000"), ("\u202eabc", "U+202E")],
)
def test_a_text_that_no_sheet_can_show(text: str, said: str) -> None:
    site = lot()
    site["project"]["address"] = text
    assert said in fault_of(site)


def test_a_site_file_too_large(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text("# " + "x" * limits.MOST_TOML_BYTES, encoding="utf-8")
    with pytest.raises(InputError, match=r"has 2\.0 MB; 2 MB are read"):
        read_site(path)


def test_a_lot_too_large_for_a_site_file(tmp_path: Path) -> None:
    values = lot(geometry={"file": "lot.geojson"})
    text = json.dumps({"type": "FeatureCollection", "features": []})
    (tmp_path / "lot.geojson").write_text(text + " " * limits.MOST_GEOJSON_BYTES, encoding="utf-8")
    with pytest.raises(InputError, match=r"has 20\.0 MB; 20 MB are read"):
        site_from(values, folder=tmp_path)


def test_more_depth_contours_of_a_pond_than_are_compared() -> None:
    ring = [[10, 10], [80, 10], [80, 60], [10, 60]]
    depths = (f"{2 + k / 100:.2f} ft" for k in range(101))
    contours = [{"kind": "depth contour", "depth": depth, "area": ring} for depth in depths]
    pond = {"kind": "pond", "id": "P", "area": [[5, 5], [90, 5], [90, 70], [5, 70]]}
    assert "has 101 depth contours; 100 are read." in fault_of(lot(feature=[pond, *contours]))


def test_a_depth_contour_of_more_corners_than_are_planned_with() -> None:
    turns = [2 * math.pi * k / 1100 for k in range(1100)]
    # teeth of 3 ft, which no fewer corners can draw
    reach = [25 - 3 * (k % 2) for k in range(1100)]
    ring = [
        [45 + far * math.cos(turn), 35 + far * math.sin(turn)]
        for far, turn in zip(reach, turns, strict=True)
    ]
    pond = {"kind": "pond", "id": "P", "area": [[5, 5], [90, 5], [90, 70], [5, 70]]}
    contour = {"kind": "depth contour", "depth": "5 ft", "area": ring}
    assert "corners; 1,000 are planned with" in fault_of(lot(feature=[pond, contour]))
