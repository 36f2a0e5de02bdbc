"""What one test works out of a lot the next takes over, as a plan does from an earlier one."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from typing import Any

from siteplan.geometry.memory import Memory

_NONE_YET = object()
_ALONE = Memory.of
_KNOWN: dict[Hashable, object] = {}


def _of(memory: Memory, work: Callable[..., Any], /, *args: Any, **named: Any) -> Any:
    """Result of a function: known to this memory, to any memory before it, or worked out."""
    key = (work, args, tuple(sorted(named.items())))
    known = _KNOWN.get(key, _NONE_YET)
    if known is _NONE_YET:
        known = _KNOWN[key] = _ALONE(memory, work, *args, **named)
    else:
        memory._results.setdefault(key, known)
    return known


def share() -> None:
    """Let every memory of this process know what any other knows.

    Results in a memory depend on nothing but what they were worked out from, which is what
    ``siteplan edit`` lives on; what differs between two tests is worked out in both.
    """
    Memory.of = _of  # type: ignore[method-assign]


def forget() -> None:
    """Work out everything anew from here on."""
    _KNOWN.clear()


@contextmanager
def alone() -> Iterator[None]:
    """Let each memory know only what it was asked itself."""
    Memory.of = _ALONE  # type: ignore[method-assign]
    try:
        yield
    finally:
        share()
