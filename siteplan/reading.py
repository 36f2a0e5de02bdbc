"""Strict reading of TOML tables: every fault is collected, none stops the reading.

A reader asks a `Table` for its keys one by one; what is missing, of the wrong type, out of
range or misspelt becomes a `Fault` that names file and key. At the end the caller raises them
all together.
"""

from __future__ import annotations

import difflib
import json
import math
import re
import reprlib
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from siteplan.errors import Fault, InputError
from siteplan.limits import MOST_TOML_BYTES, digits_beyond, file_beyond, values_beyond
from siteplan.units.lengths import parse_length
from siteplan.units.model import UnitSystem
from siteplan.units.systems import METRIC
from siteplan.units.written import UnitError
from siteplan.vocabulary.meant import MEANT

NEAR = 0.8
"""How alike a foreign key must be to one of ours to count as misspelt."""
GEOMETRY_FILES = frozenset({
    ".gpkg", ".shp", ".fgb", ".kml", ".kmz", ".zip", ".geojson", ".json", ".parquet", ".gdb",
    ".dxf", ".dwg", ".csv", ".gpx",
})  # fmt: skip
"""What nobody writes a site in: whoever hands one over has a lot, not yet a site file."""
CURLY: Final = re.compile("=[^\"'#]*[“”„]")
"""A value that begins with a quote of print, as word processors put it."""
ARRAYS = (list, tuple)
"""What an array of TOML may be: a tuple where values come from memory."""
Pair = tuple[float, float]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Hint with the nearest known words.

    Examples
    --------
    >>> did_you_mean("spaceing", ["depth", "spacing"])
    "did you mean 'spacing'?"
    >>> did_you_mean("x", ["depth", "spacing"])
    'known: depth, spacing.'
    >>> did_you_mean("shale", ["wet shale", "dry shale", "slate"])
    "did you mean 'wet shale' or 'dry shale'?"
    >>> did_you_mean("sand and gravel", ["clay", "sand", "heavy sand, 5 % water"])
    "did you mean 'sand'?"
    """
    names = list(known)
    plain = word.strip().casefold()
    near = [name for name in MEANT.get(plain, ()) if name in names][:1]
    near = near or [name for name in names if plain in name.casefold().split()]
    said = plain.replace(",", " ").split()
    near = near or [name for name in names if name.casefold() in said]
    near = near or difflib.get_close_matches(word, names, n=1)
    told = " or ".join(map(repr, near))
    between = "; " if any("," in name for name in names) else ", "
    return f"did you mean {told}?" if near else f"known: {between.join(names)}."


def _spaced(word: str) -> str:
    """A word in small letters, with one space before a percent sign.

    Examples
    --------
    >>> _spaced("Ethylene Glycol  25%")
    'ethylene glycol 25 %'
    """
    return " ".join(word.casefold().replace("%", " %").split())


def judge_file(path: Path, most_bytes: int) -> Fault | None:
    """What keeps a file from being read; None where nothing does."""
    beyond = file_beyond(path, most_bytes)
    return None if beyond is None else Fault(str(path), *beyond)


def is_beside(path: Path, folder: Path, table: Table, key: str = "file") -> bool:
    """Whether a file that a site file names is in its own folder or below; else it is a fault.

    Site files come by mail: none may lead to what lies elsewhere on a computer, nor through a link.
    """
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        return True  # there is no such path, which is told where it is opened
    if not inside:
        what = f"is {str(path)!r}, outside the folder of the site file."
        table.fault(key, what, "Copy it into that folder, and name it without a path.")
    return inside


def beyond_limits(values: Any, where: str) -> list[Fault]:
    """Faults of every value that is nested too deep, too long, too large or cannot be printed."""
    return [
        Fault(f"{where}, {place}" if place else where, what, mend)
        for place, what, mend in values_beyond(values)
    ]


def load_toml(path: Path) -> dict[str, Any]:
    """Content of a TOML file.

    Raises
    ------
    InputError
        It cannot be read.
    """
    if path.suffix.lower() in GEOMETRY_FILES:
        mend = f"Make a site of it: siteplan new FOLDER --parcel {path}"
        raise InputError([Fault(str(path), "is a geometry file, not a site file.", mend)])
    fault = judge_file(path, MOST_TOML_BYTES)
    if fault is not None:
        raise InputError([_as_editors_save_it(path, fault)])
    try:
        text = path.read_text(encoding="utf-8-sig")
        values = tomllib.loads(text)
    except (OSError, UnicodeDecodeError) as error:
        fault = Fault(str(path), f"cannot be read ({error}).", "Save it as UTF-8 text.")
    except RecursionError:
        fault = Fault(str(path), "is nested too deep.", "Write it as docs/site-file.md shows.")
    except ValueError as error:
        digits = digits_beyond(text)
        fault = Fault(str(path), f"is not valid TOML: {error}.", _quotes_mended(text))
        if digits is not None:
            fault = Fault(f"{path}, {digits[0]}", *digits[1:])
    else:
        faults = beyond_limits(values, path.name)
        if not faults:
            return values
        raise InputError(faults)
    raise InputError([fault])


def _as_editors_save_it(path: Path, fault: Fault) -> Fault:
    """The fault of a file that is not there; some editors add an ending to its name."""
    hidden = path.parent / f"{path.name}.txt"
    if not path.name or file_beyond(hidden, MOST_TOML_BYTES) is not None:
        return fault
    return Fault(fault.where, fault.what, f"There is {hidden.name}: call it {path.name}.")


def _quotes_mended(text: str) -> str:
    """How to mend a file that is no TOML: word processors put quotes of print."""
    for number, line in enumerate(text.splitlines(), start=1):
        if CURLY.search(line):
            return f'Write straight quotes (") in line {number}.'
    return "Mend that line."


def load_json(path: Path, most_bytes: int, mend: str) -> Any:
    """Content of a JSON file.

    Raises
    ------
    InputError
        It cannot be read, or has a value beyond the limits.
    """
    fault = judge_file(path, most_bytes)
    if fault is not None:
        raise InputError([fault])
    text = ""
    try:
        text = path.read_text(encoding="utf-8-sig")
        content = json.loads(text)
    except (OSError, ValueError, RecursionError) as error:
        fault = Fault(str(path), f"is not readable JSON ({error}).", mend)
        digits = digits_beyond(text)
        raise InputError(
            [fault if digits is None else Fault(f"{path}, {digits[0]}", *digits[1:])]
        ) from None
    faults = beyond_limits(content, path.name)
    if faults:
        raise InputError(faults)
    return content


@dataclass
class Table:
    """One table of a TOML file, read key by key into a shared list of faults.

    Parameters
    ----------
    values
        The raw table.
    where
        File and table, for messages.
    faults
        Where faults go.
    unit
        Unit of bare lengths.
    thing
        Id of the thing on the lot that it describes; empty: it describes none.
    """

    values: Mapping[str, Any]
    where: str
    faults: list[Fault]
    unit: UnitSystem = METRIC
    thing: str = ""
    _asked: dict[str, None] = field(default_factory=dict)

    def fault(self, key: str, what: str, mend: str) -> None:
        """Note one fault at a key of this table."""
        place = f"{self.where}, {key}" if key else self.where
        self.faults.append(Fault(place, what, mend, self.thing, key if self.thing else ""))

    @property
    def place(self) -> tuple[str, list[Fault], UnitSystem, str]:
        """What a table of other values has in common with it where it stands in its place."""
        return self.where, self.faults, self.unit, self.thing

    @property
    def asked(self) -> frozenset[str]:
        """Keys that were asked for so far."""
        return frozenset(self._asked)

    def has(self, key: str) -> bool:
        """Whether the key is written."""
        self._asked[key] = None
        return key in self.values

    def raw(self, key: str) -> Any:
        """Value as it stands, or None."""
        return self.values[key] if self.has(key) else None

    def required(self, key: str, example: str) -> bool:
        """Whether a key that must be there is; its absence is a fault."""
        if self.has(key):
            return True
        self.fault(key, "is missing.", f"Add a line such as {example}")
        return False

    def text(self, key: str, default: str = "") -> str:
        """Text of a key."""
        value = self.raw(key)
        if value is None:
            return default
        if isinstance(value, str):
            return value.strip()
        self.fault(key, f"{value!r} is not text.", 'Put it in quotes: "...".')
        return default

    def choice(self, key: str, known: Sequence[str], default: str) -> str:
        """One of the known words."""
        value = self.text(key, default)
        if value in known or value == default:
            return value
        plain = _spaced(value)
        alike = [word for word in known if _spaced(word) == plain]
        if len(alike) == 1:
            return alike[0]
        self.fault(key, f"{value!r} is not known;", did_you_mean(value, known))
        return default

    def length(self, key: str, default: float) -> float:
        """Length in metres, zero or more; a bare number is in the table's unit."""
        value = self.quantity(key, lambda given: parse_length(given, self.unit.name))
        if value is None:
            return default
        if value < 0:
            self.fault(key, f"{self.raw(key)!r} is too small.", "Give zero or more.")
            return default
        return value

    def quantity(self, key: str, parse: Callable[[Any], float]) -> float | None:
        """Value read by a unit parser, or None where it is missing or faulty."""
        value = self.raw(key)
        if value is None:
            return None
        try:
            return parse(value)
        except UnitError as error:
            self.fault(key, str(error), "")
            return None

    def table(self, key: str, example: str = "") -> Table:
        """Table under a key; an absent one is empty."""
        value = self.raw(key)
        if value is not None and not isinstance(value, Mapping):
            self.fault(
                key,
                f"{reprlib.repr(value)} is not a table.",
                f"Write it as {example or f'[{key}]'}.",
            )
            value = None
        return Table(value or {}, _within(self.where, key), self.faults, self.unit, self.thing)

    def tables(self, key: str, name: Callable[[Mapping[str, Any], int], str]) -> list[Table]:
        """Tables of an array, each named for messages by ``name(values, number)``."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, ARRAYS) or not all(isinstance(item, Mapping) for item in value):
            self.fault(key, "is not a list of tables.", f"Write each as [[{key}]].")
            return []
        return [
            Table(item, f"{self.where}, {name(item, number)}", self.faults, self.unit)
            for number, item in enumerate(value, start=1)
        ]

    def words(self, key: str) -> tuple[str, ...]:
        """List of texts; a single text counts as a list of one."""
        value = self.raw(key)
        if value is None:
            return ()
        items = [value] if isinstance(value, str) else value
        if isinstance(items, ARRAYS) and all(isinstance(item, str) for item in items):
            return tuple(items)
        self.fault(key, f"{value!r} is not a list of texts.", 'Write ["...", "..."].')
        return ()

    def point(self, key: str) -> Pair | None:
        """One [x, y] pair in the numbers of the file."""
        value = self.raw(key)
        pair = as_pair(value)
        if pair is None and value is not None:
            self.fault(key, f"{value!r} is not a point.", "Write [x, y] with two numbers.")
        return pair

    def points(self, key: str) -> list[Pair] | None:
        """List of [x, y] pairs in the numbers of the file."""
        value = self.raw(key)
        if value is None:
            return None
        if not isinstance(value, ARRAYS):
            self.fault(key, f"{value!r} is not a list of points.", "Write [[x, y], [x, y], ...].")
            return None
        return self.pairs(key, value, "point")

    def pairs(self, key: str, value: Sequence[Any], called: str) -> list[Pair] | None:
        """Items of a list as [x, y] pairs; None where one is none."""
        pairs = [as_pair(item) for item in value]
        for number, (item, pair) in enumerate(zip(value, pairs, strict=True), start=1):
            if pair is None:
                self.fault(key, f"{called} {number}, {item!r}, is not [x, y].", "Give two numbers.")
        points = [pair for pair in pairs if pair is not None]
        return points if len(points) == len(pairs) else None

    def finish(
        self, *, strict: bool = True, homes: Callable[[str], Sequence[str]] = lambda _: ()
    ) -> None:
        """Note every key nobody asked for: it is misspelt, belongs elsewhere or does not exist.

        Where the keys are not ours alone, only what looks misspelt is noted. ``homes`` tells the
        headings of the tables that have a key.
        """
        for key in self.values:
            if key in self._asked:
                continue
            misspelt = difflib.get_close_matches(key, self._asked, n=1, cutoff=NEAR)
            if not (strict or misspelt):
                continue
            elsewhere = () if misspelt else homes(key)
            mend = did_you_mean(key, self._asked)
            if elsewhere and key.casefold() not in MEANT:
                mend = f"it belongs under {' or '.join(elsewhere)}."
            self.fault(key, "is not a key here;", mend)


def _within(where: str, key: str) -> str:
    """Place of a table, as its heading in the file would be written.

    Examples
    --------
    >>> _within("site.toml", "pond"), _within("site.toml, [pond]", "plates")
    ('site.toml, [pond]', 'site.toml, [pond.plates]')
    """
    above, bracket, name = where.rpartition(", [")
    if bracket and name.endswith("]"):
        return f"{above}, [{name[:-1]}.{key}]"
    return f"{where}, [{key}]"


def as_pair(value: object) -> Pair | None:
    """Two finite numbers, or None.

    Examples
    --------
    >>> as_pair([1, 2.5]), as_pair([1, float("nan")]), as_pair("1, 2")
    ((1.0, 2.5), None, None)
    """
    if not isinstance(value, ARRAYS) or len(value) not in (2, 3):
        return None
    x, y = value[0], value[1]
    if any(isinstance(number, bool) or not isinstance(number, (int, float)) for number in (x, y)):
        return None
    if not (math.isfinite(x) and math.isfinite(y)):
        return None
    return float(x), float(y)
