"""A word now and then from a command that takes long, where no bar can be shown."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Final, TextIO

QUIET_S: Final = 30.0
"""So long a command says nothing at most [s]."""


@contextmanager
def words_now_and_then(
    first: str, *, every_s: float = QUIET_S, to: TextIO | None = None
) -> Iterator[Callable[[str], None]]:
    """Function that names the step now running; it is printed when nothing was for so long.

    Parameters
    ----------
    first
        What runs until another step is named.
    every_s
        How long nothing is said [s].
    to
        Where it is printed; None: to standard error.
    """
    step, ended, began = [first], threading.Event(), time.monotonic()

    def speak() -> None:
        while not ended.wait(every_s):
            so_far = time.monotonic() - began
            with suppress(OSError, ValueError):  # nobody listens any more
                print(f"siteplan: {step[0]} ... {so_far:,.0f} s", file=to or sys.stderr, flush=True)

    thread = threading.Thread(target=speak, daemon=True)
    thread.start()
    try:
        yield lambda name: step.__setitem__(0, name)
    finally:
        ended.set()
        thread.join()
