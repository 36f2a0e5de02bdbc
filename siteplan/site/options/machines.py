"""What a site file may say about the drill rig and the excavator: sizes, and where they come in."""

from __future__ import annotations

from typing import Any

from shapely import Point, Polygon

from siteplan.reading import Table
from siteplan.site.machines import ExcavatorOptions, Machine, RigOptions
from siteplan.site.options.read import Read
from siteplan.units.lengths import format_length

GATE_REACH_M = 1.0
"""How far from the property line a place where the rig comes in may be typed [m]."""


def read_rig(given: Read) -> RigOptions:
    """Rig of a site file's [rig] table."""
    _judge(given)
    return RigOptions(mast_m=given["mast"], **_common(given))


def read_excavator(given: Read) -> ExcavatorOptions:
    """Excavator of a site file's [excavator] table."""
    _judge(given)
    return ExcavatorOptions(boom_m=given["boom"], **_common(given))


def _common(given: Read) -> dict[str, Any]:
    """What both machines have."""
    factor = given.unit.metres
    return {
        "width_m": given["width"],
        "length_m": given["length"],
        "turning_m": given["turning"],
        "gates": tuple((x * factor, y * factor) for x, y in given["from"] or ()),
        "access": given["access"],
    }


def _judge(given: Read) -> None:
    if given["length"] < given["width"]:
        given.fault("length", "is less than the width.", "Swap or correct them.")
    if given["from"] and given["access"] == "anywhere":
        given.fault("from", 'is given beside access = "anywhere".', "Remove one of them.")


def judge_gates(machine: Machine, parcel: Polygon, root: Table) -> None:
    """Note every place where a machine is to come in that is not on the property line."""
    for x, y in machine.gates:
        away = parcel.exterior.distance(Point(x, y))
        if away > GATE_REACH_M:
            factor = root.unit.metres
            root.fault(
                f"[{machine.kind}], from",
                f"({x / factor:.1f}, {y / factor:.1f}) {root.unit} lies "
                f"{format_length(away, root.unit, 1)} from the property line.",
                f"Give the place on the line where the {machine.kind} comes in.",
            )
