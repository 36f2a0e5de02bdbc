"""Changes of a site file's text: all that nobody touched stays as it was written."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import ParseError
from tomlkit.items import AoT, Array

from siteplan.errors import Fault, InputError
from siteplan.rule_books.loader import book_ids, is_file
from siteplan.site.options.choices import DEPTH_CONTOUR, ENTRY, SHORE_ENTRY, SOUNDING
from siteplan.site.options.declared import every_option
from siteplan.units.written import NUMBER, number_in
from siteplan.vocabulary.kinds import kind_called, kinds
from siteplan.web.lot_file import is_plain
from siteplan.web.own_rules import add_rule, take_rule_out
from siteplan.web.ways_in import MACHINES, PLACES, add_way_in, move_point, take_out
from siteplan.web.written import (
    Document,
    is_at,
    move_to,
    row_of,
    rows_of,
    short,
    table_at,
    written,
)

SHAPES: Final = ("at", "line", "area", "ties", "side", "offset", "walls", "corner", "direction")
"""Keys of a feature that say where it lies."""
OF_PONDS: Final = (DEPTH_CONTOUR, SOUNDING, SHORE_ENTRY)
"""Kinds of what is measured in a pond, which no rule speaks of."""
LISTS: Final = {"feature": "feature", "entry": "entry"}
CLOSED: Final = ("file", "layer", "by")
"""Keys that name files: the page must not have any file read."""
DATES: Final = frozenset(each.path for each in every_option() if each.kind == "date")
"""Options that are dates, which a site file writes without quotes."""
FIGURE: Final = re.compile(rf"\s*({NUMBER})((?:\s*[A-Za-z][^\d]*)?)$")
"""A figure and its unit."""
MOST_SCALED: Final = 10.0
ANY_WALL: Final = "any wall"

Op = Mapping[str, Any]


def changed_text(text: str, ops: Sequence[Op]) -> str:
    """The text with changes made to it in turn.

    Parameters
    ----------
    text
        Of the site file.
    ops
        ``points`` (ref, key, points in the file's own numbers), ``place`` (ref, key, value),
        ``say`` (ref, key, value), ``set`` (path, value), ``scale`` (path, by), ``add`` (list,
        values), ``delete`` (ref), ``any wall``, ``way in`` (machine, points), ``rule`` (values, or
        out, its number), ``prices`` (file, text; neither: none).

    Raises
    ------
    InputError
        A change that makes no sense.
    """
    document = tomlkit.parse(text)
    for op in ops:
        does = OPS.get(str(op.get("op")))
        if does is None:
            raise refused(f"{op.get('op')!r} is no change.")
        does(document, op)
    return tomlkit.dumps(document)


def refused(what: str) -> InputError:
    """The error that a change is refused."""
    return InputError([Fault("change", what, "Load the page again.")])


def _points(document: Document, op: Op) -> None:
    """Put a shape's points elsewhere."""
    points = [[short(x), short(y)] for x, y in op["points"]]
    if op["ref"] == "parcel":
        geometry = table_at(document, ["geometry"])
        geometry.pop("deed", None)
        _write_points(geometry, "parcel", points)
        return
    kind, number = _ref(op["ref"])
    if kind in PLACES:
        move_point(document, kind, number, points[0])
        return
    table = _item(document, op["ref"])
    key = str(op["key"])
    if key not in ("at", "line", "area"):
        raise refused(f"{key!r} is no shape.")
    for other in SHAPES:
        if other != key:
            table.pop(other, None)
    if key == "at":
        _write_point(table, points[0])
    else:
        _write_points(table, key, points)


def _write_point(table: Any, point: list[float]) -> None:
    old = table.get("at")
    if isinstance(old, Array) and len(old) == 2:
        move_to(old, point)
    else:
        table["at"] = row_of(point)


def _write_points(table: Any, key: str, points: list[list[float]]) -> None:
    old = table.get(key)
    if not isinstance(old, Array):
        table[key] = rows_of(points)
        return
    same = 0
    while same < min(len(old), len(points)) and is_at(old[same], points[same]):
        same += 1
    tail = 0
    while tail < min(len(old), len(points)) - same and is_at(old[-1 - tail], points[-1 - tail]):
        tail += 1
    while len(old) - tail > len(points) - tail and len(old) - tail > same:
        del old[same]
    for at in range(same, len(points) - tail):
        if at < len(old) - tail:
            move_to(old[at], points[at])
        else:
            old.insert(at, row_of(points[at]))


def _place(document: Document, op: Op) -> None:
    """Place something by a tape."""
    table, key = _item(document, op["ref"]), str(op["key"])
    if key not in SHAPES:
        raise refused(f"{key!r} says not where something lies.")
    if key in ("at", "line", "area", "walls"):
        for other in SHAPES:
            if other != key and not (key == "walls" and other in ("corner", "direction")):
                table.pop(other, None)
    table[key] = written(op["value"])


def _say(document: Document, op: Op) -> None:
    """State something of a feature, or take it back."""
    table, key = _item(document, op["ref"]), str(op["key"])
    if key in SHAPES or not any(option.path == f"feature.{key}" for option in every_option()):
        raise refused(f"{key!r} is no key of a feature.")
    if op["value"] is None:
        table.pop(key, None)
    else:
        table[key] = written(op["value"])


def _set(document: Document, op: Op) -> None:
    """State an option of the site file, or take it back."""
    path = [str(step) for step in op["path"]]
    _allow(path, op["value"])
    if op["value"] is None:
        _unset(document, path)
    else:
        value = _date(op["value"]) if ".".join(path) in DATES else op["value"]
        table_at(document, path[:-1])[path[-1]] = written(value)


def _date(told: Any) -> datetime.date:
    try:
        return datetime.date.fromisoformat(str(told))
    except ValueError:
        raise refused(f"{told!r} is no date such as 2026-03-14.") from None


def _scale(document: Document, op: Op) -> None:
    """Multiply a figure that is stated, its unit as it is."""
    path, by = [str(step) for step in op["path"]], float(op["by"])
    told: Any = document
    for step in path:
        told = told.get(step) if isinstance(told, Mapping) else None
    figure = FIGURE.match(str(told))
    if figure is None or isinstance(told, (Mapping, list)) or not 0 < by < MOST_SCALED:
        name = ".".join(path)
        raise refused(f"{name} is not stated as one figure: type it under what is wanted.")
    number = f"{number_in(figure[1]) * by:.4g}"
    told_anew = f"{number}{figure[2]}" if figure[2] else short(float(number))
    _set(document, {"path": path, "value": told_anew})


def _any_wall(document: Document, _: Op) -> None:
    """Leave open through which wall the pipes enter."""
    document.pop("entry", None)
    rows: Any = document.get("feature")
    for number in reversed(range(len(rows) if isinstance(rows, AoT) else 0)):
        if kind_called(str(rows[number].get("kind", ""))) == ENTRY:
            del rows[number]
    table_at(document, ["exchanger"])["entry"] = ANY_WALL


def _way_in(document: Document, op: Op) -> None:
    """State where a machine comes in over the property line."""
    machine = str(op["machine"])
    if machine not in MACHINES:
        raise refused(f"{machine!r} is no machine.")
    add_way_in(document, machine, op["points"][0])


def _rule(document: Document, op: Op) -> None:
    """State a rule of one's own, or take one out."""
    if "values" in op:
        add_rule(document, dict(op["values"]))
    else:
        take_rule_out(document, int(op["out"]))


def _prices(document: Document, op: Op) -> None:
    """Take another price list: a file beside the site file, or one that is sent; or none."""
    name, text = str(op.get("file") or ""), str(op.get("text") or "")
    document.pop("prices", None)
    if name:
        if not is_plain(name) or not name.endswith(".toml"):
            raise refused(f"{name!r} is no price list beside the site file.")
        table = tomlkit.table()
        table["file"] = name
        document["prices"] = table
    elif text:
        document["prices"] = _price_table(text)


def _price_table(text: str) -> Any:
    """Prices of a text, whether or not it names their table."""
    try:
        known = tomlkit.parse(text)
    except ParseError as error:
        raise refused(f"the price list is no TOML ({error}).") from error
    sent: Any = known.get("prices", known)
    table = tomlkit.table()
    for key, value in sent.items():
        if key not in CLOSED:
            table[key] = value
    return table


def _allow(path: list[str], value: Any) -> None:
    known = {option.path for option in every_option()}
    told = ".".join(path)
    whole = {".".join(path[:end]) for end in range(2, len(path) + 1)}
    if not whole & known or path[0] in LISTS or path[-1] in CLOSED[:2]:
        raise refused(f"{told!r} is no option that the page may state.")
    if told == "rules.books" and value is not None:
        own = [book for book in value if is_file(book) and is_plain(book)]
        unknown = [book for book in value if book not in (*book_ids(), *own)]
        if unknown:
            raise refused(f"{unknown[0]!r} is no rule book.")


def _unset(document: Document, path: list[str]) -> None:
    table: Any = document
    for step in path[:-1]:
        if step not in table:
            return
        table = table[step]
    table.pop(path[-1], None)
    if not table and len(path) == 2:
        document.pop(path[0], None)


def _add(document: Document, op: Op) -> None:
    """Add a feature or an entry."""
    name = LISTS.get(str(op.get("list", "feature")))
    values = dict(op["values"])
    if name is None or (name == "feature" and values.get("kind") not in (*kinds(), *OF_PONDS)):
        raise refused(f"{values.get('kind')!r} is no kind of thing.")
    if name not in document:
        document[name] = tomlkit.aot()
    rows = document[name]
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = written(value)
    if len(rows):
        _end_with_a_gap(rows[-1])
    rows.append(table)


def _end_with_a_gap(table: Any) -> None:
    """Leave an empty line between this table and the one to come."""
    body = table.value.body
    if body and not str(body[-1][1].as_string()).isspace():
        table.add(tomlkit.nl())


def _delete(document: Document, op: Op) -> None:
    """Take something out."""
    kind, number = _ref(op["ref"])
    if kind in PLACES:
        take_out(document, kind, number)
        return
    rows = document[kind]
    del rows[number]
    if not len(rows):
        document.pop(kind)


def _item(document: Document, ref: str) -> Any:
    kind, number = _ref(ref)
    rows = document.get(kind)
    if not isinstance(rows, AoT) or not 0 <= number < len(rows):
        raise refused(f"{ref!r} is not there.")
    return rows[number]


def _ref(ref: str) -> tuple[str, int]:
    kind, _, number = str(ref).partition(":")
    if kind not in (*LISTS, *PLACES) or not number.isdecimal():
        raise refused(f"{ref!r} is nothing that can be changed.")
    return kind, int(number)


OPS: Final[dict[str, Callable[[Document, Op], None]]] = {
    "points": _points,
    "place": _place,
    "say": _say,
    "set": _set,
    "scale": _scale,
    "any wall": _any_wall,
    "way in": _way_in,
    "rule": _rule,
    "prices": _prices,
    "add": _add,
    "delete": _delete,
}
