"""Plans in child processes: one or two at work, others warm, a change ends what is out of date."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Final

from siteplan.web.stages import Job
from siteplan.web.work import PLAN, work

PRELOADED: Final = ["siteplan.web.work", "siteplan.web.warm"]
ENDED: Final = (
    "Planning ended before its time, by a fault of siteplan or for want of memory. The lot is "
    "saved. Change it and it is planned again; siteplan plan tells more."
)
LAST: Final = ("plan", "faults")
"""Stages after which nothing more is told of a lot."""
Told = Callable[[int, str, Any], None]
Child = tuple[BaseProcess, Connection]


def new_child() -> Child:
    """A child that waits for a job; the first one waits until what all need is loaded."""
    methods = multiprocessing.get_all_start_methods()
    name = "forkserver" if "forkserver" in methods else "spawn"
    context: Any = multiprocessing.get_context(name)
    if name == "forkserver":
        context.set_forkserver_preload(PRELOADED)
    here, there = context.Pipe()
    process = context.Process(target=work, args=(there,), daemon=True)
    process.start()
    there.close()
    return process, here


class Engine:
    """Plans one lot at a time, whatever was asked last.

    Where the machine has a second processor, a second child counts straight rows and lays out the
    loop types that are not drawn, beside the one that lays out what is.

    Parameters
    ----------
    told
        Called on the loop with the number of the job, the stage and what is told.
    spare
        A child that waits already.
    processors
        As many as there are; None: of this machine.
    """

    def __init__(
        self, told: Told, spare: Child | None = None, *, processors: int | None = None
    ) -> None:
        self._told = told
        self._loop = asyncio.get_running_loop()
        self._busy: Child | None = None
        self._beside: Child | None = None
        self._most = 2 if (processors or os.cpu_count() or 1) > 1 else 1
        self._spares = [spare or new_child()]
        self._waiting: list[asyncio.Future[Any]] = []
        self._has_told = False
        self.number = 0

    def plan(self, job: Job) -> int:
        """Number of the job that plans a lot; what ran before is ended.

        A child that has told its plan and is asked nothing goes on with the next lot: of the one
        before it knows all that did not change.
        """
        rested = self._busy if self._has_told and not self._waiting else None
        self.end_job(but=rested)
        self.number += 1
        job = replace(job, beside=job.staged and self._most > 1)
        self._busy = self._begun(job, rested)
        if self._busy is not rested:
            self._listen_to(self._busy, first=True)
        if job.beside:
            self._beside = self._begun(replace(job, others=True))
            self._listen_to(self._beside, first=False)
        # the next ones warm up while these work
        self._loop.call_later(0.05, self._warm)
        return self.number

    def _begun(self, job: Job, rested: Child | None = None) -> Child:
        """A child that has begun a job: one that rests or waits already, if there is one."""
        asked = (PLAN, (self.number, job))
        if rested is not None:
            with suppress(OSError):  # it died at rest: who listens to it closes its pipe
                rested[1].send(asked)
                return rested
        child = self._spares.pop(0) if self._spares else new_child()
        try:
            child[1].send(asked)
        except OSError:  # it died while it waited
            child[1].close()
            child = new_child()
            child[1].send(asked)
        return child

    def _listen_to(self, child: Child, *, first: bool) -> None:
        threading.Thread(target=self._listen, args=(child, first), daemon=True).start()

    async def ask(self, question: str, values: Any = None) -> Any:
        """What the child that holds the plan answers, once the plan is made."""
        if self._busy is None:
            return {"fault": "There is no plan yet."}
        answer: asyncio.Future[Any] = self._loop.create_future()
        self._waiting.append(answer)
        with suppress(OSError):  # a child that has died is told of by who listens to it
            self._busy[1].send((question, values))
        return await answer

    def end_job(self, but: Child | None = None) -> None:
        """End what is at work, but for a child that goes on."""
        for child in (self._busy, self._beside):
            if child is not None and child is not but:
                _kill(child[0])
        self._busy, self._beside, self._has_told = but, None, False
        for answer in self._waiting:
            if not answer.done():
                answer.set_result({"fault": "The lot was changed meanwhile: ask again."})
        self._waiting.clear()

    def close(self) -> None:
        """End every child."""
        self.end_job()
        for process, pipe in self._spares:
            _kill(process)
            pipe.close()
        self._spares.clear()
        self._loop = None  # type: ignore[assignment]

    def _warm(self) -> None:
        while self._loop is not None and len(self._spares) < self._most:
            self._spares.append(new_child())

    def _listen(self, child: Child, first: bool) -> None:
        """Hand what the child says to the loop, in a thread of its own."""
        with suppress(EOFError, OSError, RuntimeError, AttributeError, TypeError):
            while True:
                self._loop.call_soon_threadsafe(self._hear, *child[1].recv())
        # only who reads from it closes it: its number goes to the next pipe at once
        child[1].close()
        if first:  # the one beside ends when it has told all
            with suppress(RuntimeError, AttributeError):
                self._loop.call_soon_threadsafe(self._ended, child)

    def _ended(self, child: Child) -> None:
        """Say so where a child ended that nobody ended: nobody must wait for it."""
        if child is self._busy:
            self.end_job()
            self._told(self.number, "faults", [ENDED])

    def _hear(self, number: int, stage: str, told: Any) -> None:
        if number != self.number:
            return
        if stage == "answer":
            answer = self._waiting.pop(0)
            if not answer.done():
                answer.set_result(told)
            return
        self._has_told |= stage in LAST
        if stage == "plan" and self._beside is not None:  # it has all that is told beside it
            _kill(self._beside[0])
            self._beside = None
        self._told(number, stage, told)


def _kill(process: BaseProcess) -> None:
    process.kill()
    process.join()
