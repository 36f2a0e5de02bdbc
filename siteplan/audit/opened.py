"""Tables and title blocks of a sheet, which are blocks, opened: what is in them stands on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from siteplan.export.drawing.boxes import TABLE, TITLE


def is_part(name: object) -> bool:
    """Whether a block of this name stands for a part of a sheet.

    Examples
    --------
    >>> is_part("TABLE-L1-SEPARATIONS-1"), is_part("BORE")
    (True, False)
    """
    return str(name).upper().startswith((TABLE, TITLE))


def opened(space: Iterable[Any]) -> Iterator[Any]:
    """What stands on a sheet, with what stands in its tables and in its title block."""
    for entity in space:
        if entity.dxftype() == "INSERT" and is_part(entity.dxf.name):
            yield from _inside(entity)
            yield from entity.attribs
        else:
            yield entity


def _inside(insert: Any) -> Iterator[Any]:
    """What stands in a block, where its reference puts it."""
    block = insert.block()
    if block is None:
        return
    matrix = insert.matrix44()
    stays = matrix.is_cartesian and _is_identity(matrix)
    for entity in block:
        if entity.dxftype() == "ATTDEF":
            continue
        if stays:
            yield entity
            continue
        there = entity.copy()
        there.transform(matrix)
        # by this it is found in the file
        there.dxf.handle = entity.dxf.handle
        yield there


def _is_identity(matrix: Any) -> bool:
    """Whether a reference leaves its block where it was drawn."""
    corners = ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    return all(matrix.transform(at).isclose(at, abs_tol=1e-9) for at in corners)
