"""A lot's line of a screening handed to ``siteplan new``: the plan is the one that was promised."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import county_lots
import pytest

from siteplan.cli import main
from siteplan.site.readers.site_file import read_site

pytestmark = pytest.mark.usefixtures("coarse")


@pytest.fixture(scope="module")
def county(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("county")
    parcels = str(county_lots.write_lots(folder / "parcels.gpkg", county_lots.lots(12)))
    out = str(folder / "county.gpkg")
    (folder / "loads.toml").write_text(
        '[exchanger]\ncapacity = "3 ton"\n[vertical]\nspacing = "25 ft"\n'
        'depth = { least = "150 ft", most = "300 ft" }\n[[rules.own]]\nfrom = "building"\n'
        'for = ["bore"]\ndistance = "15 ft"\nsource = "the utility"\n'
    )
    loads = str(folder / "loads.toml")
    assert main(["screen", parcels, "--out", out, "--loads", loads, "--quiet"]) == 0
    return folder


def rows(county: Path) -> list[dict[str, str]]:
    with (county / "county.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def new(county: Path, folder: Path, where: str, *more: str) -> int:
    told = ["new", str(folder), "--screened", str(county / "county.json"), "--quiet"]
    return main([*told, "--where", where, *more])


@pytest.mark.parametrize(("loop", "verdict"), [("bores", "fits"), ("trench", "does not fit")])
def test_the_plan_keeps_what_the_screening_promised(
    county: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], loop: str, verdict: str
) -> None:
    promised = next(
        row for row in rows(county) if row[loop] == verdict and row["assumed"].startswith("house")
    )
    assert new(county, tmp_path / "lot", promised["where"]) == 0
    site = read_site(tmp_path / "lot")
    assert site.parcel.area == pytest.approx(float(promised["lot_m2"]), abs=0.1)
    assert site.project.parcel_id == promised["lot"]
    capsys.readouterr()
    main(["fit", str(tmp_path / "lot"), "--json"])
    told = json.loads(capsys.readouterr().out)
    verdicts = {name: each["fits"] for name, each in told["systems"].items()}
    for column, system in (("trench", "horizontal"), ("bores", "vertical")):
        if promised[column] != "undecided":
            assert verdicts[system] is (promised[column] == "fits")


@pytest.mark.thorough
def test_a_lot_is_carried_from_the_screening_to_its_permit_package(
    county: Path, tmp_path: Path
) -> None:
    # of the lots on which bores fit the one that holds fewest, where a promise is kept the hardest
    fitting = [row for row in rows(county) if row["bores"] == "fits"]
    promised = min(fitting, key=lambda row: (float(row["bores_least"]), row["lot"]))
    folder, package = tmp_path / "lot", tmp_path / "package"
    assert new(county, folder, promised["where"]) == 0
    assert main(["plan", str(folder), "--out", str(package), "--quiet"]) == 0
    told = json.loads((package / "summary.json").read_text(encoding="utf-8"))
    assert told["systems"]["vertical"]["fits"]
    if promised["trench"] != "undecided":
        assert told["systems"]["horizontal"]["fits"] is (promised["trench"] == "fits")
    assert {".dxf", ".pdf", ".sha256"} <= {path.suffix for path in package.iterdir()}


def test_what_was_assumed_is_said_in_the_site_file(county: Path, tmp_path: Path) -> None:
    assumed = next(row for row in rows(county) if row["assumed"].startswith("house;"))
    assert new(county, tmp_path / "lot", assumed["where"]) == 0
    text = (tmp_path / "lot" / "site.toml").read_text(encoding="utf-8")
    assert "ASSUMED, not known: house" in text
    assert 'spacing = "25 ft"' in text


@pytest.mark.parametrize(
    ("where", "more", "said"),
    [
        ("LOC_ID = A-999", (), "has no row where"),
        ("APN = 1", (), "has no column 'APN'"),
        ("LOC_ID = A-001", ("--books", "maine"), "goes without --screened"),
    ],
)
def test_a_lot_that_was_not_screened_is_refused(
    county: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    where: str, more: tuple[str, ...], said: str,
) -> None:  # fmt: skip
    assert new(county, tmp_path / "lot", where, *more) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "lot").exists()


def test_a_file_that_no_screening_left_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "other.json").write_text("{}")
    told = ["new", str(tmp_path / "lot"), "--screened", str(tmp_path / "other.json")]
    assert main([*told, "--where", "LOC_ID = A-001"]) == 2
    assert "what siteplan screen leaves" in capsys.readouterr().err
