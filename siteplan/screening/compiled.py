"""Loops compiled, where numba is there: the same figures bit for bit, in less time."""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from typing import Any, Final

from siteplan.geometry.ways.poses import search_by
from siteplan.screening import loops, waves

PAYS: Final = 4000
"""Lots of a run from which loading what is compiled takes less time than it saves."""
PAYS_DRIVING: Final = 1000
"""The same where machines' ways in are asked, of which some are searched for."""
PARTS: Final = {
    loops: (
        "_scratch", "_roomy", "_summed", "_met", "_strip", "_at_ends", "_along", "_fill_body",
        "_fill", "_taken", "_sort", "_gaps", "_add_gaps", "_cut_length", "_held", "free_rows",
        "held_by_rows", "left_by_step",
    ),
    waves: ("_is_free", "next_poses"),
}  # fmt: skip
"""Loops, those that others call first."""
_ready: dict[str, Callable[..., Any]] = {}


def load() -> bool:
    """Make the compiled loops ready in this process, and in those forked of it; whether they are.

    They are compiled on the first use on a machine, some seconds, and kept on its disk where that
    can be written.
    """
    if not _ready and find_spec("numba") is not None:
        for room, names in PARTS.items():
            for name in names:
                setattr(room, name, _compiled(getattr(room, name), within=name.startswith("_")))
                _ready[name] = getattr(room, name)
        search_by(_ready["next_poses"])
    return bool(_ready)


def pays(lots: int, *, driving: bool) -> bool:
    """Whether loading what is compiled takes less time than it saves on so many lots."""
    return lots >= (PAYS_DRIVING if driving else PAYS)


def _compiled(loop: Callable[..., Any], *, within: bool) -> Callable[..., Any]:
    """A loop compiled; ``within``: as a part of those that call it, which saves handing it on."""
    import numba  # noqa: PLC0415

    how: dict[str, Any] = {"error_model": "numpy", "nogil": True, "forceinline": within}
    try:
        found: Callable[..., Any] = numba.njit(cache=True, **how)(loop)
    except RuntimeError:
        # no folder to keep it in
        found = numba.njit(**how)(loop)
    return found


def loaded() -> bool:
    """Whether the compiled loops are ready in this process."""
    return bool(_ready)


def quick(name: str) -> Callable[..., Any] | None:
    """Loops compiled; None where they are not loaded."""
    return _ready.get(name)
