"""What a summary counts beside verdicts: what was mended, and rows that are one lot."""

from __future__ import annotations

import csv
from pathlib import Path

import county_lots
import numpy as np
import pyogrio
import pytest
import shapely
from shapely import MultiPolygon, affinity, box

from siteplan.cli import main
from siteplan.errors import InputError
from siteplan.screening.sources import sources_of

LOT = affinity.translate(box(0, 0, 50, 60), *county_lots.CORNER)


def screened(folder: Path, shapes: list, code: int) -> tuple[list[dict[str, str]], ...]:
    parcels = county_lots.write_lots(folder / "parcels.gpkg", shapes)
    out = folder / "county.gpkg"
    asked = ["screen", str(parcels), "--need", "3 ton", "--out", str(out), "--quiet"]
    assert main(asked) == code
    found = []
    for path in (out.with_suffix(".csv"), folder / "county-summary.csv"):
        with path.open(encoding="utf-8") as file:
            found.append(list(csv.DictReader(file)))
    return tuple(found)


def moved(steps: float) -> shapely.Polygon:
    return affinity.translate(LOT, 200 * steps)


def test_lots_that_were_mended_and_rows_that_are_one_lot_are_counted(tmp_path: Path) -> None:
    west, _, _, north = LOT.bounds
    there_and_back = [(west + 25, north), (west + 25, north + 30), (west + 25, north)]
    ring = list(LOT.exterior.coords)
    top = next(k for k in range(4) if ring[k][1] == ring[k + 1][1] == north)
    spike = shapely.Polygon([*ring[: top + 1], *there_and_back, *ring[top + 1 :]])
    assert not spike.is_valid
    shapes = [spike, moved(1), moved(1), moved(1), moved(2), moved(2)]
    shapes += [MultiPolygon([moved(3), affinity.translate(moved(3), 55)]), moved(4)]
    rows, told = screened(tmp_path, shapes, 0)
    counted = {row["which"]: int(row["lots"]) for row in told if row["what"] == "mended"}
    assert counted == {
        "the outline crossed itself: mended": 1, "the largest of several parts": 1,
        "one lot for several rows": 2,
    }  # fmt: skip
    assert sorted(int(row["units"]) for row in rows) == [1, 1, 1, 2, 3]


def test_a_lot_on_another_side_of_the_earth_is_a_row_with_its_reason(tmp_path: Path) -> None:
    # in the metres of a state plane 20,000 km east
    rows, _ = screened(tmp_path, [LOT, moved(1), moved(100_000)], 1)
    why = [row["why_not"] for row in rows]
    assert sum(map(bool, why)) == 1
    assert "another side of the earth" in "".join(why)
    assert {row["bores"] for row in rows if not row["why_not"]} == {"fits"}


@pytest.mark.parametrize(
    ("kind", "layer", "sentence"),
    [
        ("Polygon", None, "has no lots in it"), ("Point", None, "has no areas in it"),
        ("Polygon", "parcel", "has no layer 'parcel'. Its layers: lots"),
    ],
)  # fmt: skip
def test_a_file_without_lots_says_so(
    kind: str, layer: str | None, sentence: str, tmp_path: Path
) -> None:
    path = tmp_path / "parcels.gpkg"
    shapes = shapely.to_wkb(np.array([shapely.Point(0, 0)])) if kind == "Point" else []
    pyogrio.raw.write(
        path, np.array(shapes, dtype=object), [], [], layer="lots", driver="GPKG",
        geometry_type=kind, crs="EPSG:26986",
    )  # fmt: skip
    with pytest.raises(InputError) as told:
        sources_of(path, {}, layer=layer)
    assert sentence in str(told.value)


def test_a_lot_without_a_house_is_not_handed_to_a_plan(tmp_path: Path) -> None:
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", [LOT])
    out = tmp_path / "county.gpkg"
    asked = ["screen", str(parcels), "--need", "3 ton", "--out", str(out), "--quiet"]
    assert main([*asked, "--assume", "nothing", "--undecided", "plan"]) == 0
    with out.with_suffix(".csv").open(encoding="utf-8") as file:
        (row,) = csv.DictReader(file)
    assert (row["bores"], row["trench"]) == ("undecided", "undecided")
    assert row["bores_why"] == row["trench_why"] == "no house, so no wall for the pipes"


def test_a_page_of_more_lots_than_it_holds_is_refused_before_the_work_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(5))
    monkeypatch.setattr("siteplan.export.county_numbers.MOST_ON_PAGE", 4)
    asked = ["screen", str(parcels), "--need", "3 ton", "--out", str(tmp_path / "county.gpkg")]
    assert main([*asked, "--map", str(tmp_path / "map.pdf")]) == 2
    assert "is a PDF of 5 lots, and one holds 4 at most" in capsys.readouterr().err
    assert {path.name for path in tmp_path.iterdir()} == {"parcels.gpkg"}
    assert main([*asked, "--map", str(tmp_path / "map.png"), "--quiet"]) == 0
