"""Findings in the words for what is laid: of a mat where a mat lies, not of a coil."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from siteplan.findings.model import Finding, Value
from siteplan.vocabulary.loop_types import LoopType, called_part

PARTS: Final = ("part", "parts")
"""Values that name parts of the exchanger."""


def as_laid(findings: Iterable[Finding], loop: LoopType) -> tuple[Finding, ...]:
    """The findings, parts of the exchanger called as what is laid.

    Examples
    --------
    >>> from siteplan.vocabulary.loop_types import loop_type
    >>> from siteplan.vocabulary.pond_bodies import pond_body
    >>> mats = loop_type("pond").called_as(pond_body("flat mat"))
    >>> as_laid([Finding("outside-parcel", "M1", values={"part": "coil"})], mats)[0].values
    {'part': 'flat mat'}
    """
    return tuple(_called(finding, loop) for finding in findings)


def _called(finding: Finding, loop: LoopType) -> Finding:
    named = [key for key in PARTS if key in finding.values]
    changed = {key: _value(finding.values[key], loop) for key in named}
    return replace(finding, values={**finding.values, **changed}) if changed else finding


def _value(value: Value, loop: LoopType) -> Value:
    if isinstance(value, str):
        return called_part(value, loop)
    if isinstance(value, tuple):
        return tuple(called_part(each, loop) for each in value if isinstance(each, str))
    return value
