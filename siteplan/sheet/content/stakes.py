"""Stakes as they are set out: tapes and sides, stations and offsets, from points that are known."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from siteplan.sheet.content.base_lines import station_offset
from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.ties import (
    BUILDING_CORNER,
    END,
    PEG,
    PROPERTY_CORNER,
    SKIN_M,
    TAPE_M,
    Ground,
    TiePoint,
    ground_of,
)
from siteplan.sheet.model import XY
from siteplan.site.model import Site

ENTRY: Final = "entry"
HEADER_POINT: Final = "header"
TRENCH_BEND: Final = "trench bend"
CROSSOVER_BEND: Final = "crossover bend"
NO_ELEMENTS: Final = (PROPERTY_CORNER, BUILDING_CORNER, PEG, ENTRY, HEADER_POINT, CROSSOVER_BEND)
"""What is staked, or taped from, and is no part of the exchanger."""
WALL: Final = "WALL"
"""Side of a stake on the wall between its two corners."""
FIRST: Final = 100.0
"""Station of a first peg that has stakes before it, in the unit of length, so that none of them
is negative."""


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape from a tie point, and whether it leads over water."""

    tie: str
    length_m: float
    is_wet: bool = False

    @property
    def is_long(self) -> bool:
        """Whether it is longer than is taped well."""
        return self.length_m > TAPE_M


@dataclass(frozen=True, slots=True)
class Stake:
    """A place to be staked.

    Parameters
    ----------
    tapes
        From two corners or more; empty where it stands by a base line, or no two corners tie it.
    side
        Where it lies seen from the line between the first two corners: ``"N"``, ``"E"``, ``"S"``
        or ``"W"``; ``"WALL"`` where it is on the wall between them.
    line
        Name of its base line, or of the lot line that serves as one; empty where it has none.
    station_m, offset_m
        Way along the line, and at right angles to the left of it [m].
    """

    name: str
    at: XY
    tapes: tuple[Tape, ...] = ()
    side: str = ""
    line: str = ""
    station_m: float = 0.0
    offset_m: float = 0.0


@dataclass(frozen=True, slots=True)
class BaseLine:
    """A line between two pegs, each taped from corners.

    ``first_m`` is the station of its first peg [m]; ``is_wet``: it is stretched over water.
    """

    name: str
    start: Stake
    end: Stake
    first_m: float = 0.0
    is_wet: bool = False

    @property
    def stations_m(self) -> tuple[float, float]:
        """Stations of both pegs [m]."""
        return self.first_m, self.first_m + math.dist(self.start.at, self.end.at)


@dataclass(frozen=True, slots=True)
class SettingOut:
    """Tie points, pegs set halfway, base lines and all stakes of a layout."""

    ties: tuple[TiePoint, ...] = ()
    lines: tuple[BaseLine, ...] = ()
    stakes: tuple[Stake, ...] = ()
    halfway: tuple[Stake, ...] = ()
    by_name: Mapping[str, Stake] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Stakes by their names."""
        object.__setattr__(self, "by_name", {stake.name: stake for stake in self.stakes})

    @property
    def pegs(self) -> tuple[Stake, ...]:
        """Pegs set halfway and both pegs of every base line, each behind those it is taped from."""
        left = [*self.halfway, *(peg for line in self.lines for peg in (line.start, line.end))]
        pegs: list[Stake] = []
        while left:
            names = {peg.name for peg in left}
            ready = (peg for peg in left if names.isdisjoint(tape.tie for tape in peg.tapes))
            # a drawing that was changed may have them taped from one another
            pegs.append(next(ready, left[0]))
            left.remove(pegs[-1])
        return tuple(pegs)

    @property
    def marks(self) -> tuple[TiePoint, ...]:
        """All that is taped from: tie points, and pegs."""
        return (*self.ties, *(TiePoint(peg.name, peg.at, PEG) for peg in self.pegs))

    @property
    def untied(self) -> tuple[str, ...]:
        """Names of stakes that have coordinates only."""
        return tuple(stake.name for stake in self.stakes if not stake.tapes and not stake.line)


Places = Sequence[tuple[str, XY]]
"""Names of stakes and where they stand."""


def set_out(
    site: Site,
    places: Places,
    marks: tuple[Sequence[TiePoint], Places],
    assigned: Mapping[str, Sequence[str]],
) -> SettingOut:
    """Tapes, sides, stations and offsets of stakes whose tie points or base line are known.

    Parameters
    ----------
    marks
        Tie points, and pegs: those set halfway, and the start of each base line, then its end.
    assigned
        By the name of a stake or peg the letters of its tie points, or the name of its base line
        or lot line.
    """
    (ties, pegs), ground = marks, ground_of(site)
    known = {tie.name: tie for tie in (*ties, *(TiePoint(*peg, PEG) for peg in pegs))}
    sides = _lot_lines(assigned, known)
    pegged = {
        name: _by_line(name, at, assigned, sides) or _taped(name, at, assigned, known, ground)
        for name, at in pegs
    }
    by_line = {
        name: {stake: at for stake, at in places if tuple(assigned.get(stake, ())) == (name,)}
        for name in pegged
        if name + END in pegged
    }
    lines = {
        name: _base_line(pegged[name], pegged[name + END], by_line[name].values(), site)
        for name in by_line
    }
    stakes = [
        _by_line(name, at, assigned, {**sides, **lines})
        or _taped(name, at, assigned, known, ground)
        for name, at in places
    ]
    halfway = [pegged[name] for name in pegged if name not in lines and not name.endswith(END)]
    return SettingOut(tuple(ties), tuple(lines.values()), tuple(stakes), tuple(halfway))


def _lot_lines(
    assigned: Mapping[str, Sequence[str]], known: Mapping[str, TiePoint]
) -> dict[str, BaseLine]:
    """Lot lines that serve as base lines, from corner to corner, by their names."""
    names = {names[0] for names in assigned.values() if len(names) == 1}
    lines = {}
    for name in sorted(names):
        start, end = corners_named(name) or ("", "")
        if start in known and end in known and start != end:
            ends = Stake(start, known[start].at), Stake(end, known[end].at)
            lines[name] = BaseLine(name, *ends)
    return lines


def _by_line(
    name: str, at: XY, assigned: Mapping[str, Sequence[str]], lines: Mapping[str, BaseLine]
) -> Stake | None:
    """A stake at a station and an offset, None where it stands by no line."""
    names = assigned.get(name, ())
    line = lines.get(names[0]) if len(names) == 1 else None
    return None if line is None else _lined(name, at, line)


def _base_line(start: Stake, end: Stake, served: Iterable[XY], site: Site) -> BaseLine:
    """The line of two pegs; the first is no zero where stakes lie before it."""
    before = any(station_offset(start.at, end.at, at)[0] < -0.005 for at in served)
    wet = bool(ground_of(site).wet(np.array(start.at), np.array(end.at)))
    return BaseLine(start.name, start, end, FIRST * site.unit.metres if before else 0.0, wet)


def _lined(name: str, at: XY, line: BaseLine) -> Stake:
    station, offset = station_offset(line.start.at, line.end.at, at)
    return Stake(name, at, line=line.name, station_m=line.first_m + station, offset_m=offset)


def _taped(
    name: str, at: XY, assigned: Mapping[str, Sequence[str]], known: Mapping[str, TiePoint],
    ground: Ground,
) -> Stake:  # fmt: skip
    ties = [known[letter] for letter in assigned.get(name, ()) if letter in known]
    if len(ties) < 2:
        return Stake(name, at)
    wet = ground.wet(np.array([tie.at for tie in ties]), np.array(at))
    tapes = tuple(
        Tape(tie.name, math.dist(tie.at, at), bool(over))
        for tie, over in zip(ties, wet, strict=True)
    )
    first, other = ties[0].at, ties[1].at
    straight = math.dist(first, at) + math.dist(other, at) - math.dist(first, other)
    return Stake(name, at, tapes, WALL if straight < SKIN_M / 10 else side_of(first, other, at))


def side_of(first: XY, other: XY, at: XY) -> str:
    """Side of a line on which a place lies: the quarter its right angle points to.

    Examples
    --------
    >>> side_of((0.0, 0.0), (10.0, 1.0), (5.0, 8.0)), side_of((0.0, 0.0), (1.0, 10.0), (5.0, 0.0))
    ('N', 'E')
    """
    x, y = other[0] - first[0], other[1] - first[1]
    left = x * (at[1] - first[1]) - y * (at[0] - first[0]) > 0.0
    east, north = (-y, x) if left else (y, -x)
    if abs(north) >= abs(east):
        return "N" if north > 0 else "S"
    return "E" if east > 0 else "W"
