"""The list of what has a number on the plan, as its name found no room there."""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.style.styles import layer

HEIGHT_MM: Final = 2.05
HEADING: Final = "NUMBERS ON THE PLAN"
MOST: Final = 60.0
"""What the list may cover: no symbol, no text, few lines."""
SPOTS: Final = 40
"""Places along each side of the window where the list is tried."""


def list_numbers(canvas: Canvas) -> None:
    """Write the list where the window is free; without room for it the names count as lost."""
    if not canvas.listed:
        return
    lines = (HEADING, *(f"({number}) {name}" for number, name in enumerate(canvas.listed, 1)))
    label = Label(lines, HEIGHT_MM, "text-existing", layer("label"))
    left, bottom = canvas.view.left_mm, canvas.view.bottom_mm
    xs = np.linspace(left, left + canvas.view.width_mm, SPOTS)
    ys = np.linspace(bottom, bottom + canvas.view.height_mm, SPOTS)
    # what stands alone is seen: the lower left is as good as any other free place
    places = [
        Candidate((float(x), float(y)), 0.0, 0.001 * (i + j))
        for i, x in enumerate(xs)
        for j, y in enumerate(ys)
    ]
    if not canvas.put(label, places, most=MOST):
        canvas.unplaced += canvas.listed
