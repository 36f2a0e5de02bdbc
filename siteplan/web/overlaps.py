"""Things drawn on one another, told while somebody draws."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from siteplan.advisories.plausible import on_each_other
from siteplan.findings.words import words_of
from siteplan.site.model import Feature
from siteplan.units.model import UnitSystem

Json = dict[str, Any]


def overlaps_told(
    features: Sequence[Feature], unit: UnitSystem, moved: Collection[str] = ()
) -> list[Json]:
    """What lies on the same ground and cannot: ``things`` by name, and ``words``.

    Parameters
    ----------
    features
        Things on the lot.
    unit
        Unit system of the lot.
    moved
        Names of those that move: only what lies on one of them is told; of all where none does.
    """
    told = []
    for each in on_each_other(features, alike=True):
        things = [each.subject, str(each.values["other"])]
        if not moved or set(things) & set(moved):
            told.append({"things": things, "words": words_of(each, unit)})
    return told
