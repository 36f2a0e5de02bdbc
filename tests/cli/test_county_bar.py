"""How far a county is told to be: lots a second, the time left, and where a stopped run goes on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import county_lots
import pytest

from siteplan.cli import main
from siteplan.cli.county_bar import Pace
from siteplan.screening import run
from siteplan.screening.crews import Children
from siteplan.screening.part import Task
from siteplan.screening.run import Part


def paced(*told: tuple[float, int], whole: int, width: int = 200) -> str:
    """What is said last, of moments [s] and lots done."""
    clock = iter([moment for moment, _ in told])
    pace = Pace(lambda: next(clock))
    return [pace.words("screening", done, whole, width) for _, done in told][-1]


def test_lots_of_an_earlier_run_do_not_make_this_one_quick() -> None:
    # 40,000 are there already; 1,000 more take 2 s, so 9,000 that are left 18 s
    assert paced((0, 40_000), (2, 41_000), whole=50_000) == (
        "screening 41,000 of 50,000 lots, 500 lots/s, 18 s left"
    )


def test_the_pace_is_that_of_late() -> None:
    # 100 lots/s for a minute, then 10: after another minute the time left is that of the slow ones
    slow = [(60 + k, 6000 + 10 * k) for k in range(61)]
    assert "10 lots/s, 5 min 40 s left" in paced((0, 0), *slow, whole=10_000)


@pytest.mark.parametrize("width", [120, 60, 40, 20])
def test_a_narrow_terminal_has_one_line_of_what_matters_most(width: int) -> None:
    line = paced((0, 0), (3600, 120_000), whole=2_000_000, width=width)
    assert len(line) <= width
    assert line.startswith("screening 120,000"[:width])
    assert ("15 h 40 min left" in line) == (width >= 60)


def test_a_run_that_is_stopped_says_from_where_it_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(12))
    monkeypatch.setattr(run, "PART", 4)
    work = Children.work

    def stopped(
        self: Children, task: Task, parts: list[Part], folder: Path
    ) -> Iterator[tuple[Part, bool]]:
        ended = work(self, task, parts, folder)
        yield next(ended)
        raise KeyboardInterrupt

    asked = ["screen", str(parcels), "--need", "3 ton", "--out", str(tmp_path / "county.gpkg")]
    asked += ["--map", str(tmp_path / "map.png")]
    with monkeypatch.context() as patched:
        patched.setattr(Children, "work", stopped)
        assert main(asked) == 130
    told = capsys.readouterr().err
    assert told == (
        "siteplan: stopped; nothing was written; the same command goes on from 4 of 12 lots.\n"
    )
    left = {path.name for path in tmp_path.iterdir() if not path.name.startswith(".")}
    assert left == {"parcels.gpkg"}
    assert main(asked) == 0
    went_on = [(tmp_path / name).read_bytes() for name in ("county.gpkg", "county.csv", "map.png")]
    assert main([*asked, "--force"]) == 0
    whole = [(tmp_path / name).read_bytes() for name in ("county.gpkg", "county.csv", "map.png")]
    assert went_on == whole


def test_a_map_that_is_stopped_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(4))
    asked = ["screen", str(parcels), "--need", "3 ton", "--out", str(tmp_path / "county.gpkg")]
    asked += ["--map", str(tmp_path / "map.png"), "--quiet"]

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("siteplan.export.county_map.numbers_of", stopped)
        assert main(asked) == 130
    left = {path.name for path in tmp_path.iterdir() if path.is_file()}
    assert left == {"parcels.gpkg"}
    # and what stands there does not hinder the same command
    assert main(asked) == 0
