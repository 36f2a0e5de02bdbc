"""Lists of what has but a number or a name on the plan, as more words found no room there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from siteplan.sheet.marks import KEYED, Mark
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.style.styles import layer

HEIGHT_MM: Final = 2.05
HEADING: Final = "NUMBERS ON THE PLAN"
PIPES_HEADING: Final = "PIPES OF HEADER PIECES NAMED ON THIS SHEET"
MOST: Final = 60.0
"""What the list may cover: no symbol, no text, few lines."""
SPOTS: Final = 40
"""Places along each side of the window where the list is tried."""


def list_numbers(canvas: Canvas) -> None:
    """Write the list where the window is free; without room for it the names count as lost."""
    if not canvas.listed:
        return
    lines = (HEADING, *(f"({number}) {name}" for number, name in enumerate(canvas.listed, 1)))
    if not _listed(canvas, Label(lines, HEIGHT_MM, "text-existing", layer("label"))):
        canvas.unplaced += canvas.listed


def list_header_pipes(canvas: Canvas, where: str) -> bool:
    """Write what pipes lie in the pieces of header that have but their name on the plan.

    Without room for the list, on which sheet the table of header pipes has them (``where``).
    False: neither has room.
    """
    if not canvas.keyed:
        return True
    lines = (PIPES_HEADING, *(f"{names}: {pipes}" for names, pipes in keyed_rows(canvas.keyed)))
    mark = Mark(KEYED)
    # an only sheet has no such table
    ways = (lines, (told_elsewhere(where),)) if where else (lines,)
    return any(
        _listed(canvas, Label(told, HEIGHT_MM, "text-header", layer("flow"), mark=mark))
        for told in ways
    )


def told_elsewhere(where: str) -> str:
    """On which sheet stand the pipes that a plan sheet has no room for."""
    return f"{PIPES_HEADING}: {where}, HEADER PIPES."


def keyed_rows(keyed: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Pieces of header in which the same pipes lie, in one row; and those pipes.

    Examples
    --------
    >>> keyed_rows([("HDR-2", "2 × 1 in"), ("HDR-4", "3 × 1 in"), ("HDR-7", "2 × 1 in")])
    (('HDR-2, 7', '2 × 1 in'), ('HDR-4', '3 × 1 in'))
    """
    rows: dict[str, list[str]] = {}
    for name, pipes in keyed:
        rows.setdefault(pipes, []).append(name)
    return tuple(
        (", ".join([names[0], *(name.rpartition("-")[2] for name in names[1:])]), pipes)
        for pipes, names in rows.items()
    )


def _listed(canvas: Canvas, label: Label) -> bool:
    """Write a list where the window is free; False: there is no room."""
    left, bottom = canvas.view.left_mm, canvas.view.bottom_mm
    xs = np.linspace(left, left + canvas.view.width_mm, SPOTS)
    ys = np.linspace(bottom, bottom + canvas.view.height_mm, SPOTS)
    # what stands alone is seen: the lower left is as good as any other free place
    places = [
        Candidate((float(x), float(y)), 0.0, 0.001 * (i + j))
        for i, x in enumerate(xs)
        for j, y in enumerate(ys)
    ]
    return canvas.put(label, places, most=MOST)
