"""A county screened part by part, by child processes or a cluster; it goes on where stopped."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
import shapely

import siteplan
from siteplan.errors import ExportError
from siteplan.screening import compiled
from siteplan.screening.machine import WAYS_IN
from siteplan.screening.part import Rows, Task, lost, screened
from siteplan.screening.sources import lots_in_order

PART: Final = 1000
"""Lots of a part: more take more memory and are no quicker, measured."""
PLANNED_PART: Final = 100
"""Lots of a part where the undecided are planned, some seconds each: so one hears of it sooner, and
less is done again after a stop."""
KILLED: Final = "killed the process that looked at it"


@dataclass(frozen=True, slots=True)
class Part:
    """Some lots of a run, in its order: the place of the first, and their numbers in the file.

    ``anchor``: where in the file's coordinates they are measured from; halves keep it, so that a
    lot has the same figures in whatever part it is looked at.
    """

    start: int
    fids: tuple[int, ...]
    anchor: tuple[float, float]

    @property
    def name(self) -> str:
        """Name of the file of its rows."""
        return f"{self.start:09d}-{len(self.fids):06d}.part"

    def halves(self) -> tuple[Part, Part]:
        """The part in two."""
        middle = len(self.fids) // 2
        return (
            Part(self.start, self.fids[:middle], self.anchor),
            Part(self.start + middle, self.fids[middle:], self.anchor),
        )


class Crew(Protocol):
    """Whoever works on parts."""

    def work(self, task: Task, parts: list[Part], folder: Path) -> Iterator[tuple[Part, bool]]:
        """Each part as it ends, and whether its rows were written; not: its worker was lost."""


def part_size(task: Task) -> int:
    """Lots of a part of a run."""
    return PLANNED_PART if task.plan_undecided else PART


def work_on(task: Task, part: Part, folder: Path, *, quick: bool = False) -> None:
    """Screen a part and write its rows, whole or not at all; ``quick``: by compiled loops."""
    if quick:
        compiled.load()
    rows = screened(task, np.array(part.fids, dtype=np.int64), part.anchor)
    _write(rows, folder / part.name)


def _write(rows: Rows, path: Path) -> None:
    """Write the rows of a part, under its name only once they are whole."""
    binary = [each or b"" for each in shapely.to_wkb(rows.shapes).tolist()]
    texts: dict[str, Any] = {
        name: column.astype(str) if column.dtype == object else column
        for name, column in rows.columns.items()
    }
    temporary = path.with_suffix(f".{os.getpid()}")
    with temporary.open("wb") as file:
        np.savez(
            file, wkb=np.frombuffer(b"".join(binary), dtype=np.uint8),
            ends=np.cumsum([len(each) for each in binary]), names=np.array(list(texts)), **texts,
        )  # fmt: skip
        file.flush()
        os.fsync(file.fileno())
    temporary.replace(path)


def read_part(path: Path) -> Rows:
    """Rows of a finished part of this run."""
    with np.load(path, allow_pickle=False) as told:
        whole, ends = told["wkb"].tobytes(), told["ends"].tolist()
        names = [str(name) for name in told["names"]]
        columns = {name: told[name] for name in names}
    starts = [0, *ends[:-1]]
    pieces = [whole[a:b] or None for a, b in zip(starts, ends, strict=True)]
    return Rows(np.asarray(shapely.from_wkb(np.array(pieces, dtype=object))), columns)


def _files(found: dict[int, Path], start: int, count: int) -> list[Path]:
    """Files of the rows of lots that follow one another; none where some have no rows yet."""
    place, files = start, list[Path]()
    while place < start + count:
        if place not in found:
            return []
        files.append(found[place])
        place += int(found[place].stem.split("-")[1])
    return files


def _together(pieces: list[Rows]) -> Rows:
    """Rows of a part, of one piece or of several."""
    if len(pieces) == 1:
        return pieces[0]
    names = max((piece.columns for piece in pieces), key=len)
    return Rows(
        np.concatenate([piece.shapes for piece in pieces]),
        {name: np.concatenate([piece.columns[name] for piece in pieces]) for name in names},
    )


def digest_of(task: Task) -> str:
    """Name of a run: of the content of its files, of what is asked, and of this program."""
    told = hashlib.sha256()
    for path in sorted({task.sources.lots.path, *(each.path for each in task.sources.around)}):
        with open(path, "rb") as file:
            told.update(hashlib.file_digest(file, "sha256").digest())
    told.update(repr(task).encode())
    own = Path(siteplan.__file__).parent
    for file_ in sorted(own.rglob("*")):
        if file_.suffix in (".py", ".toml"):
            told.update(file_.read_bytes())
    return told.hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class County:
    """A run: what is asked, and the folder of its finished parts."""

    task: Task
    folder: Path
    part: int = PART

    def screened(
        self, crew: Crew, progress: Callable[[int, int], None] = lambda _done, _all: None
    ) -> Iterator[Rows]:
        """Rows of all parts in the order of the curve; finished ones are taken as they are.

        ``progress`` is called with the lots done and with all, first with those of an earlier run.
        """
        yield from self.rows(self.finish(crew, progress))

    def finish(
        self, crew: Crew, progress: Callable[[int, int], None] = lambda _done, _all: None
    ) -> int:
        """Number of all lots, when those are screened that no earlier run has screened."""
        fids, middles = lots_in_order(self.task.sources.lots)
        driving = not set(WAYS_IN).isdisjoint(self.task.sources.kinds)
        if compiled.pays(len(fids), driving=driving):
            # before the children of a run are forked
            compiled.load()
        parts = [
            Part(
                start, tuple(fids[start : start + self.part].tolist()),
                (float(middles[start, 0]), float(middles[start, 1])),
            )
            for start in range(0, len(fids), self.part)
        ]  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        found = self._found()
        open_ = [part for part in parts if not _files(found, part.start, len(part.fids))]
        done = len(fids) - sum(len(part.fids) for part in open_)
        progress(done, len(fids))
        try:
            for lots in self._finished(crew, open_):
                done += lots
                progress(done, len(fids))
        finally:
            # where no part was finished nothing is left to go on from
            with suppress(OSError):
                self.folder.rmdir()
        return len(fids)

    def rows(self, lots: int) -> Iterator[Rows]:
        """Rows of so many lots, finished before, in the order of the curve, part by part.

        Raises
        ------
        ExportError
            Rows are gone that were written.
        """
        found = self._found()
        for start in range(0, lots, self.part):
            files = _files(found, start, min(self.part, lots - start))
            if not files:
                raise ExportError(f"{self.folder} lacks rows that were there: was it touched?")
            # as one piece, also where it was halved: the bytes that are left are the same
            yield _together([read_part(path) for path in files])

    def _found(self) -> dict[int, Path]:
        """Files of rows by the place of their first lot, of several the one with most lots."""
        files = sorted(self.folder.glob("*.part"))
        return {int(path.stem.split("-")[0]): path for path in files}

    def _finished(self, crew: Crew, open_: list[Part]) -> Iterator[int]:
        """Numbers of lots as their parts come to be finished."""
        while open_:
            again: list[Part] = []
            for part, written in crew.work(self.task, open_, self.folder):
                if written:
                    yield len(part.fids)
                elif len(part.fids) == 1:
                    fids = np.array(part.fids, dtype=np.int64)
                    _write(lost(self.task, fids, KILLED), self.folder / part.name)
                    yield 1
                else:
                    again.extend(part.halves())
            found = self._found()
            open_ = [part for part in again if not _files(found, part.start, len(part.fids))]

    def forget(self) -> None:
        """Take away the finished parts."""
        shutil.rmtree(self.folder, ignore_errors=True)
