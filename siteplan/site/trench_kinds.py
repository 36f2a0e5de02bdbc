"""Kinds of trench, read once from ``trench_kinds.toml``: how the pipe lies in it."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final, Literal

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.units.lengths import parse_length
from siteplan.units.model import UnitSystem

USUAL: Final = "two pipes side by side"
"""Kind of a trench of which nothing is said; common practice, no source."""


@dataclass(frozen=True, slots=True)
class CoilShape:
    """Rings of a coiled pipe: their diameter, from ring to ring along the trench, and how they lie.

    Parameters
    ----------
    diameter_m, pitch_m
        Of a ring; from one ring to the next [m].
    lies
        On the bottom, or on edge.
    """

    diameter_m: float
    pitch_m: float
    lies: Literal["flat", "upright"]


@dataclass(frozen=True, slots=True)
class TrenchKind:
    """What depends on the kind of a trench alone.

    Parameters
    ----------
    name
        As written in a site file.
    words
        Before "trench" in a sentence.
    width_m, depth_m
        Usual width, and depth of the bottom [m].
    at
        Where each pipe lies: aside from the middle, and above the bottom [m].
    coil
        How the pipe is coiled, None for straight pipe.
    """

    name: str
    words: str
    width_m: float
    depth_m: float
    at: tuple[tuple[float, float], ...]
    coil: CoilShape | None = None

    @property
    def pipes(self) -> int:
        """Runs of pipe in the trench; a coil counts as one out and one back."""
        return len(self.at) if self.coil is None else 2

    @property
    def pipe_per_m(self) -> float:
        """Pipe in a metre of trench: of a coil, a ring and its pitch to every pitch [m/m].

        Examples
        --------
        Rings of 33 in, 18 in apart: (pi 33 + 18)/18.

        >>> round(trench_kinds()["flat coil"].pipe_per_m, 2)
        6.76
        """
        if self.coil is None:
            return float(len(self.at))
        return (math.pi * self.coil.diameter_m + self.coil.pitch_m) / self.coil.pitch_m

    @property
    def height_m(self) -> float:
        """How far the pipe reaches above the bottom [m]."""
        top = max(above for _, above in self.at)
        upright = self.coil is not None and self.coil.lies == "upright"
        return top + self.coil.diameter_m if upright and self.coil is not None else top

    def depth_below(self, frost_m: float | None, unit: UnitSystem) -> float:
        """Usual depth, or by half steps as much more as lays the uppermost pipe below frost [m].

        Examples
        --------
        Two pipes stacked, the upper 27 in above the bottom, frost to 4 ft: 6.25 ft, so 6.5 ft.

        >>> from siteplan.units.systems import UNIT_SYSTEMS
        >>> feet, stacked = UNIT_SYSTEMS["ft"], trench_kinds()["two pipes stacked"]
        >>> [round(stacked.depth_below(deep, feet) / 0.3048, 2) for deep in (None, 4 * 0.3048)]
        [6.0, 6.5]
        """
        least_m = (frost_m or 0.0) + self.height_m
        if least_m <= self.depth_m + TOLERANCE:
            return self.depth_m
        step_m = unit.step_m / 2
        return math.ceil(least_m / step_m - TOLERANCE) * step_m


@cache
def trench_kinds() -> dict[str, TrenchKind]:
    """All kinds by name, in the order of the file.

    Examples
    --------
    >>> [kind.pipes for kind in trench_kinds().values()]
    [1, 2, 2, 4, 6, 2, 2, 6]
    """
    text = files("siteplan.site").joinpath("trench_kinds.toml").read_text(encoding="utf-8")
    return {name: _kind(name, row) for name, row in tomllib.loads(text).items()}


def kind_with(pipes: int) -> TrenchKind | None:
    """First kind with so many straight pipes, None where there is none."""
    plain = [kind for kind in trench_kinds().values() if kind.coil is None]
    return next((kind for kind in plain if kind.pipes == pipes), None)


def _kind(name: str, row: dict[str, Any]) -> TrenchKind:
    coil = row.get("coil")
    return TrenchKind(
        name=name,
        words=row["words"],
        width_m=parse_length(row["width"], "m"),
        depth_m=parse_length(row["depth"], "m"),
        at=tuple(
            (parse_length(aside, "m"), parse_length(above, "m")) for aside, above in row["at"]
        ),
        coil=None
        if coil is None
        else CoilShape(
            parse_length(coil["diameter"], "m"), parse_length(coil["pitch"], "m"), coil["lies"]
        ),
    )
