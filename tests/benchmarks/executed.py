"""Which lines of the package each test file runs: ``executed.py MAP [--jobs 2] [--seconds 120]``.

    python tests/benchmarks/executed.py MAP [--jobs 2] [--seconds 120] [--only FILE ...]

Each test file runs in a process of its own (what one has worked out the next must not take over),
with every line of the rooms that ``mutation.py`` changes told once. The map, a JSON file, says of
each test file how long it took and which lines it ran; files that are in it already are left
alone unless named. With Python 3.12 or later that costs next to nothing (``sys.monitoring``); with
3.11 lines are traced, several times as slow. A file that fails or takes longer is left out.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import signal
import sys
import time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from pathlib import Path
from threading import Lock
from types import CodeType, FrameType
from typing import Any, Final

ROOT = Path(__file__).parents[2]
ROOMS: Final = ("geometry", "checks", "demand", "rules", "layout", "export", "quantities")
LEFT_OUT: Final = ("benchmarks", "/web/", "browser")
"""Tests of pages run in another process, where no line is followed."""
WITHIN: Final = tuple(str(ROOT / "siteplan" / room) + os.sep for room in ROOMS)
PRELOADED: Final = ("scipy.optimize", "scipy.spatial", "scipy.sparse", "shapely", "ezdxf", "pytest")
KEPT_EVERY: Final = 20
"""The map is written after so many test files, so that a run that is stopped goes on."""
Told = dict[str, Any]


def main() -> int:
    """Exit code: 1 where a test file could not be followed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("map", type=Path)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=120.0, help="for one test file")
    parser.add_argument("--only", nargs="+", default=[])
    asked = parser.parse_args()
    known: Told = json.loads(asked.map.read_text("utf-8")) if asked.map.exists() else {}
    every = sorted(str(path.relative_to(ROOT)) for path in (ROOT / "tests").rglob("test_*.py"))
    wanted = asked.only or [test for test in every if test not in known]
    wanted = [test for test in wanted if not any(part in test for part in LEFT_OUT)]
    # those of the rooms first, so that a run that is stopped has the nearest
    wanted.sort(key=lambda test: not test.startswith(tuple(f"tests/{room}/" for room in ROOMS)))
    multiprocessing.get_context("forkserver").set_forkserver_preload(list(PRELOADED))
    lock, left_out = Lock(), []

    def followed(test: str) -> None:
        told = _followed(test, asked.seconds)
        with lock:
            if told is None:
                left_out.append(test)
                print(f"{test}: left out", flush=True)
            else:
                known[test] = told
            if len(known) % KEPT_EVERY == 0:
                asked.map.write_text(json.dumps(known), encoding="utf-8")

    with ThreadPoolExecutor(asked.jobs) as pool:
        list(pool.map(followed, wanted))
    asked.map.write_text(json.dumps(known), encoding="utf-8")
    print(f"{len(known)} test files in {asked.map}, {len(left_out)} left out")
    return 1 if left_out else 0


def _followed(test: str, seconds: float) -> Told | None:
    """How long a test file takes and which lines it runs; None where it fails or takes longer."""
    ours, theirs = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("forkserver").Process(target=_run, args=(test, theirs))
    process.start()
    theirs.close()
    try:
        told: Told | None = ours.recv() if ours.poll(seconds) else None
    except EOFError:
        told = None
    if process.is_alive() and told is None:
        os.killpg(process.pid or 0, signal.SIGKILL)
    process.join()
    return told


def _run(test: str, told: Connection) -> None:
    import pytest

    os.setsid()
    os.chdir(ROOT)
    os.environ["PYTHONPATH"] = str(ROOT)
    sys.path[:] = [str(ROOT), *(at for at in sys.path if at)]
    with Path(os.devnull).open("w", encoding="utf-8") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
    lines: dict[str, set[int]] = defaultdict(set)

    class AfterCollection:
        """Lines that run where a module is merely imported say nothing of its tests."""

        def pytest_collection_finish(self) -> None:
            _follow(lines)

    start = time.monotonic()
    code = pytest.main(["-x", "-q", "-p", "no:cacheprovider", test], plugins=[AfterCollection()])
    took = time.monotonic() - start
    if code == pytest.ExitCode.OK:
        found = {str(Path(path).relative_to(ROOT)): sorted(at) for path, at in lines.items()}
        told.send({"seconds": round(took, 2), "lines": found})


def _follow(lines: dict[str, set[int]]) -> None:
    """Have every line of the rooms put down, once."""
    if sys.version_info >= (3, 12):
        seen = sys.monitoring

        def line(code: CodeType, number: int) -> object:
            if code.co_filename.startswith(WITHIN):
                lines[code.co_filename].add(number)
            return seen.DISABLE

        seen.use_tool_id(seen.COVERAGE_ID, "executed")
        seen.register_callback(seen.COVERAGE_ID, seen.events.LINE, line)
        seen.set_events(seen.COVERAGE_ID, seen.events.LINE)
        return

    def within(frame: FrameType, event: str, _: object) -> Any:
        if event == "line":
            lines[frame.f_code.co_filename].add(frame.f_lineno)
        return within

    def called(frame: FrameType, *_: object) -> Any:
        return within if frame.f_code.co_filename.startswith(WITHIN) else None

    sys.settrace(called)


if __name__ == "__main__":
    sys.exit(main())
