"""Who works on the parts of a county: child processes of this machine."""

from __future__ import annotations

import gc
import multiprocessing
import signal
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from siteplan.screening import compiled
from siteplan.screening.part import Task
from siteplan.screening.run import Part, work_on


@dataclass(frozen=True, slots=True)
class Children:
    """So many child processes, one part each at a time; one that is lost is replaced."""

    count: int = 1

    def work(self, task: Task, parts: list[Part], folder: Path) -> Iterator[tuple[Part, bool]]:
        """Each part as it ends, and whether its rows were written."""
        waiting, busy = list(reversed(parts)), dict[Connection, tuple[BaseProcess, Part | None]]()
        try:
            while waiting or busy:
                while waiting and len(busy) < self.count:
                    pipe, child = _child(task, folder)
                    busy[pipe] = (child, waiting.pop())
                    pipe.send(busy[pipe][1])
                for pipe in [each for each in busy if each in wait(list(busy))]:
                    child, part = busy.pop(pipe)
                    assert part is not None
                    error = _said(pipe)
                    if isinstance(error, BaseException):
                        raise error
                    yield part, error is None
                    if error is None and waiting:
                        busy[pipe] = (child, waiting.pop())
                        pipe.send(busy[pipe][1])
                    else:
                        _end(child, pipe)
        finally:
            for pipe, (child, _) in busy.items():
                _end(child, pipe)


LOST = "lost"


def _said(pipe: Connection) -> BaseException | str | None:
    """What a child says of its part: nothing where it is written, an error, or that it is lost."""
    try:
        error: BaseException | None = pipe.recv()
    except (EOFError, ConnectionError):
        return LOST
    return error


def _child(task: Task, folder: Path) -> tuple[Connection, BaseProcess]:
    # forked where that can be: what is loaded need not be loaded again
    methods = multiprocessing.get_all_start_methods()
    context: Any = multiprocessing.get_context("fork" if "fork" in methods else "spawn")
    here, there = context.Pipe()
    child = context.Process(
        target=_serve, args=(there, here, task, folder, compiled.loaded()), daemon=True
    )
    child.start()
    there.close()
    return here, child


def _serve(pipe: Connection, other: Connection, task: Task, folder: Path, quick: bool) -> None:
    other.close()
    # Ctrl-C reaches all processes of a terminal: whoever started this one ends it
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # what is loaded lives as long as the process: it is not gone through again and again
    gc.freeze()
    while True:
        try:
            part = pipe.recv()
        except EOFError:
            return
        try:
            work_on(task, part, folder, quick=quick)
        except Exception as error:
            pipe.send(error)
        else:
            pipe.send(None)


def _end(child: BaseProcess, pipe: Connection) -> None:
    pipe.close()
    child.kill()
    child.join()
