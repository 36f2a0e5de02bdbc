"""Lines in a site file: a list of points for each."""

from __future__ import annotations

from siteplan.reading import ARRAYS, Pair, Table, as_pair


def read_lines(table: Table, key: str) -> list[list[Pair]] | None:
    """Lines, each a list of [x, y] pairs in the numbers of the file; None where one is faulty."""
    value = table.raw(key)
    if value is None:
        return None
    lists = isinstance(value, ARRAYS) and all(isinstance(item, ARRAYS) for item in value)
    if not lists or any(as_pair(item) is not None for item in value):
        mend = "Write [[[x, y], [x, y]], ...], a list of points for each."
        table.fault(key, f"{value!r} is not a list of lines.", mend)
        return None
    found = []
    for number, item in enumerate(value, start=1):
        line = table.pairs(key, item, f"line {number}, point")
        if line is not None and len(set(line)) < 2:
            table.fault(key, f"line {number} has no two points.", "Give where it begins and ends.")
        elif line is not None:
            found.append(line)
    return found if len(found) == len(value) else None
