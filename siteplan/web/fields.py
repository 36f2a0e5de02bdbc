"""What the page calls the places of the site file, and its messages in these names.

Whoever draws on the page never sees the file: where a message names a table or a key of it, the
page names the field in which the same is typed.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

from siteplan.errors import Fault
from siteplan.rule_books.loader import book_ids, load_book
from siteplan.site.ground_classes import ground_classes
from siteplan.site.options.choices import CHOOSE, choices
from siteplan.site.options.declared import Option, every_option
from siteplan.site.trench_kinds import trench_kinds
from siteplan.vocabulary.loop_types import loop_types

Json = dict[str, Any]
BOOKS: Final = "rules.books"
PLACE: Final = re.compile(r"\[\[?([a-z_]+(?:\.[a-z_]+)*)\]\]?,?")
"""A table in brackets, as messages write the places of a file."""
KEY: Final = re.compile(r"(?:(, | and | or | )|^)([a-z_]+)\b")
BARE: Final = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b(?!\.\w)")
GIVEN: Final = re.compile(r'\b([a-z_]+) = (\{[^{}]*\}|\[\[.*?\]\]|"[^"]*"|[\d.]+)')
"""A key with a value, as a line of the file."""
WITH: Final = re.compile(r' = (\{[^{}]*\}|\[[^\]]*\]|"[^"]*"|[\d.]+)')
"""A value behind a place."""
TWICE: Final = re.compile(r"\([^()]*\((the tool [A-Z]\w+)\)\)")
"""A tool of the page, in brackets within brackets."""
LINE: Final = "Add a line such as "
FILE: Final = re.compile(r"^(?:(?:\S*/)?[^/\s]+\.toml|values)(?:, |$)")
"""The file that a place begins with."""
IN_FILE: Final = re.compile(r"(?<![\w./-])(?:\S*/)?[\w.-]+\.toml, ")
"""The file before a place in it."""
ONE_VALUE: Final = frozenset({
    "text", "text or number", "word", "count", "number", "length", "angle", "flow", "power",
    "voltage", "temperature", "difference", "conductivity", "diffusivity", "flux", "freezing index",
    "density", "pressure", "volume", "mass", "bearing", "day", "speed", "permeability",
    "transmissivity",
})  # fmt: skip
"""Kinds of value that are typed in one field."""
NUMBERS: Final = ("count", "number", "number by temperature")
ROWS: Final = ("list", "twelve energies", "twelve temperatures", "twelve numbers")
"""Kinds of value that are typed one after the other, with commas between."""
ELSEWHERE: Final = ("feature", "entry", "geometry", "prices", "rules")
"""Tables whose options have places of their own on the page, or are not stated there."""


OF_THINGS: Final = "feature"
NO_STATEMENTS: Final = frozenset(
    f"{OF_THINGS}.{key}" for key in ("kind", "id", "use", "side", "pond")
)
"""What is said of a thing where it is drawn, or chosen from a list of its own."""
LEFT_ALONE: Final = ("project.units",)
"""Options that turn all numbers of a file into others: nothing to be changed by the way."""


@cache
def _told() -> Mapping[str, Any]:
    text = files("siteplan.web").joinpath("fields.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


@cache
def _options() -> Mapping[str, Option]:
    return MappingProxyType({option.path: option for option in every_option()})


def fields() -> list[Json]:
    """The fields under what is wanted: path, heading, name, example, choices, if a number."""
    chosen = {
        "loop types": ["", CHOOSE, *loop_types()],
        "trench kinds": ["", CHOOSE, *trench_kinds()],
        "soils": list(ground_classes()),
    }
    return [
        {
            "path": field["path"],
            "under": field.get("under", ""),
            "called": field["called"],
            "example": field.get("example", ""),
            "metric": field.get("metric", field.get("example", "")),
            "choices": chosen.get(field.get("from", "")),
            "number": _options()[field["path"]].kind in NUMBERS,
            "date": _options()[field["path"]].kind == "date",
        }
        for field in _told()["field"]
    ]


def other_fields() -> list[Json]:
    """Every other option that is one value: path, name, example, what it is for."""
    known = {*(field["path"] for field in _told()["field"]), *LEFT_ALONE}
    many = tuple(f"{each.path}." for each in every_option() if each.kind == "tables")
    return [
        {
            "path": option.path,
            "called": called(option.path),
            "example": _example(option.example),
            "help": on_page(option.help.replace("`", "")),
            "number": option.kind in NUMBERS,
            "many": option.kind in ROWS,
            "choices": [*choices()[option.choices], *option.words] if option.choices else None,
        }
        for option in every_option()
        if option.kind in (*ONE_VALUE, *ROWS, "number by temperature")
        and option.path not in known
        and option.path.partition(".")[0] not in ELSEWHERE
        and not option.path.startswith(many)
    ]


def _example(told: Any) -> str:
    if isinstance(told, (list, tuple)):
        return ", ".join(str(each) for each in told)
    return "" if told is None else str(told)


def said_of(kind: str) -> list[Json]:
    """What may be stated of a thing of a kind beside its place: key, example, choices, help."""
    stated = (option for option in every_option() if option.path.startswith(f"{OF_THINGS}."))
    return [
        {
            "key": option.path.removeprefix(f"{OF_THINGS}."),
            "called": called(option.path),
            "example": _example(option.example),
            "choices": [*choices()[option.choices], *option.words] if option.choices else None,
            "help": option.help.replace("`", ""),
            "number": option.kind in NUMBERS,
        }
        for option in stated
        if option.kind in ONE_VALUE
        and option.path not in NO_STATEMENTS
        and (not option.of or kind in option.of)
        and kind not in option.not_of
    ]


@cache
def every_field() -> frozenset[str]:
    """Paths of all fields under what is wanted, those that are stated by their names among them."""
    return frozenset(each["path"] for each in (*fields(), *other_fields()))


def special() -> Mapping[str, Mapping[str, Any]]:
    """Places of the file that are no field: what is done in their place."""
    told: Mapping[str, Mapping[str, Any]] = _told()["leads"]
    return told


def leaf(path: str) -> str:
    """Path of the value that is typed for a place: of a table its first one.

    Examples
    --------
    >>> leaf("vertical.length"), leaf("open.drift"), leaf("ground.soil")
    ('vertical.length.given', 'open.drift.by', 'ground.soil')
    """
    if not _is_table(path):
        return path
    inner = (each for each in _options() if each.startswith(f"{path}."))
    return next((each for each in inner if not _is_table(each)), path)


@cache
def books() -> list[list[str]]:
    """Ids and titles of the rule books that come along."""
    titled = [[book, load_book(book).title] for book in book_ids()]
    return sorted(titled, key=lambda each: each[1].casefold())


def called(path: str) -> str:
    """What the page calls a place of the site file.

    Examples
    --------
    >>> called("loads.heating"), called("grout.material"), called("loop.dimension_ratio")
    ('Heating load', 'grout: material', 'loop: dimension ratio')
    """
    for field in _told()["field"]:
        if field["path"] == path:
            return str(field["called"])
    named = _told()["places"].get(path)
    if named is not None:
        return str(named)
    typed = leaf(path) if "." in path else path
    if typed != path:
        return called(typed)
    *tables, key = path.replace("_", " ").split(".")
    return f"{' '.join(tables)}: {key}" if tables else key


def on_page(text: str, table: str = "") -> str:
    """A message with the page's names in place of the file's.

    Parameters
    ----------
    text
        The message.
    table
        Table whose keys the message may name alone.

    Examples
    --------
    >>> on_page("Use pipe of a lower DR ([loop] dimension_ratio).")
    'Use pipe of a lower DR (loop: dimension ratio).'
    >>> on_page("give [exchanger] capacity, or [entry]")
    'give Heat pump (screening only), or an entry (the tool Entry)'
    >>> on_page("The title block does not say parcel_id; see lot_a.geojson.")
    'The title block does not say parcel id; see lot_a.geojson.'
    >>> on_page('Add a line such as temperature = "52 F"', "ground")
    'Write, for example, 52 F.'
    """
    text = IN_FILE.sub("", text)
    if text.startswith(LINE):
        text = GIVEN.sub(lambda found: _value(found[2]), text, count=1)
        text = f"{text.replace(LINE, 'Write, for example, ').rstrip('.')}."
    if table:
        text = GIVEN.sub(lambda found: _given(table, found) or found[0], text)
    return TWICE.sub(r"(\1)", BARE.sub(_bare, "".join(_placed(text))))


def _bare(found: re.Match[str]) -> str:
    """A key named by itself, without its underscores; any other word as it is."""
    known = any(path.endswith(f".{found[0]}") for path in _options())
    return found[0].replace("_", " ") if known else found[0]


def _placed(text: str) -> Iterator[str]:
    """The pieces of a message, places by their names."""
    at = 0
    for begin, end, table, keys in places_in(text):
        yield text[at:begin]
        at = end
        given = WITH.match(text[end:]) if keys else None
        if given is not None:
            at += given.end()
        comma = "," if text[begin:end].endswith(",") else ""
        named = "".join(before + called(f"{table}.{key}") for before, key in keys) or called(table)
        yield named + comma + (_told_of(given[1]) if given else "")
    yield text[at:]


def places_in(text: str) -> Iterator[tuple[int, int, str, list[tuple[str, str]]]]:
    """Where a message names tables of the file: from, to, the table, its keys with what joins them.

    Examples
    --------
    >>> list(places_in("give [exchanger] capacity, or [loads]"))
    [(5, 25, 'exchanger', [('', 'capacity')]), (30, 37, 'loads', [])]
    """
    at = 0
    while (found := PLACE.search(text, at)) is not None:
        table, at = found[1], found.end()
        keys: list[tuple[str, str]] = []
        while (key := KEY.match(text[at:])) is not None and f"{table}.{key[2]}" in _options():
            keys.append((key[1] if keys else "", key[2]))
            at += key.end()
        yield found.start(), at, table, keys


def _told_of(value: str) -> str:
    """A value behind a place, as it is typed in the field of that name; of a point nothing."""
    try:
        told = tomllib.loads(f"x = {value}")["x"]
    except tomllib.TOMLDecodeError:
        return ""
    if isinstance(told, Mapping):
        return " and ".join(f": {each}" for each in told.values())
    return "" if isinstance(told, list) else f": {told}"


def _given(table: str, found: re.Match[str]) -> str:
    """A line of the file as name and value; empty where the table has no such key."""
    path = f"{table}.{found[1]}"
    if path not in _options():
        return ""
    try:
        value = tomllib.loads(f"x = {found[2]}")["x"]
    except tomllib.TOMLDecodeError:
        return called(path)
    if isinstance(value, Mapping):
        return " and ".join(f"{called(f'{path}.{key}')}: {each}" for key, each in value.items())
    return f"{called(path)}: {value}"


def _value(told: str) -> str:
    try:
        return str(tomllib.loads(f"x = {told}")["x"])
    except tomllib.TOMLDecodeError:
        return told


def fault_told(fault: Fault, values: Mapping[str, Any], *, drawn: bool) -> Json:
    """A fault for the page: where in its own names, what is wrong, and what to do there.

    Parameters
    ----------
    fault
        As the reader of the file has it.
    values
        What the site file says.
    drawn
        Whether a building is drawn.
    """
    where = FILE.sub("", fault.where)
    if fault.thing:
        where = f"{fault.thing}, {_of_thing(fault.key)}" if fault.key else fault.thing
    path = "" if fault.thing else _path(where)
    if path and _is_open(path, values, drawn=drawn):
        asked = _told()["asked"][path]
        said, at = asked.get("says", ""), asked.get("at", "")
        places = list(asked.get("leads", ()))
        told = {"where": "", "what": said, "mend": "", "path": at, "within": path}
        return {**told, "places": places}
    table = path if _is_table(path) else path.rpartition(".")[0]
    table = OF_THINGS if fault.thing else table
    return {
        "where": called(path) if path else on_page(where) or "The site file",
        "what": on_page(fault.what, table),
        "mend": on_page(fault.mend, table),
        "path": path if path in _options() else "",
        "within": _within(where),
        "thing": fault.thing,
        "key": fault.key if fault.thing else "",
    }


def _of_thing(key: str) -> str:
    """What the form of a thing calls a key; one that it does not show as it is."""
    return str(_told()["places"].get(f"{OF_THINGS}.{key}", key))


def _path(where: str) -> str:
    """Path of a place such as ``[loads], heating``; empty where it is no place of a table."""
    found = PLACE.match(where)
    if found is None or where[found.end() :].count(",") > 0:
        return ""
    key = where[found.end() :].strip()
    return f"{found[1]}.{key}" if key else found[1]


def _within(where: str) -> str:
    """The table, or the key of one that holds more, in which a place lies.

    Examples
    --------
    >>> _within("[geometry], deed, call 3"), _within("[loads], heating"), _within("a tree")
    ('geometry.deed', 'loads', '')
    """
    found = PLACE.match(where)
    if found is None:
        return ""
    inner = f"{found[1]}.{where[found.end() :].strip().partition(',')[0]}"
    return inner if _is_table(inner) else found[1]


def _is_table(path: str) -> bool:
    return path in _options() and _options()[path].kind not in ONE_VALUE


def _is_open(path: str, values: Mapping[str, Any], *, drawn: bool) -> bool:
    """Whether nothing was said yet at a place that the page asks for in its own words."""
    if path not in _told()["asked"]:
        return False
    if path == "exchanger.entry":
        return not drawn
    if path == "geometry":
        geometry = values.get("geometry") or {}
        return not set(geometry) & {"parcel", "deed", "file", "layer"}
    if path.startswith("ground."):
        return not {"soil", "conductivity", "diffusivity"} & set(values.get("ground") or {})
    wanted = values.get("exchanger") or {}
    return "loads" not in values and not {"length", "capacity"} & set(wanted)


def plainly(fault: Fault) -> str:
    """A fault in one line, in the page's names.

    Examples
    --------
    >>> plainly(Fault("lot.toml, [loads], heating", "is missing.", ""))
    'Heating load: is missing.'
    >>> shed = ("lot.toml, feature 'shed', walls", "do not meet.", "Measure again.")
    >>> plainly(Fault(*shed, thing="shed", key="walls"))
    'shed, walls: do not meet. Measure again.'
    """
    told = fault_told(fault, {"loads": {}}, drawn=True)
    return f"{told['where']}: {told['what']} {told['mend']}".rstrip()
