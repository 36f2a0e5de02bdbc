"""Places that a label may have: beside what it names, or led away from it."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from siteplan.sheet.model import XY

CLEARANCE_MM: Final = 0.5
"""Free paper around every text [mm]."""
REACHES_MM: Final = (8.0, 13.0, 19.0, 26.0, 34.0, 44.0, 56.0, 70.0)
"""How far a label may be led away from what it names [mm]."""
TAG_REACHES_MM: Final = (2.5, 4.0, 6.0, *REACHES_MM)
"""The same for a number."""
FAR_REACHES_MM: Final = (6.0, 10.5, 16.0, 22.0, 30.0, 50.0, 63.0, 80.0, 95.0, 112.0, 130.0, 150.0)
"""The same of labels where none of those is free [mm]."""

LED: Final = 14.0
"""What a leader costs, which an eye has to follow: any place beside a symbol (4.9 at most) goes
before."""
LED_FARTHER: Final = 0.6
"""The same for each millimetre."""
LEAST_LED: Final = LED + LED_FARTHER * REACHES_MM[0]
"""What the shortest leader costs."""
FINE_REACHES_MM: Final = tuple(4.0 + 3.7 * step for step in range(48))
"""The same where a leader would meet another from all of those [mm]."""

NUDGES_MM: Final = (-5.0, -3.0, -1.5, 0.0, 1.5, 3.0, 5.0)
"""How far a label that is led is moved aside or up where that spares a line under it [mm]."""
NUDGED: Final = 0.3
"""What a millimetre of that costs."""


@dataclass(slots=True)
class Candidate:
    """One place for a label.

    Not frozen, though nobody changes one: a set makes hundreds of thousands, and each would take
    three times as long.

    Parameters
    ----------
    center
        Middle of the label's box on paper [mm].
    angle_deg
        Direction of reading [deg].
    cost
        How much worse than the best place this one is by itself.
    leader
        Where a leader would point to on paper [mm]; None: no leader needed.
    stand_off
        How far from that point the leader ends, at the edge of a symbol [mm].
    """

    center: XY
    angle_deg: float = 0.0
    cost: float = 0.0
    leader: XY | None = None
    stand_off: float = 0.0


def around(center: XY, width: float, height: float, gap: float) -> list[Candidate]:
    """Eight places around a symbol that takes a circle of radius ``gap``, upper right first.

    Examples
    --------
    >>> around((0.0, 0.0), 6.0, 2.0, 2.0)[4].center
    (5.55, 0.0)
    """
    clear = gap + CLEARANCE_MM + 0.05
    # on the diagonal a circle leaves the corner of a box free to 0.71 of the radius (cos 45°)
    slant = 0.72 * gap + CLEARANCE_MM + 0.05
    x, y = width / 2 + slant, height / 2 + slant
    spots = [
        (x, y), (x, -y), (-x, y), (-x, -y), (width / 2 + clear, 0.0), (-width / 2 - clear, 0.0),
        (0.0, height / 2 + clear), (0.0, -height / 2 - clear),
    ]  # fmt: skip
    return [
        Candidate((center[0] + dx, center[1] + dy), 0.0, 0.7 * rank)
        for rank, (dx, dy) in enumerate(spots)
    ]


@dataclass(frozen=True, slots=True)
class Among:
    """Level places of a label around its own symbol, with the symbols for which it may be taken.

    Parameters
    ----------
    parts
        Size of each part of the label that is looked at, and its middle from that of the label
        [mm].
    """

    places: Sequence[Candidate]
    parts: Sequence[tuple[XY, XY]]
    own: XY
    rivals: Sequence[XY]


def are_nearest_own(labels: Sequence[Among]) -> list[list[bool]]:
    """Of each label which places are nearer to its own symbol than to any other, with each part.

    All labels have as many places.

    Examples
    --------
    >>> places = [Candidate((4.0, 0.0)), Candidate((-4.0, 0.0))]
    >>> are_nearest_own([Among(places, [((4.0, 2.0), (0.0, 0.0))], (0.0, 0.0), [(7.0, 0.0)])])
    [[False, True]]
    """
    if not labels:
        return []
    most = max(len(label.rivals) for label in labels)
    parts = max(len(label.parts) for label in labels)
    far = (math.inf, math.inf)
    centers = np.array([[place.center for place in label.places] for label in labels])
    spots = np.array(
        [[label.own, *label.rivals, *[far] * (most - len(label.rivals))] for label in labels]
    )
    # a part looked at twice changes nothing
    filled = [[*label.parts, *[label.parts[0]] * (parts - len(label.parts))] for label in labels]
    halves, middles = np.moveaxis(np.array(filled), 2, 0)
    # of each label, place, part and symbol how far apart they are
    looked_at = centers[:, :, None] + middles[:, None]
    apart = np.abs(looked_at[:, :, :, None] - spots[:, None, None]) - halves[:, None, :, None] / 2
    away = np.hypot(*np.moveaxis(np.maximum(apart, 0.0), -1, 0))
    clear = away[..., 0] + CLEARANCE_MM < away[..., 1:].min(axis=-1, initial=np.inf)
    return [[bool(each) for each in some] for some in clear.all(axis=-1)]


def led(
    target: XY, width: float, height: float, *, stand_off: float = 0.0,
    reaches: Sequence[float] = REACHES_MM, step_deg: int = 20,
) -> Iterator[Candidate]:  # fmt: skip
    """Places at growing distance around a point, each with a leader to it."""
    for reach in reaches:
        for dx, dy in _directions(step_deg):
            center = (
                target[0] + dx * (reach + width / 2),
                target[1] + dy * (reach + height / 2),
            )
            yield Candidate(center, 0.0, LED + LED_FARTHER * reach, target, stand_off)


@cache
def _directions(step_deg: int) -> list[XY]:
    turns = map(math.radians, range(0, 360, step_deg))
    return [(math.cos(turn), math.sin(turn)) for turn in turns]


def led_far(
    target: XY, width: float, height: float, *, stand_off: float = 0.0, fine: bool = False
) -> Iterator[Candidate]:
    """Places still farther away from a point, or between those; ``fine``: many of them."""
    reaches, step_deg = (FINE_REACHES_MM, 5) if fine else (FAR_REACHES_MM, 8)
    return led(target, width, height, stand_off=stand_off, reaches=reaches, step_deg=step_deg)


def farther(
    candidates: Iterable[Candidate], size: tuple[float, float], *, fine: bool = False
) -> Iterator[Candidate]:
    """Places still farther away from what the candidates' leaders point at, or between theirs.

    ``size``: width and height of the label [mm]; ``fine``: many of them.
    """
    targets = dict.fromkeys(
        (candidate.leader, candidate.stand_off) for candidate in candidates if candidate.leader
    )
    rows = [
        led_far(target, *size, stand_off=stand_off, fine=fine)
        for target, stand_off in targets
        if target is not None
    ]
    return heapq.merge(*rows, key=_own_cost)


def nudged(place: Candidate) -> list[Candidate]:
    """The same place a little to each side, for a label that is led: its leader goes with it.

    Examples
    --------
    >>> first = nudged(Candidate((10.0, 0.0), leader=(0.0, 0.0)))[0]
    >>> first.center, first.leader, round(first.cost, 2)
    ((8.5, 0.0), (0.0, 0.0), 0.45)
    """
    x, y = place.center
    steps = sorted(((dx, dy) for dx in NUDGES_MM for dy in NUDGES_MM), key=lambda s: math.hypot(*s))
    return [
        Candidate(
            (x + dx, y + dy), place.angle_deg, place.cost + NUDGED * math.hypot(dx, dy),
            place.leader, place.stand_off,
        )
        for dx, dy in steps[1:]
    ]  # fmt: skip


def by_cost(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Candidates in the order of their own costs."""
    return sorted(candidates, key=_own_cost)


def _own_cost(candidate: Candidate) -> float:
    return candidate.cost
