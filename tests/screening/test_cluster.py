"""A county on a Dask cluster of two processes, one of them killed: the bytes of one process."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import county_lots
import pytest

from siteplan.errors import InputError
from siteplan.screening.asked import Asked
from siteplan.screening.cluster import Cluster
from siteplan.screening.crews import Children
from siteplan.screening.outputs import write_county
from siteplan.screening.part import Task
from siteplan.screening.run import County, Crew
from siteplan.screening.sources import sources_of
from siteplan.screening.terms import ALWAYS, terms_of


@pytest.fixture
def task(tmp_path: Path) -> Task:
    parcels = county_lots.write_lots(tmp_path / "parcels.gpkg", county_lots.lots(40))
    asked = Asked({"exchanger": {"capacity": "3 ton"}})
    return Task(sources_of(parcels, {}), asked, terms_of(asked, ALWAYS))


def written(task: Task, folder: Path, crew: Crew, told: object = None) -> bytes:
    folder.mkdir()
    county, path = County(task, folder / "parts", part=4), folder / "county.gpkg"
    progress = told if callable(told) else lambda _done, _all: None
    write_county(county.screened(crew, progress), path, task.sources.lots.crs, "")
    return path.read_bytes()


@pytest.mark.filterwarnings("ignore")
def test_a_worker_of_a_cluster_killed_in_the_middle_loses_nothing(
    task: Task, tmp_path: Path
) -> None:
    distributed = pytest.importorskip("distributed", reason="Dask is not installed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1",
            dashboard_address=None, local_directory=str(tmp_path / "dask"),
        ) as cluster,
        distributed.Client(cluster) as client,
    ):  # fmt: skip
        pids = sorted(client.run(os.getpid).values())
        killed: list[int] = []

        def kill_one(done: int, _all: int) -> None:
            if done and not killed:
                killed.append(pids[0])
                os.kill(pids[0], signal.SIGKILL)

        crew = Cluster(cluster.scheduler_address)
        on_cluster = written(task, tmp_path / "cluster", crew, kill_one)
    assert killed
    assert on_cluster == written(task, tmp_path / "alone", Children())


def test_a_cluster_without_the_library_or_an_answer_is_told(task: Task, tmp_path: Path) -> None:
    # nobody listens on port 1 of this machine
    crew = Cluster("tcp://127.0.0.1:1", patience_s=1)
    with pytest.raises(InputError, match=r"needs Dask|is no cluster that answers"):
        list(crew.work(task, [], tmp_path))
