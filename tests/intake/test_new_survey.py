"""``siteplan inspect`` and ``siteplan new`` of a surveyor's drawing."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from ezdxf.filemanagement import new as new_document

from siteplan.cli import main
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import FOOT

X, Y = 612_345.0, 2_934_567.0
LOT = [(X, Y), (X + 200, Y), (X + 200, Y + 250), (X, Y + 250)]
NEXT = [(x + 200, y) for x, y in LOT]
HOUSE = [(X + 60, Y + 60), (X + 110, Y + 60), (X + 110, Y + 95), (X + 60, Y + 95)]


def survey(folder: Path, units: int = 2) -> Path:
    """Two lots in feet, a house, a well with its number, and trees."""
    document = new_document(units=units)
    space = document.modelspace()
    for ring, layer in ((LOT, "PROP-LINE"), (NEXT, "PROP-LINE"), (HOUSE, "HOUSE")):
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
    document.blocks.new("SYMBOL").add_circle((0, 0), 1)
    well = space.add_blockref("SYMBOL", (X + 150, Y + 150), {"layer": "WELL"})
    well.add_attrib("ID", "W-7", (X + 150, Y + 150))
    space.add_circle((X + 20, Y + 20), 8, {"layer": "CANOPY-OUTLINES"})
    document.layers.add("OLD").freeze()
    space.add_point((X, Y), {"layer": "OLD"})
    document.saveas(folder / "survey.dxf")
    return folder / "survey.dxf"


def new(folder: Path, *more: str) -> int:
    return main(["new", str(folder / "lot"), "--parcel", str(folder / "survey.dxf"), *more])


AT = ["--layer", "PROP-LINE", "--at", f"{X + 100},{Y + 100}"]


@pytest.mark.thorough
def test_a_drawing_becomes_a_folder_that_fits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    survey(tmp_path)
    assert new(tmp_path, *AT) == 0
    said = capsys.readouterr().out
    assert "lot: 50,000 sq ft = 1.148 ac, layer 'PROP-LINE' of survey.dxf" in said
    assert "layer OLD is frozen: 1 left out" in said
    assert "layer 'HOUSE': building, by its name" in said
    assert "layers not taken: CANOPY-OUTLINES" in said
    site = read_site(tmp_path / "lot", quick=True)
    assert site.parcel.bounds == pytest.approx((0, 0, 200 * FOOT, 250 * FOOT))
    assert {each.kind for each in site.features} == {"building", "potable well"}
    assert main(["fit", str(tmp_path / "lot"), "--quiet"]) == 0
    # what is behind a mark is a table once the mark is off
    text = (tmp_path / "lot" / "site.toml").read_text(encoding="utf-8")
    marked = re.search(r'# \[\[geometry.layer\]\]\n# .*\n# layer = "CANOPY.*\n# .*\n', text)
    assert marked is not None
    assert tomllib.loads(marked[0].replace("# ", ""))["geometry"]["layer"][0]["kind"] == "FILL IN"


def test_the_drawing_is_copied_once_and_another_is_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = survey(tmp_path)
    assert main(["new", str(tmp_path), "--parcel", str(path), *AT]) == 0
    (tmp_path / "lot").mkdir()
    (tmp_path / "lot" / "survey.dxf").write_text("another")
    assert new(tmp_path, *AT) == 2
    assert "holds another survey.dxf already" in capsys.readouterr().err
    assert (tmp_path / "lot" / "survey.dxf").read_text() == "another"


def test_the_unit_may_be_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    survey(tmp_path, units=0)
    assert new(tmp_path, *AT) == 2
    # 50,000 sq ft are 1.148 ac, 50,000 m2 12.355 ac
    said = capsys.readouterr().err
    assert "--file-unit ft (1.148 ac); " in said
    assert '--file-unit "survey feet" (1.148 ac); --file-unit m (12.355 ac)' in said
    assert not (tmp_path / "lot").exists()
    assert new(tmp_path, *AT, "--file-unit", "ft") == 0
    assert read_site(tmp_path / "lot", quick=True).parcel.area == pytest.approx(50_000 * FOOT**2)


def test_a_drawing_may_be_in_a_coordinate_system(tmp_path: Path) -> None:
    # Massachusetts Mainland in US survey feet; its scale is 1 within 1 in 10,000
    survey(tmp_path)
    assert new(tmp_path, *AT, "--crs", "EPSG:2249") == 0
    site = read_site(tmp_path / "lot", quick=True)
    assert site.georeference is not None
    assert site.parcel.area == pytest.approx(50_000 * FOOT**2, rel=4e-4)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--layer", "PROPLINE"], "'PROPLINE'; did you mean 'PROP-LINE'?"),
        (["--layer", "OLD"], "has layer 'OLD', but it is frozen. Thaw it"),
        (["--layer", "WELL"], "has no closed outline on layer 'WELL'"),
        (
            ["--layer", "PROP-LINE"],
            "has 2 closed outlines on layer 'PROP-LINE'. Say which, by --at",
        ),
        (["--layer", "PROP-LINE", "--at", "5,5"], "has no outline around 5,5"),
        ([*AT, "--where", "APN = 3"], "has no column 'APN'"),
        ([*AT, "--crs", "EPSG:nine"], "no such system"),
        ([*AT, "--crs", "EPSG:4326"], "its coordinates are degrees"),
        ([*AT, "--buildings", "b.gpkg"], "goes with a parcel file, not a drawing"),
    ],
)
def test_what_cannot_be_meant_is_told_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    survey(tmp_path)
    assert new(tmp_path, *options) == 2
    assert message in capsys.readouterr().err
    assert not (tmp_path / "lot").exists()


def test_the_unit_of_a_county_file_is_not_to_be_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(tmp_path / "lot")
    assert main(["new", folder, "--parcel", "a.gpkg", "--file-unit", "ft"]) == 2
    assert "--file-unit: is of a drawing (DXF) alone" in capsys.readouterr().err
    assert main(["new", folder, "--file-unit", "ft"]) == 2
    assert "--file-unit: is given without a file" in capsys.readouterr().err


def test_inspect_tells_layers_units_and_lines_to_paste(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = survey(tmp_path)
    assert main(["inspect", str(path)]) == 0
    said = capsys.readouterr().out
    assert "survey.dxf: drawn in ft, as it says" in said
    assert "layer OLD is frozen: 1 left out" in said
    assert "layer PROP-LINE: 2 rows, 2 LWPOLYLINE" in said
    assert "outlines: 2; 1.148 ac in ft" in said
    assert "such as" in said
    assert "W-7" in said
    blocks = re.findall(r"\[\[geometry\.layer\]\]\n(?:\w+ = .*\n)+", said)
    (house,) = (
        tomllib.loads(block)["geometry"]["layer"][0] for block in blocks if "HOUSE" in block
    )
    assert house == {"file": "survey.dxf", "layer": "HOUSE", "kind": "building"}


def test_inspect_of_an_unknown_unit_tells_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = survey(tmp_path, units=0)
    assert main(["inspect", str(path)]) == 0
    said = capsys.readouterr().out
    assert (
        "survey.dxf does not say its unit ($INSUNITS): areas by each unit; say --file-unit" in said
    )
    assert "1.148 ac in ft; 1.148 ac in survey feet; 12.355 ac in m; 0.008 ac in in" in said
    assert main(["inspect", str(path), "--file-unit", "ft"]) == 0
    assert 'unit = "ft"' in capsys.readouterr().out
