"""``siteplan sample``: samples without the repository."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.cli.sample import samples

ROOT = Path(__file__).parents[2]
Capture = pytest.CaptureFixture[str]


def test_without_a_name_every_sample_is_listed(capsys: Capture) -> None:
    assert main(["sample"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[0] for line in lines] == sorted(
        path.name for path in (ROOT / "samples").iterdir() if path.is_dir()
    )
    assert all(line.partition(": ")[2].startswith("An invented") for line in lines)


def test_a_sample_is_copied_whole_and_the_next_command_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["sample", "rural-acre"]) == 0
    assert "siteplan plan rural-acre" in capsys.readouterr().out
    source = ROOT / "samples" / "rural-acre"
    copied = sorted(path.relative_to(tmp_path / "rural-acre") for path in tmp_path.rglob("*/**/*"))
    assert copied == sorted(path.relative_to(source) for path in source.rglob("*"))
    assert main(["fit", "rural-acre", "--quiet"]) == 0


@pytest.mark.parametrize("there", ["file", "folder"])
def test_what_is_in_its_place_is_left_alone(tmp_path: Path, there: str, capsys: Capture) -> None:
    place = tmp_path / "lot"
    if there == "file":
        place.write_text("mine", encoding="utf-8")
    else:
        place.mkdir()
    assert main(["sample", "tight-lot", str(place)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert list(tmp_path.rglob("*")) == [place]


def test_a_name_that_no_sample_has_tells_the_names(tmp_path: Path, capsys: Capture) -> None:
    assert main(["sample", "rural", str(tmp_path / "lot")]) == 2
    told = capsys.readouterr().err
    assert "rural: is no sample" in told
    assert all(path.name in told for path in samples())


def test_the_wheel_carries_the_samples(tmp_path: Path) -> None:
    build = pytest.importorskip("hatchling.build")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        wheel = build.build_wheel(str(tmp_path))
    names = set(zipfile.ZipFile(tmp_path / wheel).namelist())
    assert {f"siteplan/samples/{path.name}/site.toml" for path in samples()} <= names
    assert "siteplan/vocabulary/kinds.toml" in names
    assert "siteplan/py.typed" in names
