"""What a site file may say: every option declared once, in the files under ``catalogue/``.

From the declarations come the reader (`siteplan.site.options.read`), the tables of
docs/site-file.md and the JSON Schema that ``siteplan schema`` prints. A catalogue has the shape of
a site file: a table of it declares a table or an option, by these keys.

is
    What the value is: one of `KINDS`.
help
    One line that says what the option is for.
default
    What is taken where the file is silent, as the file would say it.
usual
    The same in words, where it depends on something else.
example
    A value; of tables a text that shows how they are written.
least, most, above
    Limits, as the file would write them; ``above = 0``: more than zero.
beyond, below
    What no site has: more, or less, is a slip of the pen or of the unit; common practice, no
    source.
name
    True: a name, or words of one line on a sheet, no longer than a name may be.
choices
    Words that may be written: a name of `siteplan.site.options.choices`.
words
    Words that may stand instead of a value of the kind.
ending
    Ending of the files that a list may name beside its choices.
required, filled, each_once
    True: must be written; must not be empty; a list that names nothing twice.
optional
    True: a table that is not there means something else than an empty one.
of, not_of
    Kinds of feature that have, or have not, the option.
called, later
    What one of an array is called in messages; true: tables that are read where more is known.
note, rows_us, rows_metric, times_least
    Beside the example in a message; rows of a table by temperature, as examples; default of
    ``most`` as a multiple of ``least``.
bears
    Short name of a figure that bears on a calculated length: not stated, it is shown as assumed.
like
    Path of the option that is declared alike; what stands beside it comes first.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from importlib.resources import files
from typing import Any, Final

from siteplan.vocabulary.kinds import frozen

FILES: Final = ("lot", "loops", "machines", "heat", "pipes", "plan", "prices")
"""Files of the catalogue, in the order in which a site file is read and explained."""

QUANTITIES: Final = (
    "length", "angle", "flow", "power", "voltage", "temperature", "difference", "conductivity",
    "diffusivity", "flux", "freezing index", "density", "pressure", "volume", "mass", "bearing",
    "day", "speed", "permeability", "transmissivity",
)  # fmt: skip
"""Kinds of value that carry a unit, or have a parser of their own."""

TABLES: Final = ("table", "tables", "length or table", "prices", "prices by depth")
KINDS: Final = (
    "text", "text or number", "word", "list", "date", "count", "number", "number by temperature",
    "twelve energies",
    "twelve temperatures", "twelve numbers", "point", "points", "lines", "point or points",
    "place", "places", "any", "price",
    *QUANTITIES, *TABLES,
)  # fmt: skip
"""What a value may be."""


@dataclass(frozen=True, slots=True)
class Option:
    """One option, or one table with the options in it; the keys are those of the catalogue.

    Parameters
    ----------
    path
        Where it stands in a site file, such as ``vertical.grid.rows``.
    kind
        What the value is: ``is`` in the catalogue.
    options
        What a table may hold, by key.
    text_as
        Key of a table that a text in its place stands for; empty: a text is a fault.
    """

    path: str
    kind: str
    help: str
    default: Any = None
    usual: str = ""
    example: Any = None
    least: Any = None
    most: Any = None
    above: float | None = None
    beyond: Any = None
    below: Any = None
    name: bool = False
    choices: str = ""
    words: tuple[str, ...] = ()
    ending: str = ""
    required: bool = False
    filled: bool = False
    each_once: bool = False
    optional: bool = False
    of: tuple[str, ...] = ()
    not_of: tuple[str, ...] = ()
    called: str = ""
    later: bool = False
    note: str = ""
    bears: str = ""
    rows_us: tuple[str, ...] = ()
    rows_metric: tuple[str, ...] = ()
    times_least: float | None = None
    like: str = ""
    text_as: str = ""
    options: Mapping[str, Option] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """Key in its table."""
        return self.path.rpartition(".")[2]

    @property
    def rows(self) -> Mapping[str, tuple[str, ...]]:
        """Rows of a table by temperature as an example, by edition of the unit system."""
        return {"us": self.rows_us, "metric": self.rows_metric}

    @property
    def line(self) -> str:
        """A line of a site file that says it, as an example."""
        if self.kind in TABLES:
            within = ", ".join(option.line for option in self.options.values() if option.required)
            return str(self.example or f"[{self.path}]" + (f", with {within}" if within else ""))
        return f"{self.key} = {written(self.example)}" + (f" ({self.note})" if self.note else "")

    def belongs_to(self, kind: str) -> bool:
        """Whether a feature of this kind has the option."""
        return kind not in self.not_of and (not self.of or kind in self.of)


MOST_HOMES: Final = 3
"""So many tables are named that a misplaced key may belong to."""
ATTRIBUTES: Final = {item.name for item in fields(Option)} - {"path", "kind", "options"}


def written(value: object) -> str:
    """A value as TOML writes it.

    Examples
    --------
    >>> written("10 ft"), written([1, 2.5]), written(True)
    ('"10 ft"', '[1, 2.5]', 'true')
    """
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(written(item) for item in value)}]"
    return value.isoformat() if isinstance(value, datetime.date) else str(value)


@cache
def catalogue() -> Option:
    """The whole site file, declared.

    Examples
    --------
    >>> catalogue().options["rig"].options["width"].default
    '8 ft'
    """
    folder = files("siteplan.site.options").joinpath("catalogue")
    content: dict[str, Any] = {}
    for name in FILES:
        content |= tomllib.loads(folder.joinpath(f"{name}.toml").read_text(encoding="utf-8"))
    return Option("", "table", "a site file", options=_options(content, "", content))


def declared(path: str) -> Option:
    """Option at a path, such as ``vertical.grid.rows``.

    Raises
    ------
    KeyError
        Nothing is declared there.
    """
    option = catalogue()
    for key in path.split("."):
        option = option.options[key]
    return option


def every_option(option: Option | None = None) -> Iterator[Option]:
    """All options and tables below one, in the order of the catalogue; None: of the whole file."""
    for inner in (option or catalogue()).options.values():
        yield inner
        yield from every_option(inner)


@cache
def homes_of(key: str, but: str = "") -> tuple[str, ...]:
    """Tables that have a key, as their headings; none where too many do to name them.

    Of the table that is being read (``but``) the kinds of feature that have the key.

    Examples
    --------
    >>> homes_of("parcel"), homes_of("tilt")
    (('[geometry]',), ('[vertical.pad]',))
    >>> homes_of("rules", "project")
    ('[rules], such as books = ["maine"]',)
    >>> homes_of("overhang", "feature")
    ('a feature of kind building, planned addition, silo',)
    """
    headings = []
    for option in every_option():
        path = option.path.rpartition(".")[0]
        if option.key != key:
            continue
        if not path:
            # a table of its own, of which somebody thinks as a key
            shown = next((each.line for each in option.options.values() if each.example), "")
            headings += [f"[{key}], such as {shown}"] if but and shown else []
        elif path != but:
            headings.append(f"[[{path}]]" if declared(path).kind == "tables" else f"[{path}]")
        elif option.of:
            headings.append(f"a {path} of kind {', '.join(option.of)}")
    return tuple(headings) if len(headings) <= MOST_HOMES else ()


def _options(
    table: Mapping[str, Any], path: str, content: Mapping[str, Any]
) -> Mapping[str, Option]:
    """Options declared in a table: whatever is a table itself."""
    return {
        key: _option(value, f"{path}.{key}" if path else key, content)
        for key, value in table.items()
        if isinstance(value, dict)
    }


def _option(row: Mapping[str, Any], path: str, content: Mapping[str, Any]) -> Option:
    if "like" in row:
        pattern: Any = content
        for key in row["like"].split("."):
            pattern = pattern[key]
        row = {**pattern, **row}
    said = {key: frozen(value) for key, value in row.items() if not isinstance(value, dict)}
    kind = said.pop("is", "")
    if kind not in KINDS or not set(said) <= ATTRIBUTES:
        raise ValueError(f"catalogue, {path}: is = {kind!r}, {sorted(set(said) - ATTRIBUTES)}")
    return Option(path, kind, options=_options(row, path, content), **said)
