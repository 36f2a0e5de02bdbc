"""The random tests with many cases each, where a run of the tests looks at a few.

Usage, from the top folder: ``python tests/benchmarks/campaigns.py [-n 2] [-k WORDS]``; what is
given goes on to pytest. Without anything every file of the tests that asks for `several` cases,
or for any that hypothesis finds, is run.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path.insert(0, str(TESTS / "lots"))

from campaign import MANY  # noqa: E402


def files() -> list[str]:
    """Files of the tests that look at more cases here."""
    return sorted(
        str(path)
        for path in TESTS.rglob("test_*.py")
        if any(sign in path.read_text(encoding="utf-8") for sign in ("several", "@given"))
    )


def main() -> int:
    """Exit code of pytest."""
    command = [sys.executable, "-m", "pytest", "--durations=20", *sys.argv[1:], *files()]
    return subprocess.run(command, env={**os.environ, MANY: "1"}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
