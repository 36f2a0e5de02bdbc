"""Distances that a site file and the books it names ask for, read without the package.

What turns on a condition is left out, and common practice is asked only where no book and no own
rule speaks of the part and the kind at all: what is left must be kept on any lot.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from places import ROOT
from site_as_written import SiteAsWritten, Written, metres

BOOKS: Final = ROOT / "siteplan" / "rule_books" / "shipped"
ALL_BUT_HEADER: Final = ("bore", "trench", "coil", "supply well", "return well")
PLAIN: Final = ("nearest part", "field perimeter", "casing", "overhang", "centre")
"""Ways of measuring that are worked out here; the others ask for no less than the nearest part."""
OPEN: Final = ("when", "use", "unless_outside", "within")


@dataclass(frozen=True)
class Asked:
    """A distance of a part from a kind of thing: how much [m], how measured, who asks for it."""

    part: str
    kind: str
    distance_m: float
    measure: str
    name: str
    only: str = ""


@cache
def book(name: str) -> tuple[dict[str, Any], ...]:
    """Rules of a shipped book."""
    return tuple(
        tomllib.loads((BOOKS / f"{name}.toml").read_text(encoding="utf-8")).get("rule", ())
    )


def measure_of(rule: str) -> str:
    """How a rule of a book measures, by ``book/id``; empty where it is not of a book."""
    name, _, number = rule.partition("/")
    if not (BOOKS / f"{name}.toml").exists():
        return ""
    return next(
        (row.get("measure", "nearest part") for row in book(name) if row["id"] == number), ""
    )


def _stated(site: SiteAsWritten) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Rows of own rules, and of the books named."""
    rules = site.values.get("rules", {})
    own = [{"id": "own", **row} for row in rules.get("own", ())]
    names = [name for name in rules.get("books", ()) if name != "common-practice"]
    return own, [row for name in names for row in book(name)]


def spoken(site: SiteAsWritten) -> set[tuple[str, str]]:
    """Parts and kinds of which a book or an own rule speaks at all."""
    own, named = _stated(site)
    return {(part, kind) for row in (*own, *named) for part in _parts(row) for kind in _kinds(row)}


def asked_on(site: SiteAsWritten) -> list[Asked]:
    """All that is asked for without a condition."""
    own, named = _stated(site)
    taken = spoken(site)
    asked = [each for row in (*own, *named) for each in _asked(row, site.unit_m)]
    usual = [each for row in book("common-practice") for each in _asked(row, site.unit_m)]
    asked += [each for each in usual if (each.part, each.kind) not in taken]
    asked += [each for row in book("us-safety") for each in _asked(row, site.unit_m)]
    for feature in site.features:
        if "clearance" in feature.says:
            distance = metres(feature.says["clearance"], site.unit_m)
            asked += [
                Asked(part, feature.kind, distance, "nearest part", "clearance", feature.id)
                for part in ALL_BUT_HEADER
            ]
    return asked


def _asked(row: dict[str, Any], unit_m: float) -> Iterator[Asked]:
    if (
        row.get("says", "at least") != "at least"
        or "distance" not in row
        or any(k in row for k in OPEN)
    ):
        return
    if row.get("measure", "nearest part") not in PLAIN:
        return
    for part in _parts(row):
        for kind in _kinds(row):
            distance = metres(row["distance"], unit_m)
            yield Asked(part, kind, distance, row.get("measure", "nearest part"), row["id"])


def _parts(row: dict[str, Any]) -> tuple[str, ...]:
    parts = row.get("for", ALL_BUT_HEADER)
    return (parts,) if isinstance(parts, str) else tuple(parts)


def _kinds(row: dict[str, Any]) -> tuple[str, ...]:
    kinds = row["from"]
    return (kinds,) if isinstance(kinds, str) else tuple(kinds)


def around(feature: Written, unit_m: float, measure: str = "") -> float:
    """How far around its drawn shape a thing reaches [m]."""
    margin = metres(feature.says.get("width", 0.0), unit_m) / 2
    return margin + (
        metres(feature.says.get("overhang", 0.0), unit_m) if measure == "overhang" else 0.0
    )
