"""What the arithmetic says of each lot and loop type: fits, does not, or undecided."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.layout.counting import HEADER_SHARE, elements_needed
from siteplan.screening.bounds import most_bores, most_trench
from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.held import DIRECTIONS, Held, Laid, held_bores, held_trench
from siteplan.screening.machine import within_reach
from siteplan.screening.room import Room, most_room, reached, sure_room, within
from siteplan.screening.scan import Floats, Shapes, directions
from siteplan.screening.terms import BORES, LOOPS, Need, Terms, trench_rows
from siteplan.site.model import System

FITS, DOES_NOT, UNDECIDED, NOT_ASKED = "fits", "does not fit", "undecided", "not asked"
LAID_OUT: Final = "laid out in straight rows"
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
    hung
        Bores or trenches laid out already, of lots of which ``areas`` says nothing.
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
    hung: Laid = field(default_factory=lambda: Laid.joined([]))


def judged(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    """What is known of every loop type on each lot."""
    passable = reached(chunk, terms.parts["header"])
    angles = directions(chunk.outlines, DIRECTIONS)
    return {system: judged_one(chunk, terms, system, (passable, angles)) for system in LOOPS}


def judged_one(
    chunk: Chunk, terms: Terms, system: System, lot: tuple[Shapes, Floats],
    most: Floats | None = None,
) -> Judged:  # fmt: skip
    """What is known of one loop type on each lot.

    Parameters
    ----------
    chunk, terms, system
        The lots, what holds on them, and the loop type.
    lot
        Ground that a header gets to, and directions of rows.
    most
        What no arrangement exceeds, where that is known: then it is enough to hold what is needed.
    """
    passable, angles = lot
    part, need = LOOPS[system], terms.needs[system]
    room = sure_room(chunk, terms.parts[part])
    areas = within_reach(chunk, terms, system, within(room.areas, passable))
    spacing, rows = terms.exchanger.vertical.spacing_m, trench_rows(terms)
    enough = wanted(terms, system)[1] if need is not None else math.inf
    till = math.inf if most is None else enough
    upright = system == BORES
    held = (
        held_bores(areas, spacing, angles, till) if upright
        else held_trench(areas, rows, angles, till)
    )  # fmt: skip
    if most is None:
        # where rows hold enough, a bound that leaves out what is on the lot is told: it proves it
        close = held.amount < enough
        most = most_on(most_room(chunk, terms.parts[part], close).areas, terms, system)
    verdict, why = _verdicts(chunk, terms, system, need, (room, areas, held, most))
    return Judged(
        verdict, why, shapely.area(areas), held.amount, most, room.dearest, room.taken_m2,
        shapely.distance(chunk.house_shapes(), areas), held, areas,
    )  # fmt: skip


def most_on(areas: Shapes, terms: Terms, system: System) -> Floats:
    """Bores, or length of trench [m], that no arrangement on areas exceeds."""
    if system == BORES:
        return most_bores(areas, terms.exchanger.vertical.spacing_m)
    return most_trench(areas, terms.exchanger.horizontal.spacing_m)


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
    why = np.where(fits, LAID_OUT, "between what rows hold and the bound")
    why = np.where(impossible, room.dearest, why).astype("<U160")
    empty = ~fits & ~impossible & shapely.is_empty(areas) & ~shapely.is_empty(room.areas)
    why[empty] = "header or machine may not get to its ground"
    for where, reason in open_:
        doubtful = where & (verdict != DOES_NOT)
        verdict[doubtful], why[doubtful] = UNDECIDED, reason
    return verdict, why
