"""What is required of the exchanger, and on whose word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Basis = Literal["given", "calculated", "screening"]
"""``given``: somebody worked it out. ``calculated``: here, from loads and ground. ``screening``:
common practice per ton, never for permit."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the reasoning: what, its value with the unit, and where it comes from."""

    words: str
    value: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Required:
    """Exchanger length required of one loop type; of an open loop, the flow.

    Parameters
    ----------
    length_m
        Metres of trench, bore or pond pipe; 0 for an open loop [m].
    basis
        Where the figure comes from.
    reason
        The same in words, for the sheet.
    flow_m3s
        Water an open loop needs [m3/s]; 0 for the others.
    lines
        The reasoning, line by line.
    """

    length_m: float
    basis: Basis
    reason: str
    flow_m3s: float = 0.0
    lines: tuple[Line, ...] = ()
