"""What the arithmetic says of each lot and loop type: fits, does not, or undecided."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.counting import HEADER_SHARE, elements_needed
from siteplan.screening.bounds import most_bores, most_trench
from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.held import DIRECTIONS, Held, held_bores, held_trench
from siteplan.screening.machine import within_reach
from siteplan.screening.room import Room, most_room, reached, sure_room, within
from siteplan.screening.scan import Floats, Shapes, directions
from siteplan.screening.terms import BORES, LOOPS, Need, Terms
from siteplan.site.model import System

FITS, DOES_NOT, UNDECIDED, NOT_ASKED = "fits", "does not fit", "undecided", "not asked"
MORE_BORES: Final = 0
"""Bores held beyond those needed before it is said that they fit."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What is known of one loop type on each lot.

    Parameters
    ----------
    verdict
        ``"fits"``, ``"does not fit"``, ``"undecided"``, or ``"not asked"`` where the tables do not
        say how much is needed.
    why
        What decides, or what leaves it open.
    usable_m2
        Ground on which it surely may lie [m2].
    least, most
        What is surely held, and what no arrangement exceeds: bores, or trench [m].
    dearest, taken_m2
        Rule that takes most ground, and how much [m2].
    header_m
        From the house to the nearest ground for it, straight [m]; NaN: no house, or no ground.
    held, areas
        How the least is laid, and where.
    """

    verdict: Words
    why: Words
    usable_m2: Floats
    least: Floats
    most: Floats
    dearest: Words
    taken_m2: Floats
    header_m: Floats
    held: Held
    areas: Shapes


def judged(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    """What is known of every loop type on each lot."""
    passable = reached(chunk, terms.parts["header"])
    angles = directions(chunk.outlines, DIRECTIONS)
    return {system: _judged(chunk, terms, system, (passable, angles)) for system in LOOPS}


def trench_rows(terms: Terms) -> RowRule:
    """Spacing and lengths of trenches."""
    options = terms.exchanger.horizontal
    return RowRule(options.spacing_m, options.shortest_m, options.longest_m or math.inf)


def _judged(chunk: Chunk, terms: Terms, system: System, lot: tuple[Shapes, Floats]) -> Judged:
    passable, angles = lot
    part, need = LOOPS[system], terms.needs[system]
    room = sure_room(chunk, terms.parts[part])
    areas = within_reach(chunk, terms, system, within(room.areas, passable))
    spacing, rows = terms.exchanger.vertical.spacing_m, trench_rows(terms)
    upright = system == BORES
    held = held_bores(areas, spacing, angles) if upright else held_trench(areas, rows, angles)
    # where rows hold enough, a bound that leaves out what is on the lot is told: it proves as much
    close = held.amount < (wanted(terms, system)[1] if need is not None else math.inf)
    around = most_room(chunk, terms.parts[part], close)
    most = most_bores(around, spacing) if upright else most_trench(around, rows.spacing_m)
    verdict, why = _verdicts(chunk, terms, system, need, (room, areas, held, most))
    return Judged(
        verdict, why, shapely.area(areas), held.amount, most, room.dearest, room.taken_m2,
        shapely.distance(chunk.house_shapes(), areas), held, areas,
    )  # fmt: skip


def wanted(terms: Terms, system: System) -> tuple[float, float]:
    """What must be held at the least, and what is surely enough: bores, or trench [m]."""
    need = terms.needs[system]
    assert need is not None
    if system != BORES:
        # the header takes ground too
        return need.least_m, need.most_m * HEADER_SHARE
    if not np.isfinite(need.most_m):
        return elements_needed(need.least_m, terms.exchanger.vertical.depth_most_m), np.inf
    each = terms.exchanger.vertical.depth_most_m
    return elements_needed(need.least_m, each), elements_needed(need.most_m, each) + MORE_BORES


def _verdicts(
    chunk: Chunk, terms: Terms, system: System, need: Need | None,
    found: tuple[Room, Shapes, Held, Floats],
) -> tuple[Words, Words]:  # fmt: skip
    room, areas, held, most = found
    count = len(chunk)
    if need is None:
        return np.full(count, NOT_ASKED, dtype="<U16"), np.full(count, "no need stated", "<U160")
    if need.stopped:
        return np.full(count, DOES_NOT, dtype="<U16"), np.full(count, need.stopped, dtype="<U160")
    least, enough = wanted(terms, system)
    open_: list[tuple[NDArray[np.bool_], str]] = [
        (np.full(count, bool(need.unsure)), need.unsure),
        (chunk.has(terms.particular[LOOPS[system]]), "a rule of a form that only a plan looks at"),
        (chunk.houses < 0, "no house, so no wall for the pipes"),
    ]
    fits = held.amount >= enough - 1e-9
    # of another kind of trench, a pad or a typed grid no bound is known
    impossible = (most < least - 1e-9) & (not need.unsure)
    verdict = np.where(fits, FITS, np.where(impossible, DOES_NOT, UNDECIDED)).astype("<U16")
    why = np.where(fits, "laid out in straight rows", "between what rows hold and the bound")
    why = np.where(impossible, _blamed(room, most), why).astype("<U160")
    empty = ~fits & ~impossible & shapely.is_empty(areas) & ~shapely.is_empty(room.areas)
    why[empty] = "header or machine may not get to its ground"
    for where, reason in open_:
        doubtful = where & (verdict != DOES_NOT)
        verdict[doubtful], why[doubtful] = UNDECIDED, reason
    return verdict, why


def _blamed(room: Room, most: Floats) -> Words:
    """What stops a loop type that cannot fit: the rule that takes most of the lot."""
    del most
    return room.dearest
