"""Trenches wanted, from the table [horizontal] of a site file."""

from __future__ import annotations

from typing import cast

from siteplan.reading import Table
from siteplan.site.model import PROTECTIONS, SOIL_CLASSES, Protection, SoilClass
from siteplan.site.trench_kinds import USUAL, TrenchKind, kind_with, trench_kinds
from siteplan.units.lengths import format_length

MILLIMETRE = 1e-3


def read_kind(table: Table) -> TrenchKind:
    """Kind of trench: the one named, the one with so many pipes, or the usual one."""
    known = trench_kinds()
    name = table.choice("kind", tuple(known), USUAL)
    kind = known[name]
    if not table.has("pipes"):
        return kind
    pipes = table.count("pipes", kind.pipes)
    if table.has("kind"):
        if pipes != kind.pipes:
            table.fault(
                "pipes",
                f"of {pipes} does not go with kind {name!r}, {kind.pipes}.",
                "Leave it out.",
            )
        return kind
    found = kind_with(pipes)
    if found is None:
        several = sorted({one.pipes for one in known.values() if one.coil is None})
        numbers = ", ".join(str(number) for number in several)
        table.fault("pipes", f"of {pipes} are in no kind of trench.", f"Give one of {numbers}.")
        return kind
    return found


def read_trench(table: Table) -> tuple[TrenchKind, float, float]:
    """Kind, depth and width [m] of a trench; what is not said is the kind's own."""
    kind = read_kind(table)
    depth = table.length("depth", kind.depth_m, least=MILLIMETRE)
    width = table.length("width", kind.width_m, least=MILLIMETRE)
    if depth < kind.height_m:
        table.fault(
            "depth",
            f"of {format_length(depth, table.unit)} does not hold the pipe of kind {kind.name!r}, "
            f"which reaches {format_length(kind.height_m, table.unit)} above the bottom.",
            "Dig deeper, or choose another kind.",
        )
    return kind, depth, width


def read_soil(table: Table) -> tuple[SoilClass | None, Protection]:
    """Soil class, None where it is not stated, and how the sides are kept."""
    soil = cast("SoilClass | None", table.choice("soil", SOIL_CLASSES, "") or None)
    protection = cast("Protection", table.choice("protection", PROTECTIONS, "shield"))
    if protection == "slope" and not table.has("soil"):
        table.fault(
            "protection",
            "is slope, but the soil is not stated: how far the sides lean follows from it.",
            'Add soil = "C" where nobody has classed it (29 CFR 1926 Subpart P App. A).',
        )
    return soil, protection
