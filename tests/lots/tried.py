"""Command lines tried in a process of its own, with a time limit, and what came of each."""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TextIO

import siteplan
from siteplan.errors import Fault

LIMIT_S: Final = 5.0
MOST_BYTES: Final = 6 << 30
"""Memory that a command may take: what takes more has no limit of its own."""
ROOT: Final = Path(siteplan.__file__).parents[1]


@dataclass(frozen=True)
class Outcome:
    """What came of one command line.

    Parameters
    ----------
    sort
        ``accepted``, ``refused``, ``internal error``, ``crash``, ``hang`` or ``written``: refused,
        yet something was written; ``no sentence``: refused without place and mend.
    code
        Exit code; None where there was none.
    said
        What it printed to stderr, the end of it.
    seconds
        How long it took.
    """

    sort: str
    code: int | None
    said: str
    seconds: float


class Trier:
    """Tries command lines one after the other in one process, forked anew where it is lost."""

    def __init__(self) -> None:
        self._parent: subprocess.Popen[str] | None = None
        self._child = 0

    def __enter__(self) -> Trier:
        return self

    def __exit__(self, *_: object) -> None:
        if self._parent is not None:
            self._parent.kill()
            self._kill_child()
            self._parent.communicate()

    def try_out(self, argv: Sequence[str], folder: Path, limit_s: float = LIMIT_S) -> Outcome:
        """What comes of a command line in a folder."""
        if self._parent is None:
            self._parent = _started()
            self._child = self._told()
        assert self._parent.stdin is not None
        before = _there(folder)
        start = time.monotonic()
        self._parent.stdin.write(json.dumps([str(folder), list(argv)]) + "\n")
        self._parent.stdin.flush()
        ready, _, _ = select.select([self._parent.stdout], [], [], limit_s)
        seconds = time.monotonic() - start
        if not ready:
            self._kill_child()
        told: dict[str, Any] | None = self._told()
        if told is None:
            self._child = self._told()
            return Outcome("crash" if ready else "hang", None, "", seconds)
        sort = _sorted(told["code"], told["said"])
        if sort == "refused" and _there(folder) != before:
            sort = "written"
        return Outcome(sort, told["code"], told["said"], seconds)

    def _told(self) -> Any:
        """What the process says next: its number, what came of a command, None where it is lost."""
        assert self._parent is not None
        assert self._parent.stdout is not None
        return json.loads(self._parent.stdout.readline())

    def _kill_child(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self._child, signal.SIGKILL)


def _there(folder: Path) -> list[str]:
    return sorted(str(path) for path in folder.rglob("*"))


def _sorted(code: int, said: str) -> str:
    if "fault of siteplan" in said or "Traceback" in said or code not in (0, 1, 2):
        return "internal error"
    if code != 2:
        return "accepted"
    head, *faults = said.strip().splitlines() or [""]
    whole = head.startswith("siteplan: ") and all(
        line.startswith("  - ") and ": " in line and len(line) < 1500 for line in faults
    )
    return "refused" if whole and (faults or "usage" in said) else "no sentence"


def _started() -> subprocess.Popen[str]:
    surroundings = {**os.environ, "PYTHONPATH": f"{ROOT}:{Path(__file__).parent}"}
    return subprocess.Popen(
        [sys.executable, str(Path(__file__))], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True, env=surroundings,
    )  # fmt: skip


def _fork_and_wait() -> None:
    """Import once what commands need, and fork a process that runs them, again where it is lost."""
    import geopandas  # noqa: F401
    import pyogrio  # noqa: F401

    import siteplan.cli.report
    import siteplan.intake.folder
    import siteplan.intake.looked_at  # noqa: F401

    # what the libraries print must not come between the answers
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    while child := os.fork():
        os.waitpid(child, 0)
        print("null", file=answers, flush=True)
    _serve(answers)


def _serve(answers: TextIO) -> None:
    """Tell the number of this process, then run the command lines that come in, one a line."""
    from siteplan.cli import main

    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    print(os.getpid(), file=answers, flush=True)
    for line in sys.stdin:
        folder, argv = json.loads(line)
        os.chdir(folder)
        said = io.StringIO()
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(said):
            code = OWN[argv[0]](*argv[1:]) if argv[0] in OWN else main(argv)
        print(
            json.dumps({"code": code, "said": said.getvalue()[:100_000]}), file=answers, flush=True
        )


def _instead(run: Callable[[], object]) -> int:
    """Exit code of a command that does something else than it should."""
    import siteplan.cli

    def _run(_: object) -> int:
        run()
        return 0

    real = siteplan.cli._run
    siteplan.cli._run = _run
    try:
        return siteplan.cli.main(["rules"])
    finally:
        siteplan.cli._run = real


def _litter() -> None:
    Path("litter").write_text("litter", encoding="utf-8")
    raise siteplan.InputError([Fault("litter", "is there.", "Take it away.")])


OWN: Final[dict[str, Callable[..., int]]] = {
    "read": lambda path: _instead(lambda: siteplan.read_site(path)),
    "hang": lambda: _instead(lambda: time.sleep(60)),
    "break": lambda: _instead(lambda: 1 // 0),
    "die": lambda: os._exit(3),
    "litter": lambda: _instead(_litter),
}
"""Reading alone; and what shows that the trier sees what it is there for."""

if __name__ == "__main__":
    _fork_and_wait()
