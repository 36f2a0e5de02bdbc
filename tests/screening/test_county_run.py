"""A county part by part: the same bytes whoever works, whatever is lost, wherever it stopped."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import county_lots
import numpy as np
import pytest

from siteplan.screening import run
from siteplan.screening.asked import Asked
from siteplan.screening.crews import Children
from siteplan.screening.outputs import write_county
from siteplan.screening.part import Rows, Task
from siteplan.screening.run import County, Part, digest_of
from siteplan.screening.scan import Integers
from siteplan.screening.sources import hilbert, sources_of
from siteplan.screening.terms import terms_of

LOTS = 40


@pytest.fixture(scope="module")
def task(tmp_path_factory: pytest.TempPathFactory) -> Task:
    folder = tmp_path_factory.mktemp("county")
    parcels = county_lots.write_lots(folder / "parcels.gpkg", county_lots.lots(LOTS))
    sources = sources_of(parcels, {})
    asked = Asked({"exchanger": {"capacity": "3 ton"}})
    kinds = ("building", "potable well", "drainfield", "other keep-out")
    return Task(sources, asked, terms_of(asked, kinds))


def written(task: Task, folder: Path, workers: int = 1) -> tuple[bytes, bytes]:
    """GeoPackage and CSV of a run in parts of eight lots."""
    county = County(task, folder / "parts", part=8)
    path = folder / "county.gpkg"
    write_county(county.screened(Children(workers)), path, task.sources.lots.crs, "")
    return path.read_bytes(), path.with_suffix(".csv").read_bytes()


@pytest.fixture(scope="module")
def plain(task: Task, tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes]:
    return written(task, tmp_path_factory.mktemp("plain"))


def test_two_workers_leave_the_same_bytes_as_one(
    task: Task, plain: tuple[bytes, bytes], tmp_path: Path
) -> None:
    assert written(task, tmp_path, workers=2) == plain


def test_a_worker_killed_in_the_middle_loses_nothing(
    task: Task, plain: tuple[bytes, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    once, screened = tmp_path / "killed", run.screened

    def killed_once(task: Task, fids: Integers, anchor: tuple[float, float]) -> Rows:
        if 20 in fids and not once.exists():
            once.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return screened(task, fids, anchor)

    monkeypatch.setattr(run, "screened", killed_once)
    assert written(task, tmp_path, workers=2) == plain
    assert once.exists()


def test_a_lot_that_kills_its_worker_is_a_row_with_its_reason(
    task: Task, plain: tuple[bytes, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    screened = run.screened

    def kills(task: Task, fids: Integers, anchor: tuple[float, float]) -> Rows:
        if 20 in fids:
            os.kill(os.getpid(), signal.SIGKILL)
        return screened(task, fids, anchor)

    monkeypatch.setattr(run, "screened", kills)
    before, after = plain[1].decode().splitlines(), written(task, tmp_path)[1].decode().splitlines()
    changed = [new for old, new in zip(before, after, strict=True) if old != new]
    assert len(changed) == 1
    assert "killed the process" in changed[0]
    assert changed[0].split(",")[1] == "20"


def test_a_run_goes_on_from_its_finished_parts(
    task: Task, plain: tuple[bytes, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    county = County(task, tmp_path / "parts", part=8)
    rows = list(county.screened(Children()))
    assert len(rows) == LOTS / 8
    finished = sorted(county.folder.glob("*.part"))
    finished[2].unlink()
    looked_at: list[Part] = []

    class Watched(Children):
        def work(self, task, parts, folder):  # type: ignore[no-untyped-def]
            looked_at.extend(parts)
            return super().work(task, parts, folder)

    again = County(task, tmp_path / "parts", part=8)
    path = tmp_path / "county.gpkg"
    write_county(again.screened(Watched()), path, task.sources.lots.crs, "")
    assert (path.read_bytes(), path.with_suffix(".csv").read_bytes()) == plain
    assert [part.name for part in looked_at] == [finished[2].name]
    monkeypatch.undo()


def test_the_name_of_a_run_changes_with_what_is_asked(task: Task) -> None:
    asked = Asked({"exchanger": {"capacity": "4 ton"}})
    other = Task(task.sources, asked, terms_of(asked, ("building",)))
    assert digest_of(task) == digest_of(task)
    assert digest_of(other) != digest_of(task)


def test_neighbours_on_the_curve_are_neighbours_on_the_ground() -> None:
    # of a full square of 2^k by 2^k cells each step of the curve goes to the next cell: that is
    # what makes it Hilbert's
    side = np.arange(16.0)
    cells = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    steps = np.abs(np.diff(cells[hilbert(cells).argsort()], axis=0)).sum(axis=1)
    assert (steps == 1).all()
