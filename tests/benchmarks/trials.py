"""Changes tried in forks of one run of the tests, whose tests are collected and have not run yet.

Nothing is imported or collected anew for a change: a fork of the run gives the changed functions
their changed code and runs the tests that are asked for. A change outside of all functions is
tried in a fork from before anything of the package was imported.
"""

from __future__ import annotations

import contextlib
import gc
import importlib.machinery
import inspect
import os
import select
import signal
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, Final, TextIO

import pytest

ROOT: Final = Path(__file__).parents[2]
Codes = dict[tuple[str, int], CodeType]


@dataclass(frozen=True)
class Trial:
    """A file with a change, and the tests that may notice it.

    Parameters
    ----------
    number
        By which it is told.
    path, before, after
        The file, its text as it is and with the change.
    tests
        Test files in the order in which they are run.
    """

    number: int
    path: Path
    before: str
    after: str
    tests: Sequence[str]

    def changed(self) -> Codes | None:
        """Code of the functions that the change is in; None: it is outside of all."""
        was, now = (_codes(compile(t, self.path, "exec")) for t in (self.before, self.after))
        if _at_import(was) != _at_import(now):
            return None
        return {key: code for key, code in now.items() if was.get(key) != code}


Tell = Callable[[int, str | None], None]
"""Takes the number of a trial and the test that noticed it."""


def try_all(trials: Sequence[Trial], tell: Tell, *, seconds: float, jobs: int) -> None:
    """Try changes, so many at a time, each for so long [s] at most."""
    with tempfile.TemporaryDirectory() as kept:
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = os.environ["PYTEST_DEBUG_TEMPROOT"] = kept
        whole = [trial for trial in trials if trial.changed() is None]
        _shared(whole, jobs, lambda trial: tell(trial.number, _from_the_start(trial, seconds)))
        left = [trial for trial in trials if trial.changed() is not None]
        files = sorted({test for trial in left for test in trial.tests})
        if left:
            with _quiet() as shown:

                def told(number: int, noticed: str | None) -> None:
                    with contextlib.redirect_stdout(shown):
                        tell(number, noticed)

                _pytest(files, _Within(left, told, seconds, jobs))


def _shared(trials: Sequence[Trial], jobs: int, work: Callable[[Trial], None]) -> None:
    """Have forks go through trials, each through its share."""
    children = []
    for job in range(jobs):
        sys.stdout.flush()
        child = os.fork()
        if not child:
            with contextlib.suppress(KeyboardInterrupt):
                for trial in trials[job::jobs]:
                    work(trial)
            os._exit(0)
        children.append(child)
    for child in children:
        os.waitpid(child, 0)


def _from_the_start(trial: Trial, seconds: float) -> str | None:
    """The test that notices a change where the file is imported with it."""

    def run(text: str, tests: Sequence[str], told: Callable[[str], None]) -> bool:
        plain = importlib.machinery.SourceFileLoader.get_code

        def get_code(loader: Any, fullname: str) -> CodeType | None:
            if loader.path == str(trial.path):
                return compile(text, trial.path, "exec")
            return plain(loader, fullname)

        importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign]
        # pytest reads what it rewrites by itself, and not by the loader
        return _pytest(tests, _Told(told), "--assert=plain") != pytest.ExitCode.OK

    return _noticed(
        lambda tests, told: run(trial.after, tests, told),
        lambda tests, told: run(trial.before, tests, told), trial.tests, seconds,
    )  # fmt: skip


class _Within:
    """Tries changes of functions once the tests are collected, instead of running these."""

    def __init__(self, trials: Sequence[Trial], tell: Tell, seconds: float, jobs: int) -> None:
        self.trials, self.tell, self.seconds, self.jobs = trials, tell, seconds, jobs
        self.items: dict[str, list[pytest.Item]] = defaultdict(list)
        self.functions: dict[str, list[FunctionType]] = defaultdict(list)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        for item in session.items:
            self.items[item.location[0]].append(item)
        gc.unfreeze()
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                self.functions[thing.__code__.co_filename].append(thing)
        gc.freeze()
        _shared(self.trials, self.jobs, lambda trial: self.tell(trial.number, self._tried(trial)))
        return True

    def _tried(self, trial: Trial) -> str | None:
        changed = trial.changed() or {}
        found = [
            (function, code)
            for function in self.functions[str(trial.path)]
            if (code := changed.get(_key(function.__code__))) is not None
        ]

        def run(tests: Sequence[str], told: Callable[[str], None]) -> bool:
            items = self._items(tests)
            following = [*items[1:], None]
            return any(not _passes(*pair, told) for pair in zip(items, following, strict=True))

        def run_changed(tests: Sequence[str], told: Callable[[str], None]) -> bool:
            for function, code in found:
                function.__code__ = code
            return run(tests, told)

        return _noticed(run_changed, run, trial.tests, self.seconds)

    def _items(self, tests: Sequence[str]) -> list[pytest.Item]:
        return [
            item
            for test in tests
            for item in self.items[test.partition("::")[0]]
            if "::" not in test or item.nodeid == test
        ]


def _passes(item: pytest.Item, after: pytest.Item | None, told: Callable[[str], None]) -> bool:
    """Whether a test passes; ``after``: the next one, for which fixtures of both are kept."""
    told(item.nodeid)
    failed: list[str] = []

    class Reports:
        def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
            failed.extend([report.nodeid] * report.failed)

    reports = Reports()
    item.config.pluginmanager.register(reports)
    try:
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
    finally:
        item.config.pluginmanager.unregister(reports)
    return not failed


class _Told:
    """Tells which test runs, or cannot be collected."""

    def __init__(self, told: Callable[[str], None]) -> None:
        self.told = told

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.told(nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.told(report.nodeid)


Run = Callable[[Sequence[str], Callable[[str], None]], bool]
"""Runs tests until one fails, telling of each before it runs; whether one has failed."""


def _noticed(changed: Run, unchanged: Run, tests: Sequence[str], seconds: float) -> str | None:
    """The test that fails with a change and not without it, or is busy for ever with it alone."""
    failed, late = _forked(changed, tests, seconds)
    if failed is not None and late:
        # alone: it may have been the tests before it that took long
        failed, late = _forked(changed, [failed], seconds)
    if failed is None or _forked(unchanged, [failed], seconds)[0] is not None:
        return None
    return f"{failed}, by the clock" if late else failed


def _forked(run: Run, tests: Sequence[str], seconds: float) -> tuple[str | None, bool]:
    """The test that failed in a fork, or was running when the time was up; whether it was up.

    None where all passed.
    """
    ours, theirs = os.pipe()
    child = os.fork()
    if not child:
        os.setsid()
        _to_nowhere()
        with contextlib.suppress(BaseException):
            failed = run(tests, lambda name: _write(theirs, f"{name}\n"))
            os._exit(int(failed))
        os._exit(1)
    os.close(theirs)
    end, said = time.monotonic() + seconds, b""
    while select.select([ours], [], [], max(end - time.monotonic(), 0.0))[0]:
        some = os.read(ours, 1 << 16)
        said += some
        if not some:
            break
    late = time.monotonic() >= end
    if late:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
    os.close(ours)
    _, status = os.waitpid(child, 0)
    names = said.decode().splitlines()
    return (names[-1] if names else tests[0]) if status else None, late


def _pytest(tests: Sequence[str], plugin: object, *more: str) -> int:
    return int(pytest.main(["-x", "-p", "no:cacheprovider", *more, *tests], plugins=[plugin]))


@contextlib.contextmanager
def _quiet() -> Iterator[TextIO]:
    """Show nothing of what is written meanwhile but on the stream that is given."""
    kept = os.dup(1), os.dup(2)
    with os.fdopen(os.dup(1), "w", buffering=1) as shown:
        _to_nowhere()
        try:
            yield shown
        finally:
            for number, before in zip((1, 2), kept, strict=True):
                os.dup2(before, number)


def _to_nowhere() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for number in (1, 2):
        os.dup2(nowhere, number)


def _write(pipe: int, text: str) -> None:
    os.write(pipe, text.encode())


def _key(code: CodeType) -> tuple[str, int]:
    return code.co_qualname, code.co_firstlineno


def _codes(code: CodeType) -> Codes:
    """A piece of code and all that stand in it."""
    found = {_key(code): code}
    for part in code.co_consts:
        if isinstance(part, CodeType):
            found |= _codes(part)
    return found


def _at_import(codes: Codes) -> dict[tuple[str, int], object]:
    """What a module and its classes run when they are imported, but for the code of functions."""
    return {
        key: (code.co_code, code.co_names, [part for part in code.co_consts if not _is_code(part)])
        for key, code in codes.items()
        if not code.co_flags & inspect.CO_OPTIMIZED
    }


def _is_code(part: object) -> bool:
    return isinstance(part, CodeType)
