"""The machines that must come onto a lot: the drill rig and the excavator."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

MachineKind = Literal["rig", "excavator"]
"""What a machine is called on the sheet, and its table in a site file."""

MachineAccess = Literal["street", "anywhere"]
"""Whether it is worked out where a machine gets to, or known that it gets everywhere."""


@dataclass(frozen=True, slots=True)
class RigOptions:
    """The drill rig, as it drives in.

    Parameters
    ----------
    width_m, length_m
        Ground that must be clear for it [m].
    turning_m
        Radius on which the middle of its rear runs; 0: it turns on the spot [m].
    mast_m
        Height of the raised mast, which stands at the rear [m].
    gates
        Places on the property line where it comes in, x and y [m]; none: along the street.
    access
        ``"anywhere"``: the designer knows that it gets everywhere.
    """

    kind: ClassVar[MachineKind] = "rig"
    width_m: float
    length_m: float
    turning_m: float
    mast_m: float
    gates: tuple[tuple[float, float], ...] = ()
    access: MachineAccess = "street"


@dataclass(frozen=True, slots=True)
class ExcavatorOptions:
    """The excavator of the trenches, as it drives in.

    Parameters
    ----------
    width_m, length_m
        Ground that must be clear for it [m].
    turning_m
        Radius on which the middle of its rear runs; 0: it turns on the spot [m].
    boom_m
        How far beyond the end over which it digs its bucket gets, at the surface [m].
    gates
        Places on the property line where it comes in, x and y [m]; none: along the street.
    access
        ``"anywhere"``: the designer knows that it gets everywhere.
    """

    kind: ClassVar[MachineKind] = "excavator"
    width_m: float
    length_m: float
    turning_m: float
    boom_m: float
    gates: tuple[tuple[float, float], ...] = ()
    access: MachineAccess = "street"


Machine = RigOptions | ExcavatorOptions
