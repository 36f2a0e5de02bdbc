"""Plans in child processes: some at work, others warm, a change ends what is out of date."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Final

from siteplan.web.stages import Job, Share
from siteplan.web.work import DONE, PLAN, work

PRELOADED: Final = ["siteplan.web.work", "siteplan.web.warm"]
ENDED: Final = (
    "Planning ended before its time, by a fault of siteplan or for want of memory. The lot is "
    "saved. Change it and it is planned again; siteplan plan tells more."
)
LAST: Final = ("plan", "faults")
"""Stages after which nothing more is told of a lot."""
SHARES: Final[tuple[Share, ...]] = ("rows", "others")
"""What children do beside the first, where the machine has more than one processor."""
Told = Callable[[int, str, Any], None]


@dataclass(slots=True, eq=False)
class Child:
    """A process that plans, and the pipe to it.

    Parameters
    ----------
    process, pipe
        Both of them.
    rests
        Whether it has told all that it was asked for.
    """

    process: BaseProcess
    pipe: Connection
    rests: bool = False

    def kill(self) -> None:
        """End it, wherever it is. Who listens to its pipe closes that."""
        self.process.kill()
        self.process.join()


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
    return Child(process, here)


class Engine:
    """Plans one lot at a time, whatever was asked last.

    Where the machine has more than one processor, a second child counts straight rows and a third
    lays out the loop types that are not drawn, beside the one that lays out what is.

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
        self._beside: dict[Share, Child] = {}
        self._several = (processors or os.cpu_count() or 1) > 1
        self._spares = [spare or new_child()]
        self._waiting: list[asyncio.Future[Any]] = []
        self.number = 0

    def plan(self, job: Job) -> int:
        """Number of the job that plans a lot; what ran before is ended.

        A child that has told all it was asked for goes on with the next lot: of the one before it
        knows all that did not change.
        """
        rested = self._busy if self._busy and self._busy.rests and not self._waiting else None
        resting = {share: child for share, child in self._beside.items() if child.rests}
        self.end_job(but=(rested, *resting.values()))
        self.number += 1
        shares = SHARES if job.staged and self._several else ()
        self._busy = self._begun(replace(job, share="drawn" if shares else "all"), rested)
        for share in shares:
            self._beside[share] = self._begun(replace(job, share=share), resting.get(share))
        # the next ones warm up while these work
        self._loop.call_later(0.05, self._warm, 1 + len(shares))
        return self.number

    def _begun(self, job: Job, rested: Child | None) -> Child:
        """A child that has begun a job: one that rests or waits already, if there is one."""
        asked = (PLAN, (self.number, job))
        if rested is not None:
            with suppress(OSError):  # it died at rest: who listens to it closes its pipe
                rested.pipe.send(asked)
                rested.rests = False
                return rested
        child = self._spares.pop(0) if self._spares else new_child()
        try:
            child.pipe.send(asked)
        except OSError:  # it died while it waited
            child.pipe.close()
            child = new_child()
            child.pipe.send(asked)
        threading.Thread(target=self._listen, args=(child,), daemon=True).start()
        return child

    async def ask(self, question: str, values: Any = None) -> Any:
        """What the child that holds the plan answers, once the plan is made."""
        if self._busy is None:
            return {"fault": "There is no plan yet."}
        answer: asyncio.Future[Any] = self._loop.create_future()
        self._waiting.append(answer)
        with suppress(OSError):  # a child that has died is told of by who listens to it
            self._busy.pipe.send((question, values))
        return await answer

    def end_job(self, but: Sequence[Child | None] = ()) -> None:
        """End what is at work, but for children that go on."""
        for child in (self._busy, *self._beside.values()):
            if child is not None and child not in but:
                child.kill()
        self._busy, self._beside = None, {}
        for answer in self._waiting:
            if not answer.done():
                answer.set_result({"fault": "The lot was changed meanwhile: ask again."})
        self._waiting.clear()

    def close(self) -> None:
        """End every child."""
        self.end_job()
        for child in self._spares:
            child.kill()
            child.pipe.close()
        self._spares.clear()
        self._loop = None  # type: ignore[assignment]

    def _warm(self, number: int) -> None:
        while self._loop is not None and len(self._spares) < number:
            self._spares.append(new_child())

    def _listen(self, child: Child) -> None:
        """Hand what the child says to the loop, in a thread of its own."""
        with suppress(EOFError, OSError, RuntimeError, AttributeError, TypeError):
            while True:
                self._loop.call_soon_threadsafe(self._hear, child, *child.pipe.recv())
        # only who reads from it closes it: its number goes to the next pipe at once
        child.pipe.close()
        with suppress(RuntimeError, AttributeError):
            self._loop.call_soon_threadsafe(self._ended, child)

    def _ended(self, child: Child) -> None:
        """Say so where a child ended that nobody ended: nobody must wait for it."""
        if child is self._busy:
            self.end_job()
            self._told(self.number, "faults", [ENDED])

    def _hear(self, child: Child, number: int, stage: str, told: Any) -> None:
        if number != self.number:
            return
        if stage == "answer":
            answer = self._waiting.pop(0)
            if not answer.done():
                answer.set_result(told)
            return
        child.rests = stage in (*LAST, DONE)
        if stage == "plan":  # it has all that is told beside it
            self._end_beside()
        if stage != DONE:
            self._told(number, stage, told)

    def _end_beside(self) -> None:
        """End who is still at work beside the first."""
        for share, child in list(self._beside.items()):
            if not child.rests:
                child.kill()
                del self._beside[share]
