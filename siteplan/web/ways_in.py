"""Places that a site file lists without a table each: entries in short, where machines come in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

from siteplan.site.machines import MachineKind
from siteplan.web.written import Document, move_to, row_of, rows_of, short, table_at

SHORT: Final = "short"
MACHINES: Final[tuple[str, ...]] = get_args(MachineKind)
PLACES: Final[dict[str, tuple[str, str]]] = {
    SHORT: ("exchanger", "entry"),
    **{machine: (machine, "from") for machine in MACHINES},
}
"""Tables and keys of these places, by the word that a change calls them."""


def points_at(values: Mapping[str, Any], kind: str) -> list[Any]:
    """The points of a site file's places, as they are written; one alone is a list of one.

    Examples
    --------
    >>> points_at({"rig": {"from": [10, 94.5]}}, "rig"), points_at({}, "short")
    ([[10, 94.5]], [])
    """
    name, key = PLACES[kind]
    table = values.get(name)
    told = table.get(key) if isinstance(table, Mapping) else None
    if not isinstance(told, list) or not told:
        return []
    return [told] if isinstance(told[0], (int, float)) else list(told)


def move_point(document: Document, kind: str, number: int, point: list[float]) -> None:
    """Put one of the places elsewhere."""
    move_to(points_at(document, kind)[number], point)


def take_out(document: Document, kind: str, number: int) -> None:
    """Take one of the places out; with the last one the key goes."""
    name, key = PLACES[kind]
    table: Any = document[name]
    if len(points_at(document, kind)) > 1:
        del table[key][number]
        return
    table.pop(key)
    if not table:
        document.pop(name)


def add_way_in(document: Document, machine: str, point: Sequence[float]) -> None:
    """State one more place where a machine comes in over the property line.

    Where it was said that it comes in anywhere, that goes: both cannot hold.
    """
    place = [short(axis) for axis in point]
    known = points_at(document, machine)
    table = table_at(document, [machine])
    table.pop("access", None)
    if not known:
        table["from"] = row_of(place)
    elif len(known) == 1:
        table["from"] = rows_of([list(known[0]), place])
    else:
        table["from"].append(row_of(place))
