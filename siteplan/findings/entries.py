"""The catalogue: each code with its severity, its sentence, and what to do about it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal, get_args

Severity = Literal["error", "warning", "note"]
"""``error``: the plan does not hold. ``warning``: somebody must decide. ``note``: good to know."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What the catalogue holds on one code.

    Parameters
    ----------
    code
        Stable word for programs.
    chapter
        File of the catalogue it stands in: the matter.
    severity
        Severity of a finding; None of a phrase, which explains or completes another.
    says
        The sentence, with places for values as `siteplan.findings.words` fills them.
    metric
        The sentence on a metric sheet; empty: the same but for the units.
    about
        What it is about, where the sentence is made of another reason; for the page of findings.
    do
        What to do about it, for the page of findings; empty for a phrase.
    at
        Places of the site file at which that is done which it wants, some with names of values in
        braces; of a thing to be drawn ``feature`` and its kind: see `siteplan.findings.places`.
    figure, basis
        What a figure of a calculation is called, and where it comes from; what it ``says`` is its
        value. Empty of everything else.
    """

    code: str
    chapter: str
    severity: Severity | None
    says: str
    metric: str = ""
    about: str = ""
    do: str = ""
    figure: str = ""
    basis: str = ""
    at: tuple[str, ...] = ()


@cache
def entries() -> Mapping[str, Entry]:
    """All entries by code, chapter after chapter.

    Raises
    ------
    ValueError
        A code that stands in two chapters.
    """
    entries_read: dict[str, Entry] = {}
    folder = files("siteplan.findings").joinpath("catalogue")
    for file in sorted(folder.iterdir(), key=lambda chapter: chapter.name):
        chapter = file.name.removesuffix(".toml")
        for code, values in tomllib.loads(file.read_text(encoding="utf-8")).items():
            if code in entries_read:
                raise ValueError(f"{code!r} stands in {entries_read[code].chapter} and {chapter}.")
            entries_read[code] = _entry(code, chapter, values)
    return entries_read


def _entry(code: str, chapter: str, values: Mapping[str, Any]) -> Entry:
    unknown = set(values) - {"severity", "says", "metric", "about", "do", "figure", "basis", "at"}
    severities = [known for known in get_args(Severity) if values.get("severity") == known]
    if unknown or (values.get("severity") and not severities):
        raise ValueError(f"{chapter}, {code}: {sorted(unknown) or values['severity']}")
    return Entry(
        code,
        chapter,
        severity=severities[0] if severities else None,
        says=values["says"],
        metric=values.get("metric", ""),
        about=values.get("about", ""),
        do=values.get("do", ""),
        figure=values.get("figure", ""),
        basis=values.get("basis", ""),
        at=tuple(values.get("at", ())),
    )


def entry_of(code: str) -> Entry:
    """Entry of a code.

    Raises
    ------
    KeyError
        No such code.
    """
    return entries()[code]
