"""Rules of one's own, as the page states them and takes them out."""

from __future__ import annotations

from typing import Any, Final

import tomlkit
from tomlkit.items import AoT, Array

from siteplan.site.options.choices import choices
from siteplan.web.written import Document, written

KEYS: Final = ("from", "for", "distance", "source")
"""What the page states of a rule, all of them."""


def subjects() -> list[str]:
    """What a rule may keep something off: the property line, and every kind of thing."""
    return list(choices()["subjects"])


def parts() -> list[str]:
    """What a rule may bind: parts of the loop."""
    return list(choices()["parts"])


def add_rule(document: Document, values: dict[str, Any]) -> None:
    """State a rule of one's own.

    Raises
    ------
    KeyError
        One of what has to be said is missing.
    """
    table = tomlkit.table()
    for key in KEYS:
        table[key] = written(values[key])
    rules: Any = document.setdefault("rules", tomlkit.table())
    known = rules.get("own")
    if isinstance(known, Array):  # written in one line each
        known.append(written({key: values[key] for key in KEYS}))
        return
    if known is None:
        rules["own"] = tomlkit.aot()
    rules["own"].append(table)


def take_rule_out(document: Document, number: int) -> None:
    """Take a rule of one's own out; common practice holds again where it stood for that."""
    rules: Any = document["rules"]
    known: AoT | Array = rules["own"]
    del known[number]
    if not len(known):
        rules.pop("own")
    if not rules:
        document.pop("rules")
