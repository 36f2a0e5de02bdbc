"""A process that is killed at the n-th call that changes a name on disk."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from typing import Final

CHANGES_A_NAME: Final = frozenset(
    {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate"}
)
"""Audit events of Python (PEP 578, and "Audit events table" of its library reference)."""


def run_killed(act: Callable[[], None], at: int) -> bool:
    """Whether a child of this process was killed before its call number ``at`` that changes a name.

    A file that is opened for writing counts as well. Nothing of Python's runs any more in a child
    killed so: no ``finally``, no ``atexit``.
    """
    child = os.fork()
    if child == 0:
        left = at

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal left
            if event in CHANGES_A_NAME or (event == "open" and _writes(arguments)):
                left -= 1
                if left < 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        code = 1
        try:
            act()
            code = 0
        finally:
            os._exit(code)
    status = os.waitpid(child, 0)[1]
    if os.WIFSIGNALED(status):
        return True
    assert os.WEXITSTATUS(status) == 0, "the child failed by itself"
    return False


def _writes(arguments: tuple[object, ...]) -> bool:
    flags = arguments[2] if len(arguments) > 2 else 0
    return isinstance(flags, int) and bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
