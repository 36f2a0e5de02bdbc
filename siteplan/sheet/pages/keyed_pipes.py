"""What pipes lie in the pieces of header that have but their name on a part of the plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from siteplan.sheet.marks import KEYED
from siteplan.sheet.place.blocks import BLOCK_GAP_MM, Block, Flow, Run
from siteplan.sheet.plan_view.numbers import PIPES_HEADING, keyed_rows, told_elsewhere

COLUMNS: Final = (1, 2)
"""Columns in which the list is written, the fewest first."""
BETWEEN_MM: Final = 3.0
"""Free paper between two columns [mm]."""


def keyed_blocks(keyed: Sequence[tuple[str, str]], width: float) -> list[list[Block]]:
    """The whole list, in one column and in two; one empty list where there is nothing to tell."""
    rows = _rows(keyed)
    return [[_listed(rows, width, columns)] for columns in COLUMNS] if rows else [[]]


def begun_block(
    keyed: Sequence[tuple[str, str]], width: float, where: str, height_mm: float
) -> Block:
    """As much of the list as a height takes [mm], and the sheet ``where`` it goes on.

    Without room for a row of it, the sheet that has all.
    """
    rows = _rows(keyed)
    for count in range(len(rows) - 1, 0, -1):
        block = _listed(rows[:count], width, COLUMNS[-1], f"Other pieces: {where}, HEADER PIPES.")
        if block.height_mm + BLOCK_GAP_MM <= height_mm:
            return block
    flow = Flow(width, KEYED)
    flow.paragraph(told_elsewhere(where))
    return flow.block()


def _rows(keyed: Sequence[tuple[str, str]]) -> list[str]:
    return [f"{names}: {pipes}" for names, pipes in keyed_rows(keyed)]


def _listed(rows: Sequence[str], width: float, columns: int, last: str = "") -> Block:
    """The rows under their heading, in columns that are read downwards; ``last`` below them."""
    head = Flow(width, KEYED)
    head.heading(PIPES_HEADING)
    wide = (width - BETWEEN_MM * (columns - 1)) / columns
    tall = math.ceil(len(rows) / columns)
    top = deepest = head.depth
    runs: list[Run] = []
    for column in range(columns):
        flow = Flow(wide, KEYED)
        flow.depth = top
        for row in rows[column * tall : (column + 1) * tall]:
            flow.paragraph(row)
        runs.append(Run(flow.block().at(column * (wide + BETWEEN_MM), 0.0)))
        deepest = max(deepest, flow.depth)
    foot = Flow(width, KEYED)
    foot.depth = deepest
    if last:
        foot.paragraph(last)
    return Block(foot.depth, (*head.block().runs, *runs, *foot.block().runs))
