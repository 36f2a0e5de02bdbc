"""Who works on the parts of a county: a Dask cluster; dask alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from siteplan.errors import Fault, InputError
from siteplan.screening import compiled
from siteplan.screening.part import Task
from siteplan.screening.run import Part, work_on


@dataclass(frozen=True, slots=True)
class Cluster:
    """A running cluster, which sees the files of the run under the same paths as this machine.

    A part whose worker is lost is given to others a few times before it is halved.
    ``patience_s``: how long the cluster may take to answer [s].
    """

    address: str
    patience_s: int = 20

    def work(self, task: Task, parts: list[Part], folder: Path) -> Iterator[tuple[Part, bool]]:
        """Each part as it ends, and whether its rows were written.

        Raises
        ------
        InputError
            Dask is not installed, or no cluster answers there.
        """
        distributed = _distributed()
        try:
            client = distributed.Client(self.address, timeout=self.patience_s)
        except (OSError, ValueError) as error:
            mend = "Start it first: dask scheduler, dask worker ADDRESS."
            what = f"{self.address!r} is no cluster that answers ({error})."
            raise InputError([Fault("--cluster", what, mend)]) from None
        with client:
            handed = client.scatter(
                replace(task, sources=task.sources.resolved()), broadcast=True, hash=False
            )
            where = folder.resolve()
            waiting = {
                client.submit(
                    work_on, handed, part, where, quick=compiled.loaded(), pure=False
                ): part
                for part in parts
            }
            for future in distributed.as_completed(list(waiting)):
                failed = future.exception()
                lost = isinstance(failed, distributed.scheduler.KilledWorker)
                if failed is not None and not lost:
                    raise failed
                yield waiting.pop(future), not lost


def _distributed() -> Any:
    """The library, where it is installed."""
    try:
        import distributed  # noqa: PLC0415
        import distributed.scheduler  # noqa: PLC0415
    except ImportError:
        mend = "Install it: pip install 'siteplan[county]'; or say --workers N on this machine."
        raise InputError([Fault("--cluster", "needs Dask.", mend)]) from None
    return distributed
