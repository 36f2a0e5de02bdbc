"""Where on the page that is done which a message asks for: a field, a tool, another view."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from siteplan.web.fields import called, every_field, leaf, places_in, special

Json = dict[str, Any]
STREET: Final = re.compile(r"\bdraw (?:a|the) (street|driveway|house)\b", re.IGNORECASE)
"""A thing that a message wants drawn."""


def leads_of(text: str) -> list[Json]:
    """What leads to where a message wants something done, each once, in the order of the message.

    Each has ``called``, the words of its button, and either ``path``, that of a field under what
    is wanted, or ``tool`` with ``of``, what is taken up there, or ``view``.

    Parameters
    ----------
    text
        The message as the catalogue has it, with places of the file.

    Examples
    --------
    >>> leads_of("use larger pipe ([circuits] pipe), or another entry point ([[entry]])")
    [{'called': 'circuits: pipe', 'path': 'circuits.pipe'}, {'called': 'Entry', 'tool': 'entry'}]
    """
    found = sorted((*_places(text), *_things(text)), key=lambda each: each[0])
    return each_once(told for _, told in found)


def each_once(found: Iterable[Json | None]) -> list[Json]:
    """What leads somewhere, each once, in order; what leads nowhere is left out."""
    once: list[Json] = []
    for told in found:
        if told is not None and told not in once:
            once.append(told)
    return once


def _places(text: str) -> Iterator[tuple[int, Json]]:
    for begin, _, table, keys in places_in(text):
        for path in [f"{table}.{key}" for _, key in keys] or [table]:
            lead = lead_to(path)
            if lead is not None:
                yield begin, lead


def lead_to(path: str) -> Json | None:
    """What leads to a place of the file; None where nothing on the page does."""
    known: Mapping[str, Any] | None = special().get(path)
    if known is not None and "called" in known:
        return dict(known)
    if path in every_field():
        return {"called": called(path), "path": path}
    field = leaf(str(known["path"]) if known is not None else path)
    return {"called": called(field), "path": field} if field in every_field() else None


def _things(text: str) -> Iterator[tuple[int, Json]]:
    for found in STREET.finditer(text):
        of = found[1].lower()
        yield found.start(), {"called": f"Draw a {of}", **special()[f"feature {of}"]}
