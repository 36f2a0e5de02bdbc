"""Command lines tried in a process of its own, with a time limit, and what came of each."""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import select
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

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
    """Tries command lines one after the other in one process, started anew where it is lost."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[str] | None = None

    def __enter__(self) -> Trier:
        return self

    def __exit__(self, *_: object) -> None:
        self._end()

    def try_out(self, argv: Sequence[str], folder: Path, limit_s: float = LIMIT_S) -> Outcome:
        """What comes of a command line in a folder."""
        process = self._process = self._process or _started()
        assert process.stdin is not None
        assert process.stdout is not None
        before = _there(folder)
        start = time.monotonic()
        process.stdin.write(json.dumps([str(folder), list(argv)]) + "\n")
        process.stdin.flush()
        ready, _, _ = select.select([process.stdout], [], [], limit_s)
        line = process.stdout.readline() if ready else ""
        seconds = time.monotonic() - start
        if not line:
            self._end()
            return Outcome("crash" if ready else "hang", None, "", seconds)
        told: dict[str, Any] = json.loads(line)
        sort = _sorted(told["code"], told["said"])
        if sort == "refused" and _there(folder) != before:
            sort = "written"
        return Outcome(sort, told["code"], told["said"], seconds)

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
        self._process = None


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
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__))], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True, env=surroundings,
    )  # fmt: skip
    assert process.stdout is not None
    process.stdout.readline()
    return process


def _serve() -> None:
    """Run the command lines that come in, one a line."""
    import geopandas  # noqa: F401
    import pyogrio  # noqa: F401

    import siteplan.cli.report
    import siteplan.intake.folder
    import siteplan.intake.looked_at  # noqa: F401
    from siteplan.cli import main

    # what the libraries print must not come between the answers
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    print("ready", file=answers, flush=True)
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
    _serve()
