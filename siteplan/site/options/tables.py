"""The options of a site file as tables of a Markdown page.

A page holds each table between a line ``<!-- options of horizontal -->`` and a line
``<!-- end of options -->``; what stands around them is written by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from siteplan.site.options.choices import choices
from siteplan.site.options.declared import TABLES, Option, declared, written
from siteplan.site.options.quantities import limit_words
from siteplan.units.systems import METRIC, US

MARKED = re.compile(r"(<!-- options of ([a-z_.]+) -->\n).*?(<!-- end of options -->)", re.DOTALL)
HEAD = "| key | value | default | meaning |\n| --- | --- | --- | --- |\n"
LISTED_ELSEWHERE = ("kinds", "uses", "rule books", "subjects", "measures")
"""Choices that another table or page explains one by one."""

PLAIN = {
    "text or number": "text or a whole number",
    "count": "whole number",
    "number by temperature": "number, or a table of numbers by temperature",
    "list": "text, or a list of texts",
    "point": "`[x, y]`",
    "points": "`[[x, y], ...]`",
    "lines": "`[[[x, y], [x, y], ...], ...]`",
    "place": "`[x, y]`, or a place by tape",
    "places": "`[[x, y], ...]`, each point also a place by tape",
    "point or points": "`[x, y]` or `[[x, y], ...]`",
    "bearing": "bearing or degrees",
    "day": "day of the year",
    "difference": "temperature difference",
    "flux": "heat flow of an area",
    "length or table": "length, or table",
    "any": "anything",
    "price": "price or `[low, high]`",
    "prices": "table of prices",
    "prices by depth": "table of prices by depth",
}
"""Kinds of value in words, where their own name does not do."""
DEEPEST = 2
"""Dots in the path of a table whose own options are not listed: another page has them."""
SHOWN_ITEMS = 4
"""Items of a long list that an example shows."""


def with_tables(page: str) -> str:
    """A page with its tables of options as they are declared.

    Raises
    ------
    KeyError
        A marker names a table that is not declared.
    """
    return MARKED.sub(lambda match: f"{match[1]}{options_table(match[2])}{match[3]}", page)


def options_table(path: str) -> str:
    """Table of all options of one table of the site file, those of tables within it too."""
    return HEAD + "".join(_rows(declared(path), ""))


def _rows(table: Option, above: str) -> Iterator[str]:
    for key, option in table.options.items():
        name = f"`{above}{key}`"
        name = f"**{name}**" if option.required else name
        yield f"| {name} | {_value(option)} | {_default(option)} | {_meaning(option)} |\n"
        # what is declared like another table is listed there
        if option.kind in TABLES and option.path.count(".") < DEEPEST and not option.like:
            yield from _rows(option, f"{above}{key}.")


def _value(option: Option) -> str:
    """What may be written, with its limits."""
    kind = PLAIN.get(option.kind, option.kind)
    if option.kind == "prices":
        return f"{kind}, by {', '.join(f'`{word}`' for word in choices()[option.choices])}"
    if option.choices and option.choices not in LISTED_ELSEWHERE:
        listed = ", ".join(f"`{word}`" for word in choices()[option.choices])
        return f"{'one or several' if option.kind == 'list' else 'one'} of {listed}"
    if option.kind == "word":
        return "text"
    return " or ".join(
        (f"{kind} {_limits(option)}".strip(), *(f"`{word}`" for word in option.words))
    )


def _limits(option: Option) -> str:
    if option.kind.startswith("number") or option.kind == "twelve numbers":
        return f"{option.least:.3g} to {option.most:g}"
    if option.kind in ("points", "lines", "point or points") or option.kind in TABLES:
        return ""
    if option.kind == "count":
        return f"{option.least} to {option.most:,}"
    if option.above is not None:
        return f"> {option.above:g}"
    if option.most is None:
        return "" if option.least is None else f"≥ {option.least:g}"
    feet, metres = limit_words(option, US), limit_words(option, METRIC)
    return feet if feet == metres else f"{feet} ({metres})"


def _default(option: Option) -> str:
    if option.required:
        return "required"
    if option.default is None:
        return option.usual
    if option.kind == "word":
        return f"`{option.default}`"
    return f"{option.default:g}" if isinstance(option.default, float) else str(option.default)


def _meaning(option: Option) -> str:
    """The line of help, with an example where no default shows what a value looks like."""
    if option.default is not None or option.example is None or option.kind in TABLES:
        return option.help
    example = option.example
    if isinstance(example, tuple) and len(example) > SHOWN_ITEMS:
        shown = ", ".join(written(item) for item in example[:2])
        return f"{option.help}; such as `[{shown}, ...]`"
    return f"{option.help}; such as `{written(example)}`"
