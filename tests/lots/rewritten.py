"""The tests' modules, each compiled by one process where several begin a run at once."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]


def keep_compiled() -> None:
    """Keep what is compiled, whatever the surroundings say.

    A run starts hundreds of processes, and each would compile the package anew.
    """
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False


def import_in_turn(process: int, processes: int) -> None:
    """Import all tests, each process from another place on: the rest it finds compiled by others.

    With its assertions a test takes longer to compile than to import, and in one order all
    processes would compile the same at the same time. What cannot be imported pytest tells.
    """
    files = sorted(TESTS.glob("**/test_*.py"))
    first = len(files) * process // processes
    for path in (*files[first:], *files[:first]):
        sys.path.insert(0, str(path.parent))
        with suppress(Exception, pytest.skip.Exception):
            import_module(path.stem)
