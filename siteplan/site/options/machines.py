"""What a site file may say about the drill rig and the digger: sizes, and where they come in."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast, get_args

from shapely import Point, Polygon

from siteplan.reading import Table, as_pair
from siteplan.site.machines import DiggerOptions, Machine, MachineAccess, RigOptions
from siteplan.units.lengths import format_length

MILLIMETRE = 1e-3
GATE_REACH_M = 1.0
"""How far from the property line a place where the rig comes in may be typed [m]."""


def read_rig(table: Table, default: Callable[[str], float]) -> RigOptions:
    """Rig of a site file's [rig] table; ``default`` gives the length of a key left out [m]."""
    options = RigOptions(
        width_m=table.length("width", default("width"), least=MILLIMETRE),
        length_m=table.length("length", default("length"), least=MILLIMETRE),
        turning_m=table.length("turning", default("turning")),
        mast_m=table.length("mast", default("mast"), least=MILLIMETRE),
        gates=_gates(table),
        access=_access(table),
    )
    _judge(options, table)
    return options


def read_digger(table: Table, default: Callable[[str], float]) -> DiggerOptions:
    """Digger of a site file's [digger] table; ``default`` gives what a key left out is [m]."""
    options = DiggerOptions(
        width_m=table.length("width", default("width"), least=MILLIMETRE),
        length_m=table.length("length", default("length"), least=MILLIMETRE),
        turning_m=table.length("turning", default("turning")),
        boom_m=table.length("boom", default("boom")),
        gates=_gates(table),
        access=_access(table),
    )
    _judge(options, table)
    return options


def _access(table: Table) -> MachineAccess:
    return cast("MachineAccess", table.choice("access", get_args(MachineAccess), "street"))


def _judge(options: Machine, table: Table) -> None:
    if options.length_m < options.width_m:
        table.fault("length", "is less than the width.", "Swap or correct them.")
    if options.gates and options.access == "anywhere":
        table.fault("from", 'is given beside access = "anywhere".', "Remove one of them.")
    table.finish()


def _gates(table: Table) -> tuple[tuple[float, float], ...]:
    """Places where the rig comes in, one pair or a list of pairs in the file [m]."""
    single = as_pair(table.raw("from"))
    points = [single] if single is not None else table.points("from") or []
    factor = table.unit.metres
    return tuple((x * factor, y * factor) for x, y in points)


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
