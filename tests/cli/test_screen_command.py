"""``siteplan screen``: one command from a parcel file to rows, a summary and a map."""

from __future__ import annotations

import csv
import functools
from pathlib import Path

import county_lots
import numpy as np
import pyogrio
import pytest
import shapely
from PIL import Image
from shapely import GeometryCollection, LineString, MultiPolygon, Point, Polygon, affinity, box

from siteplan.cli import main
from siteplan.screening.cluster import Cluster

NEED = ("--need", "3 ton", "--quiet")


def screened(folder: Path, *options: str, code: int = 0) -> list[dict[str, str]]:
    out = folder / "county.gpkg"
    parcels = str(folder / "parcels.gpkg")
    assert main(["screen", parcels, "--out", str(out), *NEED, *options]) == code
    with out.with_suffix(".csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def moved(shape: Polygon, steps: int) -> Polygon:
    east, north = county_lots.CORNER
    return affinity.translate(shape, east + 200 * steps, north)


def test_one_command_leaves_rows_summary_and_map(tmp_path: Path) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(12))
    rows = screened(tmp_path, "--map", str(tmp_path / "map.png"))
    assert len(rows) == 12
    assert {row["bores"] for row in rows} <= {"fits", "does not fit", "undecided"}
    assert all("Owner" not in value for row in rows for value in row.values())
    again = county_lots.rows_of(tmp_path / "county.gpkg")
    assert [row["lot"] for row in again] == [row["lot"] for row in rows]
    assert [row["where"] for row in rows] == [f"LOC_ID = {row['lot']}" for row in rows]
    with Image.open(tmp_path / "map.png") as picture:
        assert picture.size == (1650, 1275)
    with (tmp_path / "county-summary.csv").open(encoding="utf-8") as file:
        told = list(csv.DictReader(file))
    counted = [int(row["lots"]) for row in told if row["what"] == "verdict"]
    assert sum(counted) == 2 * 12  # each lot once for bores, once for trenches


def test_owners_are_handed_on_only_where_asked(tmp_path: Path) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(3))
    rows = screened(tmp_path, "--columns", "OWNER")
    assert sorted(row["OWNER"] for row in rows) == ["Owner 0", "Owner 1", "Owner 2"]


def test_bad_rows_say_why_and_the_rest_is_screened(tmp_path: Path) -> None:
    good = box(0, 0, 50, 60)
    circle = Point(0, 0).buffer(60.0, quad_segs=15_000)
    shapes = [
        moved(good, 0),
        None,
        LineString([county_lots.CORNER, (county_lots.CORNER[0] + 9, county_lots.CORNER[1])]),
        moved(Polygon([(0, 0), (50, 60), (50, 0), (0, 60)]), 1),
        moved(box(0, 0, 80, 0.5), 2),
        MultiPolygon([moved(good, 3), moved(box(60, 0, 62, 2), 3)]),
        moved(good, 4), moved(good, 4), moved(good, 4),
        moved(circle, 6),
        Point(county_lots.CORNER),
    ]  # fmt: skip
    county_lots.write_lots(tmp_path / "parcels.gpkg", shapes)
    rows = {row["lot"]: row for row in screened(tmp_path, code=1)}
    why = {lot: row["why_not"] for lot, row in rows.items() if row["why_not"]}
    assert why == {
        "A-001": "has no outline", "A-002": "is a point or a line, no area",
        "A-003": "has an outline that crosses itself", "A-004": "is a sliver, no lot",
        "A-009": "has more than 50,000 corners: leave out some",
        "A-010": "is a point or a line, no area",
    }  # fmt: skip
    assert rows["A-005"]["mended"] == "the largest of 2 parts"
    # a condominium of three units is one lot
    assert (rows["A-006"]["units"], "A-007" in rows, "A-008" in rows) == ("3", False, False)
    assert rows["A-000"]["bores"] == "fits"
    assert sum(int(row["units"]) for row in rows.values()) == len(shapes)


def test_an_outline_that_no_map_can_draw_is_a_row_with_its_reason(tmp_path: Path) -> None:
    good = moved(box(0, 0, 50, 60), 0)
    with np.errstate(invalid="ignore"):
        torn = Polygon([*good.exterior.coords[:2], (float("nan"), 5.0), good.exterior.coords[3]])
    mixed = GeometryCollection([moved(box(0, 0, 50, 60), 1), Point(county_lots.CORNER)])
    flat = Polygon([(x, y) for x, y in (*[county_lots.CORNER] * 2, county_lots.CORNER)])
    county_lots.write_lots(tmp_path / "parcels.gpkg", [good, torn, mixed, flat])
    rows = screened(tmp_path, "--map", str(tmp_path / "map.pdf"), code=1)
    why = {row["lot"]: row["why_not"] for row in rows}
    assert why["A-001"] == "has a corner that is no place"
    assert (why["A-000"], why["A-002"]) == ("", "")
    assert why["A-003"]
    _, _, shapes, (numbers,) = pyogrio.raw.read(tmp_path / "county.gpkg", columns=["lot"])
    drawn = dict(zip(numbers, shapely.from_wkb(shapes), strict=True))
    assert drawn["A-001"] is None
    assert drawn["A-002"].geom_type == "MultiPolygon"


def test_lots_that_lie_nowhere_on_earth_say_so(tmp_path: Path) -> None:
    # metres of a state plane, said to be degrees
    shapes = [moved(box(0, 0, 50, 60), 0), None]
    county_lots.write_lots(tmp_path / "parcels.gpkg", shapes, crs="EPSG:4326")
    rows = screened(tmp_path, code=1)
    assert "nowhere on earth" in rows[0]["why_not"]
    assert rows[1]["why_not"] == "has no outline"


def test_land_of_others_within_a_lot_is_kept_out_of(tmp_path: Path) -> None:
    holed = box(0, 0, 60, 80).difference(box(40, 50, 58, 78))
    solid = box(0, 0, 60, 80)
    county_lots.write_lots(tmp_path / "parcels.gpkg", [moved(holed, 0), moved(solid, 1)])
    ring, whole = screened(tmp_path, "--assume", "house")
    assert int(ring["bores_least"]) < int(whole["bores_least"])
    taken = float(whole["bores_usable_m2"]) - float(ring["bores_usable_m2"])
    assert taken >= 18 * 25  # the hole itself, but for what the line keeps open anyway


def test_a_well_of_a_neighbour_counts_across_the_line(tmp_path: Path) -> None:
    lots = [moved(box(0, 0, 40, 60), 0), affinity.translate(moved(box(0, 0, 40, 60), 0), 40, 0)]
    county_lots.write_lots(tmp_path / "parcels.gpkg", lots)
    well = affinity.translate(Point(45, 30), *county_lots.CORNER)
    county_lots.write_things(tmp_path / "wells.gpkg", "wells", [well], "Point")
    without = {row["lot"]: row for row in screened(tmp_path, "--assume", "house")}
    told = ("--wells", str(tmp_path / "wells.gpkg"), "--assume", "house", "--force")
    with_well = {row["lot"]: row for row in screened(tmp_path, *told)}
    for lot in ("A-000", "A-001"):
        assert int(with_well[lot]["bores_least"]) < int(without[lot]["bores_least"])
    # 50 ft from the well, 3 in of bore, 6 in for staking (common practice as the books ship it):
    # a disc of 15.47 m, cut by the line 5 m from its middle, and by the ground already kept off
    # the line: no more than the half disc and the strip beside it
    lost = float(without["A-001"]["bores_usable_m2"]) - float(with_well["A-001"]["bores_usable_m2"])
    assert 0 < lost < np.pi * 15.5**2


def test_a_house_of_a_file_is_the_lots_own(tmp_path: Path) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", [moved(box(0, 0, 50, 60), 0)])
    house = moved(box(10, 10, 22, 20), 0)
    county_lots.write_things(tmp_path / "houses.gpkg", "houses", [house], "Polygon")
    (row,) = screened(tmp_path, "--buildings", str(tmp_path / "houses.gpkg"))
    assert row["assumed"] == "septic field; well"
    assert row["confidence"] == "medium"


def test_undecided_lots_are_planned_where_asked(tmp_path: Path) -> None:
    # 3 tons take 274 m of trench; rows before and beside the house hold less, the bound more
    county_lots.write_lots(tmp_path / "parcels.gpkg", [moved(box(0, 0, 30, 51), 0)])
    (left,) = screened(tmp_path, "--assume", "house")
    told = ("--assume", "house", "--undecided", "plan", "--force")
    (settled,) = screened(tmp_path, *told)
    assert left["trench"] == "undecided"
    assert settled["trench"] in ("fits", "does not fit")
    assert settled["trench_why"].startswith("planned: ")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--books", "no-such-book"), "--books: 'no-such-book'"),
        (("--columns", "NAME"), "is none"),
        (("--number", "APN"), "has no column"),
        (("--wells", "nowhere.gpkg"), "is not there"),
        (("--spacing", "far"), "--spacing: 'far'"),
        (("--map", "nowhere/map.png"), "nowhere: is no folder"),
        (("--map", "map.jpg"), "--map: 'map.jpg' is neither PNG nor PDF"),
        (("--cluster", "tcp://127.0.0.1:1"), "--cluster: "),
        (("--wells", "wells.parquet"), "is not there"),
    ],
)
def test_a_wrong_question_writes_nothing(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    options: tuple[str, str],
    said: str,
) -> None:
    impatient = functools.partial(Cluster, patience_s=1)
    monkeypatch.setattr("siteplan.screening.cluster.Cluster", impatient)
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2))
    out = str(tmp_path / "county.gpkg")
    code = main(["screen", str(tmp_path / "parcels.gpkg"), "--out", out, *NEED, *options])
    assert code == 2
    assert said in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["parcels.gpkg"]


def test_a_spacing_that_no_one_uses_is_questioned_as_in_a_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2))
    command = ["screen", str(tmp_path / "parcels.gpkg"), "--need", "3 ton", "--force"]
    said = {}
    for spacing in ("2 ft", "20 ft", "25 ft", "120 ft"):
        out = str(tmp_path / "county.gpkg")
        assert main([*command, "--out", out, "--spacing", spacing]) == 0
        lines = capsys.readouterr().out.splitlines()
        said[spacing] = [line for line in lines if line.startswith("warning")]
    # 20 and 25 ft are common between bores: common practice, no source
    assert [said["20 ft"], said["25 ft"], len(said["2 ft"]), len(said["120 ft"])] == [[], [], 1, 1]
    assert "spacing of 120.0 ft is more than 50.0 ft" in said["120 ft"][0]
    assert "spacing of 2.0 ft is less than 10.0 ft" in said["2 ft"][0]


def test_a_fault_of_the_shared_tables_is_told_where_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2))
    loads = tmp_path / "loads.toml"
    loads.write_text('[exchanger]\ncapacity = "3 ton"\n[vertical]\nspacing = "far"\n')
    files = [str(tmp_path / "parcels.gpkg"), "--out", str(tmp_path / "county.gpkg")]
    assert main(["screen", *files, "--need", "3 tonnes"]) == 2
    assert "--need: '3 tonnes'" in capsys.readouterr().err
    assert main(["screen", *files, "--loads", str(loads)]) == 2
    assert f"{loads}, [vertical], spacing: 'far'" in " ".join(capsys.readouterr().err.split())


def test_what_is_there_is_not_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2))
    screened(tmp_path)
    before = (tmp_path / "county.csv").read_bytes()
    out = str(tmp_path / "county.gpkg")
    assert main(["screen", str(tmp_path / "parcels.gpkg"), "--out", out, *NEED]) == 2
    assert "--force" in capsys.readouterr().err
    assert (tmp_path / "county.csv").read_bytes() == before


def test_a_run_that_is_stopped_leaves_what_was_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2))
    screened(tmp_path)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("siteplan.screening.outputs._append", stopped)
    out = str(tmp_path / "county.gpkg")
    assert main(["screen", str(tmp_path / "parcels.gpkg"), "--out", out, *NEED, "--force"]) == 130
    assert "nothing was written" in capsys.readouterr().err
    after = {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    assert after == before


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_file_without_a_coordinate_system_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(2), crs=None)
    out = str(tmp_path / "county.gpkg")
    told = ["screen", str(tmp_path / "parcels.gpkg"), "--out", out, *NEED]
    assert main(told) == 2
    assert "--crs" in capsys.readouterr().err
    assert main([*told, "--crs", county_lots.CRS]) == 0


@pytest.mark.thorough
def test_a_rule_book_that_asks_for_more_leaves_less(tmp_path: Path) -> None:
    county_lots.write_lots(tmp_path / "parcels.gpkg", [moved(box(0, 0, 50, 60), 0)])
    (tmp_path / "loads.toml").write_text(
        '[exchanger]\ncapacity = "3 ton"\n[[rules.own]]\nfrom = "property line"\n'
        'for = ["bore"]\ndistance = "30 ft"\nsource = "a town"\n'
    )
    (usual,) = screened(tmp_path, "--assume", "house")
    out, parcels = str(tmp_path / "town.gpkg"), str(tmp_path / "parcels.gpkg")
    told = ["--loads", str(tmp_path / "loads.toml"), "--assume", "house", "--quiet"]
    assert main(["screen", parcels, "--out", out, *told]) == 0
    (town,) = county_lots.rows_of(Path(out))
    # the whole lot less 30 ft, 3 in and 6 in all round, on which the house stands: by hand
    # (50 - 2 x 9.3726) x (60 - 2 x 9.3726) = 1289.4 m2, less the house with what is kept from it
    grown = shapely.box(0, 0, 12, 10).buffer(3.2766, quad_segs=64).area
    # surely open is 5 cm less along all edges, 210 m of them, and measured along rows: that is off
    # by a hundredth of the lot of 3,000 m2 at the most
    less = 1289.4 - grown - 0.05 * 210
    assert town["bores_usable_m2"] == pytest.approx(less, abs=0.01 * 3000)
    assert town["bores_least"] < int(usual["bores_least"])
