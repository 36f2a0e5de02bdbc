"""The reader of a site file: each declared table becomes values, every fault is noted.

What a key says is judged against its own declaration here; what several keys say together is
judged beside the value that is made of them.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any, Final

from siteplan.limits import FIRST_YEAR, LAST_YEAR, LONGEST_NAME
from siteplan.reading import ARRAYS, Pair, Table, as_pair
from siteplan.site.options.choices import choices, hint_of
from siteplan.site.options.declared import TABLES, Option, homes_of
from siteplan.site.options.price_values import read_price, read_prices, read_prices_by_depth
from siteplan.site.options.quantities import BEYOND, in_si, limits_of, out_of_limits, quantities
from siteplan.site.options.written_lines import read_lines
from siteplan.units.model import UnitSystem
from siteplan.units.systems import METRIC
from siteplan.units.written import UnitError

MONTHS: Final = 12
FEATURE: Final = "feature"
"""Key of the tables that describe things on the lot."""
EMPTY: Final[tuple[object, ...]] = ("", [], ())
COLDEST_C, WARMEST_C = -60.0, 46.0
"""Mean of a month that no lot goes beyond [C]."""


@dataclass(frozen=True)
class Read:
    """A table as read: values in SI units by key, None where nothing is said or taken.

    Parameters
    ----------
    table
        What is written, and where faults go.
    values
        By key; tables within are `Read` too.
    whole
        Whether no key had a fault of its own.
    """

    table: Table
    values: Mapping[str, Any]
    whole: bool = True

    def __getitem__(self, key: str) -> Any:
        """Value of a declared key."""
        return self.values[key]

    def says(self, key: str) -> bool:
        """Whether a declared key is written."""
        return key in self.values and self.table.has(key)

    @property
    def unit(self) -> UnitSystem:
        """Unit of bare lengths."""
        return self.table.unit

    def answered(self, key: str) -> str:
        """Who answers for what a table within accepts; empty where it is not written."""
        accepts: Read | None = self[key]
        return "" if accepts is None else str(accepts["by"] or "")

    def fault(self, key: str, what: str, mend: str) -> None:
        """Note a fault at a key."""
        self.table.fault(key, what, mend)


def read_table(table: Table, options: Mapping[str, Option], *, strict: bool = True) -> Read:
    """A table of a site file, read as declared; keys that are not declared are faults.

    Parameters
    ----------
    table
        What is written.
    options
        What may be written, by key.
    strict
        False: only what looks misspelt is a fault, as the table has keys of others.
    """
    before = len(table.faults)
    values = {key: read_option(table, option) for key, option in options.items()}
    whole = len(table.faults) == before
    own = next((option.path.rpartition(".")[0] for option in options.values()), "")
    table.finish(strict=strict, homes=lambda key: homes_of(key, own))
    return Read(table, values, whole)


def read_option(table: Table, option: Option) -> Any:
    """Value of one option in SI units; what is faulty or not there counts as its default."""
    if option.kind in TABLES:
        return _TABLES[option.kind](table, option)
    value = None
    if option.filled and table.has(option.key) and table.raw(option.key) in EMPTY:
        what = f"Write it as {option.line}"
        table.fault(
            option.key, "is empty.", what + ("." if option.required else ", or leave it out.")
        )
    elif table.has(option.key):
        value = _READERS.get(option.kind, _quantity)(table, option)
    elif option.required:
        table.required(option.key, option.line)
    return default_of(option, table.unit) if value is None else value


def default_of(option: Option, unit: UnitSystem = METRIC) -> Any:
    """Default of an option in SI units, None where it has none."""
    value = option.default
    if value is not None and option.kind in quantities():
        return in_si(option.kind, value, unit.name)
    return float(value) if option.kind.startswith("number") and value is not None else value


def require(read: Read, option: Option) -> None:
    """Note that a key is missing which something else asks for."""
    read.table.required(option.key, option.line)


def _text(table: Table, option: Option) -> str | None:
    value = table.text(option.key)
    if option.filled and not value and isinstance(table.raw(option.key), str):
        table.fault(option.key, "is empty.", f"Write it as {option.line}.")
    if option.name and len(value) > LONGEST_NAME:
        what = f"has {len(value):,} characters."
        table.fault(option.key, what, f"Write at most {LONGEST_NAME}: it is one line of a sheet.")
        return None
    return value or None


def _text_or_number(table: Table, option: Option) -> str | None:
    value = table.raw(option.key)
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    return _text(table, option)


def _word(table: Table, option: Option) -> str | None:
    default = option.default or ""
    return table.choice(option.key, choices()[option.choices], default) or None


def _list(table: Table, option: Option) -> tuple[str, ...] | str:
    if table.raw(option.key) in option.words:
        return str(table.raw(option.key))
    known = choices()[option.choices]
    written = table.words(option.key)
    for word in written:
        if word not in known and not _is_file(word, option):
            table.fault(
                option.key,
                f"{word!r} is not {option.called or 'known'};",
                hint_of(option.choices, word),
            )
    twice = {word: None for word in written if written.count(word) > 1}
    if option.each_once and twice:
        table.fault(option.key, f"names {', '.join(twice)} twice.", "Name each once.")
    return tuple(word for word in written if word in known or _is_file(word, option))


def _is_file(word: str, option: Option) -> bool:
    """Whether a word names a file where the option takes one."""
    return bool(option.ending) and word.endswith(option.ending)


def _date(table: Table, option: Option) -> datetime.date | None:
    value = table.raw(option.key)
    if isinstance(value, str):
        # between quotes it is as plain
        with suppress(ValueError):
            value = datetime.date.fromisoformat(value.strip())
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        if FIRST_YEAR <= value.year <= LAST_YEAR:
            return value
        what = f"{value.isoformat()} is no date of a plan."
        table.fault(option.key, what, f"Years from {FIRST_YEAR} to {LAST_YEAR}: a slip of the pen?")
        return None
    table.fault(option.key, f"{value!r} is not a date.", f"Write {option.line}, no quotes.")
    return None


def _count(table: Table, option: Option) -> int | None:
    value, least, most = table.raw(option.key), int(option.least), int(option.most)
    if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
        return value
    what = f"{value!r} is not a whole number from {least} to {most:,}."
    table.fault(option.key, what, "Correct it.")
    return None


def _number(table: Table, option: Option) -> float | None:
    return _number_of(table, option.key, option)


def _number_of(table: Table, key: str, option: Option) -> float | None:
    """Plain number of a key, within the limits of an option."""
    value, least, most = table.raw(key), option.least, option.most
    plain = isinstance(value, (int, float)) and not isinstance(value, bool)
    if plain and least <= value <= most:
        return float(value)
    table.fault(key, f"{value!r} is not a number from {least:g} to {most:g}.", "Correct it.")
    return None


def _number_by_temperature(
    table: Table, option: Option
) -> float | tuple[tuple[float, float], ...] | None:
    """A number, or numbers by temperature [C], the coldest first."""
    if not isinstance(table.raw(option.key), Mapping):
        return _number(table, option)
    rows = table.table(option.key)
    first, second = option.rows[table.unit.edition]
    known: list[tuple[float, float]] = []
    for text in rows.values:
        value = _number_of(rows, text, option)
        try:
            at = quantities()["temperature"].parse(text, table.unit.name)
        except UnitError as error:
            rows.fault(text, str(error), f"Write it as {{ {first}, {second} }}.")
            continue
        if value is not None:
            known.append((at, value))
    if len(rows.values) < 2:
        rows.fault("", "has fewer than two temperatures.", f"Add another, as {second}.")
    return tuple(sorted(known)) if len(known) > 1 else None


def _twelve_energies(table: Table, option: Option) -> tuple[float, ...] | None:
    """Energies of the months [Wh]."""
    given = table.raw(option.key)
    listed = list(given) if isinstance(given, ARRAYS) else []
    try:
        energies = [quantities()["energy"].parse(value, table.unit.name) for value in listed]
    except UnitError as error:
        table.fault(option.key, str(error), "")
        return None
    if len(energies) == MONTHS and min(energies) >= 0 and sum(energies) > 0:
        if max(energies) <= BEYOND["energy"]:
            return tuple(energies)
        table.fault(option.key, "has more than any site has.", "Are the units right?")
        return None
    table.fault(
        option.key,
        f"has {len(energies)} energies; twelve are needed, none below zero.",
        f'Write {option.key} = ["900 kWh", ...], January first.',
    )
    return None


def _twelve_temperatures(table: Table, option: Option) -> tuple[float, ...] | None:
    """Temperatures of the months [C]."""
    given = table.raw(option.key)
    try:
        months = [
            quantities()["temperature"].parse(value, table.unit.name)
            for value in (given if isinstance(given, ARRAYS) else [])
        ]
    except UnitError as error:
        table.fault(option.key, str(error), "")
        return None
    if len(months) == MONTHS and min(months) >= COLDEST_C and max(months) <= WARMEST_C:
        return tuple(months)
    what = f"has {len(months)} temperatures."
    if len(months) == MONTHS:
        what = "has one that no month of a lot has."
    mend = f'Write twelve, January first, from -75 F to 115 F: {option.key} = ["15 F", ...].'
    table.fault(option.key, what, mend)
    return None


def _twelve_numbers(table: Table, option: Option) -> tuple[float, ...] | None:
    """Numbers of the months."""
    given, least, most = table.raw(option.key), option.least, option.most
    listed = list(given) if isinstance(given, ARRAYS) else []
    plain = all(isinstance(each, (int, float)) and not isinstance(each, bool) for each in listed)
    if len(listed) == MONTHS and plain and all(least <= each <= most for each in listed):
        return tuple(float(each) for each in listed)
    mend = f"Write twelve numbers from {least:g} to {most:g}, January first."
    table.fault(option.key, f"{given!r} are not twelve such numbers.", mend)
    return None


def _quantity(table: Table, option: Option) -> float | str | None:
    """A quantity in SI units, or one of the words that may stand instead."""
    written = table.raw(option.key)
    if isinstance(written, str) and written in option.words:
        return written
    parse = quantities()[option.kind].parse
    value = table.quantity(option.key, lambda given: parse(given, table.unit.name))
    least, most = limits_of(option)
    if value is None or least <= value <= most:
        return value
    what, mend = out_of_limits(option, value, table.unit)
    table.fault(option.key, f"{written!r} {what}", mend)
    return None


def _place(table: Table, option: Option) -> Any:
    """A point, or how it is taped, which is read once everything else is placed."""
    if isinstance(table.values.get(option.key), Mapping):
        return table.raw(option.key)
    return table.point(option.key)


def _points(table: Table, option: Option) -> list[Pair] | None:
    return table.points(option.key)


def _point_or_points(table: Table, option: Option) -> list[Pair] | str | None:
    """Points, in the numbers of the file; a single one counts as a list of one. Or a word."""
    value = table.raw(option.key)
    if isinstance(value, str) and option.words:
        if (word := " ".join(value.casefold().split())) in option.words:
            return word
        words = f"Write [[x, y], ...], or {' or '.join(map(repr, option.words[:2]))}."
        table.fault(option.key, f"{value!r} is neither a point nor one of the words.", words)
        return None
    if (single := as_pair(value)) is not None:
        return [single]
    flat = isinstance(value, ARRAYS) and not any(isinstance(item, ARRAYS) for item in value)
    if flat and len(value) == 2:
        table.point(option.key)  # one point that is faulty: told as a point
        return None
    return table.points(option.key)


def _table(table: Table, option: Option) -> Read | str | None:
    written = table.raw(option.key)
    if isinstance(written, str) and written in option.words:
        return written
    if isinstance(written, str) and option.text_as:
        table, written = replace(table, values={option.key: {option.text_as: written}}), {}
    within = table.table(option.key, option.line)
    if option.optional and not isinstance(written, Mapping):
        return None  # of what is no table nothing within is missing
    return read_table(within, option.options)


def _length_or_table(table: Table, option: Option) -> float | Read:
    """A length above zero [m], or limits of it."""
    written = table.raw(option.key)
    if isinstance(written, (*ARRAYS, bool)):
        what = "is neither a length nor a table."
        table.fault(option.key, what, f"Write {option.line}.")
    elif written is not None and not isinstance(written, Mapping):
        value = _quantity(table, replace(option, kind="length"))
        if isinstance(value, float):
            return value
    else:
        return read_table(table.table(option.key, option.line), option.options)
    return read_table(Table({}, *table.place), option.options)


def _tables(table: Table, option: Option) -> tuple[Read | Table, ...]:
    """Tables of an array, read; or as they stand, where they are read later."""

    def name(values: Mapping[str, Any], number: int) -> str:
        own = values.get("id", number) if "id" in option.options else number
        return f"{option.called} {number if str(own).isspace() or own == '' else repr(own)}"

    tables = table.tables(option.key, name)
    if option.key == FEATURE:
        tables = [replace(each, thing=str(each.values.get("id", ""))) for each in tables]
    return tuple(each if option.later else read_table(each, option.options) for each in tables)


_TABLES: Final[Mapping[str, Callable[[Table, Option], Any]]] = {
    "table": _table,
    "tables": _tables,
    "length or table": _length_or_table,
    "prices": read_prices,
    "prices by depth": read_prices_by_depth,
}
_READERS: Final[Mapping[str, Callable[[Table, Option], Any]]] = {
    "text": _text,
    "text or number": _text_or_number,
    "word": _word,
    "list": _list,
    "date": _date,
    "count": _count,
    "number": _number,
    "number by temperature": _number_by_temperature,
    "twelve energies": _twelve_energies,
    "twelve temperatures": _twelve_temperatures,
    "twelve numbers": _twelve_numbers,
    "point": lambda table, option: table.point(option.key),
    "points": _points,
    "lines": lambda table, option: read_lines(table, option.key),
    "point or points": _point_or_points,
    "place": _place,
    "places": _points,
    "any": lambda table, option: table.raw(option.key),
    "price": read_price,
}
