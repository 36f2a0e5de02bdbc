"""What the keys of a rule book are for, and which of them helps with a fault."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files

from siteplan.errors import Fault
from siteplan.rule_books.conditions import materials
from siteplan.rule_books.model import SHOWN

_TABLE = re.compile(r", (rule|bound|duty|shown) '?")
OF_ALL = ("read", "status", "superseded_on")
"""Keys of a book that its rows may have too."""


@cache
def keys() -> dict[str, dict[str, str]]:
    """What each key is for, by table: book, rule, when, bound, duty, shown."""
    text = files("siteplan.rule_books").joinpath("keys.toml").read_text(encoding="utf-8")
    lists = {"{shown}": _listed(SHOWN), "{materials}": _materials()}
    told = tomllib.loads(text)
    return {
        table: {key: _filled(line, lists) for key, line in rows.items()}
        for table, rows in told.items()
    }


def _filled(line: str, lists: Mapping[str, str]) -> str:
    """A line with the words that may be written."""
    for name, words in lists.items():
        line = line.replace(name, words)
    return line


def _materials() -> str:
    """The words for fluid, grout, pipe and marking that a book may name."""
    return "; ".join(f"{of}: {_listed(names)}" for of, names in materials().items())


def _listed(words: Iterable[str]) -> str:
    return ", ".join(f"`{word}`" for word in words)


def lines(table: str) -> Iterator[str]:
    """Rows of the page that explain a table, one a key."""
    for key, told in keys()[table].items():
        yield f"| `{key}` | {told} |"


def helped(fault: Fault) -> Fault:
    """A fault of a book, with the line of docs/rule-books.md that helps behind its mend."""
    found = _TABLE.search(fault.where)
    table = found[1] if found else "book"
    table = "when" if "[when]" in fault.where else table
    words = set(re.findall(r"\w+", fault.where.rpartition(",")[2]))
    known = keys()["book"] | keys()[table] if words & {*OF_ALL} else keys()[table]
    line = next((f"{key}: {told}" for key, told in known.items() if key in words), "")
    line = line or ", ".join(known)
    return Fault(fault.where, fault.what, f"{fault.mend} [docs/rule-books.md, {table}: {line}]")
