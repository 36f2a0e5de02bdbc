"""A well that is pumped and one that takes the water back: where the water goes, and when.

Everything is told in the pair's own frame: the return well at (0, 0), the supply well at
(separation, 0). A lot that is turned changes nothing. A supply well may be alone as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP: Final = 0.08
"""Step along a streamline as a share of the way to the nearest well [-]."""
TURN: Final = 0.2
"""Step as a share of the time in which the flow of the pair changes by as much as itself [-]."""
NEAR: Final = 0.01
"""Within so much of the separation the rest of the way is a circle around the well [-]."""
STILL: Final = 1e-9
"""What moves on by less than so much of the separation stands where the water does [-]."""
STREAMLINES: Final = 360
MOST_STEPS: Final = 4000
SWEPT: Final = 120
"""Streamlines between which areas lie."""
PARTS: Final = 24
"""Places noted along a streamline within each time."""
REFINED: Final = 41
"""Streamlines followed between the two beside the quickest, to find the quickest of all."""


@dataclass(frozen=True, slots=True)
class Doublet:
    """Two wells and the flow past them.

    Parameters
    ----------
    flow_m3s
        Pumped and taken back [m3/s].
    separation_m
        Between the wells [m].
    thickness_m
        Of the aquifer [m].
    delay
        Volume that must be filled for each that the front takes: the porosity for water, the heat
        capacity of the aquifer over that of water for heat [-].
    past
        Flow of the groundwater past the wells, through a square metre, along the line from the
        return to the supply well and to the left of it [m/s].
    alone
        Whether nothing is taken back: there is no return well, and the separation is a length of
        the lot's size.
    """

    flow_m3s: float
    separation_m: float
    thickness_m: float
    delay: float
    past: tuple[float, float] = (0.0, 0.0)
    alone: bool = False

    @property
    def wells(self) -> tuple[tuple[float, float], ...]:
        """Place of each well on the line, and whether it gives (1) or takes (-1)."""
        supply = (self.separation_m, -1.0)
        return (supply,) if self.alone else ((0.0, 1.0), supply)

    @property
    def strength(self) -> float:
        """Flow of a metre of height over the full turn [m2/s]."""
        return self.flow_m3s / (2 * math.pi * self.thickness_m)


def breakthrough_s(pair: Doublet) -> float:
    """Time until what was returned comes to the supply well without flow past [s].

    ``t = pi b L^2 delay / (3 Q)``, along the straight line between the wells, without loss of heat
    to what lies above and below: A. C. Gringarten and J. P. Sauty, Journal of Geophysical Research
    80 (1975) 4956-4962, from memory; it follows from ``v = Q/(2 pi b) (1/x + 1/(L - x))``.

    Examples
    --------
    >>> round(breakthrough_s(Doublet(1e-3, 50.0, 10.0, 0.6)) / 86400, 1)
    181.8
    """
    volume = math.pi * pair.thickness_m * pair.separation_m**2 * pair.delay
    return volume / (3 * pair.flow_m3s) if pair.flow_m3s > 0 else math.inf


def separation_for(pair: Doublet, time_s: float) -> float:
    """Separation with which nothing comes back before that time, without flow past [m].

    Examples
    --------
    >>> pair = Doublet(1e-3, 50.0, 10.0, 0.6)
    >>> round(separation_for(pair, breakthrough_s(pair)), 6)
    50.0
    """
    volume = 3 * pair.flow_m3s * time_s
    return math.sqrt(volume / (math.pi * pair.thickness_m * pair.delay))


def discharge(pair: Doublet, places: Floats) -> Floats:
    """Flow through a square metre at places, a row each [m/s]."""
    flow = np.empty((len(places), 2))
    flow[:] = pair.past
    y = places[:, 1]
    for well, sign in pair.wells:
        x, given = places[:, 0] - well, sign * pair.strength
        square = np.maximum(x * x + y * y, 1e-12)
        flow[:, 0] += given * x / square
        flow[:, 1] += given * y / square
    return flow


Well = Literal["return", "supply"]


@dataclass(slots=True)
class _Front:
    """Places on their way, and how long each has been under way [s]."""

    places: Floats
    ages: Floats
    arrived: NDArray[np.bool_]


def fronts(
    pair: Doublet,
    times_s: tuple[float, ...],
    *,
    around: Well = "return",
    count: int = STREAMLINES,
) -> list[Floats]:
    """Where what left the return well is after each time; or comes from, around the supply well.

    Parameters
    ----------
    pair
        The wells.
    times_s
        In rising order [s].
    around
        ``"return"``: the front of what was returned. ``"supply"``: from where the water comes
        that arrives within the time.
    count
        So many streamlines.

    Returns
    -------
    list
        For each time a ring of places, one for each streamline [m].
    """
    front = _begun(pair, count, around=around)
    rings = []
    for time in times_s:
        _follow(pair, front, time, around=around)
        rings.append(front.places.copy())
    return rings


def swept(pair: Doublet, times_s: tuple[float, ...], *, around: Well = "return") -> list[Floats]:
    """Outlines of what streamlines sweep within each time, as rings of places.

    Between two neighbouring streamlines lies one ring. Around them all lies what was returned
    within the time, or is pumped within it: in flowing groundwater a front alone drifts off, and
    leaves the way that it came. Where one of two comes to the other well and one passes it, a
    straight line closes the ring.

    Parameters
    ----------
    pair, around
        As of `fronts`.
    times_s
        In rising order [s].
    """
    steps = [time * (np.arange(1, PARTS + 1) / PARTS) ** 2 for time in times_s]
    every = np.unique(np.concatenate(steps))
    rings = fronts(pair, tuple(map(float, every)), around=around, count=SWEPT)
    paths = np.stack(rings, axis=1)
    outlines = []
    for time in times_s:
        within = paths[:, every <= time]
        beside = np.roll(within, -1, axis=0)[:, ::-1]
        outlines.append(np.concatenate([within, beside], axis=1))
    return outlines


def arrivals(
    pair: Doublet, most_s: float, *, angles: Floats | None = None
) -> Floats:  # fmt: skip
    """When each streamline from the return well comes to the supply well; inf: not by then [s]."""
    front = _begun(pair, STREAMLINES, angles=angles)
    _follow(pair, front, most_s)
    return np.asarray(np.where(front.arrived, front.ages, math.inf))


def first_arrival_s(pair: Doublet, most_s: float) -> float:
    """Time until what was returned comes to the supply well, with flow past; inf: not by then [s].

    Streamlines are followed step by step; the quickest is then looked for among finer ones.
    """
    if pair.flow_m3s <= 0:
        return math.inf
    angles = _angles(STREAMLINES)
    ages = arrivals(pair, most_s, angles=angles)
    first = int(np.argmin(ages))
    if not math.isfinite(ages[first]):
        # a bundle narrower than the streamlines lie apart leaves towards the supply well, or none
        finer = np.linspace(-0.02, 0.02, REFINED)
        return float(arrivals(pair, most_s, angles=finer).min())
    step = 2 * math.pi / STREAMLINES
    around = angles[first] + np.linspace(-step, step, REFINED)
    return float(min(ages[first], arrivals(pair, most_s, angles=around).min()))


def share_returned(pair: Doublet, most_s: float) -> float:
    """Share of the water returned that comes to the supply well within a time [-]."""
    return float(np.isfinite(arrivals(pair, most_s)).mean()) if pair.flow_m3s > 0 else 0.0


def _angles(count: int) -> Floats:
    return np.asarray(np.arange(count) * (2 * math.pi / count), dtype=np.float64)


def _begun(
    pair: Doublet, count: int, *, around: Well = "return", angles: Floats | None = None
) -> _Front:
    """Places on a small circle around a well, and the time it takes to get there."""
    angles = _angles(count) if angles is None else angles
    radius = NEAR * pair.separation_m
    centre = (0.0 if around == "return" else pair.separation_m, 0.0)
    circle = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    # without a flow of its own nothing begins but the flow past
    age = radius**2 * pair.delay / (2 * pair.strength) if pair.strength > 0 else 0.0
    many = len(angles)
    return _Front(circle + centre, np.full(many, age), np.zeros(many, dtype=bool))


def _follow(pair: Doublet, front: _Front, until_s: float, *, around: Well = "return") -> None:
    """Follow all streamlines until a time; against the flow around the supply well."""
    sign = 1.0 if around == "return" else -1.0
    goal = (pair.separation_m if around == "return" else 0.0, 0.0)
    for _ in range(MOST_STEPS):
        moving = np.flatnonzero(~front.arrived & (front.ages < until_s))
        if not len(moving):
            return
        places = front.places[moving]
        speed = sign * discharge(pair, places) / pair.delay
        left = until_s - front.ages[moving]
        longest = np.where(
            np.hypot(*speed.T) * left < STILL * pair.separation_m,
            left,
            _longest_step(pair, places, speed),
        )
        step = np.minimum(longest, left)
        # classic Runge-Kutta of fourth order
        half = sign * discharge(pair, places + speed * (step / 2)[:, None]) / pair.delay
        again = sign * discharge(pair, places + half * (step / 2)[:, None]) / pair.delay
        end = sign * discharge(pair, places + again * step[:, None]) / pair.delay
        moved = places + (step / 6)[:, None] * (speed + 2 * half + 2 * again + end)
        front.places[moving] = moved
        front.ages[moving] += np.where(step >= left, left, step)
        _arrive(pair, front, moving, goal)


def _longest_step(pair: Doublet, places: Floats, speed: Floats) -> Floats:
    """Time that a step may take: short of the wells, and where the flow turns [s]."""
    away = np.stack([np.hypot(*(places - (x, 0.0)).T) for x, _ in pair.wells])
    quick = np.maximum(np.hypot(*speed.T), 1e-30)
    # beside a point where the water stands still speed alone would let a step leap over it
    turns = np.maximum(pair.strength * (away**-2.0).sum(axis=0) / pair.delay, 1e-30)
    return np.asarray(np.minimum(STEP * away.min(axis=0) / quick, TURN / turns))


def _arrive(
    pair: Doublet, front: _Front, moving: NDArray[np.intp], goal: tuple[float, float]
) -> None:
    """Take those for arrived that are close to the other well, with the rest of their way."""
    near = NEAR * pair.separation_m
    away = np.hypot(*(front.places[moving] - goal).T)
    there = moving[away <= near]
    if not len(there) or pair.strength <= 0 or pair.alone:
        return
    rest = away[away <= near] ** 2 * pair.delay / (2 * pair.strength)
    front.ages[there] += rest
    front.arrived[there] = True
    front.places[there] = goal
