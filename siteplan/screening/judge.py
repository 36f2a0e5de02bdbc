"""What the arithmetic says of each lot and loop type: fits, does not, or undecided."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.geometry.points.few import holds_none_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.counting import elements_needed
from siteplan.screening.bounds import most_bores, most_trench, outline_most
from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.driven import WaysIn, ways_in_on
from siteplan.screening.entries import from_one_wall, housed, reached
from siteplan.screening.few import FEW, few_places
from siteplan.screening.held import (
    DIRECTIONS,
    SLACK,
    Held,
    Laid,
    PlacedRows,
    Way,
    held_bores,
    held_trench,
    no_rows,
)
from siteplan.screening.joined import Ground, ground_of
from siteplan.screening.keeping import Around, around
from siteplan.screening.machine import asks_the_way, within_reach
from siteplan.screening.measured import MOST_THINGS, counted, measured
from siteplan.screening.room import Room, most_room, sure_room, within
from siteplan.screening.rowed import Rowed, spacing_of
from siteplan.screening.scan import Floats, Integers, Shapes, Spans, directions
from siteplan.screening.searched import searched
from siteplan.screening.spread import Spread, spread
from siteplan.screening.terms import BORES, LOOPS, Terms, trench_rows
from siteplan.site.model import System

FITS, DOES_NOT, UNDECIDED, NOT_ASKED = "fits", "does not fit", "undecided", "not asked"
LAID_OUT: Final = "laid out in straight rows"
BETWEEN: Final = "between what rows hold and the bound"
NO_WAY: Final = "header or machine may not get to its ground"
STOPPED: Final = "the machine does not get to enough of its ground"
ROWS_IN: Final = 2
"""Directions of rows tried first: along the longest side, and across."""
OFFSETS: Final = 3
"""Places of the rows tried for each way where little is missing."""
SPARE: Final = 1.01
"""Trench that is surely enough, by what is needed: a header may cross rows squarely, and so takes
none of them; a hundredth for ends that are shortened to whole feet."""
LOST: Final = 0.02
"""Share of what lies on the best rows that may be left out where it is not surely reached."""


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
    rows
        How the least is laid; of lots of which it says nothing, ``held`` on ``areas``.
    held, areas
        How the least is laid on areas, and where.
    """

    verdict: Words
    why: Words
    usable_m2: Floats
    least: Floats
    most: Floats
    dearest: Words
    taken_m2: Floats
    header_m: Floats
    rows: Rowed
    held: Held
    areas: Shapes

    @property
    def hung(self) -> Laid:
        """What is laid out on rows that no area was made for."""
        return self.rows.laid


def nothing_of(count: int, terms: Terms, system: System) -> Judged:
    """Nothing known of so many lots."""
    none = np.full(count, np.nan)
    return Judged(
        np.full(count, UNDECIDED, dtype="<U16"), np.full(count, "", dtype="<U160"), none,
        np.zeros(count), none.copy(), np.full(count, "", dtype="<U120"), none.copy(), none.copy(),
        Rowed(terms, system), no_rows(count), np.full(count, shapely.Polygon(), dtype=object),
    )  # fmt: skip


def with_told(found: Judged, lots: Integers, told: Judged) -> Judged:
    """The same, with what was told of some of the lots."""
    names = ("verdict", "why", "usable_m2", "least", "most", "dearest", "taken_m2", "header_m")
    for name in (*names, "areas"):
        getattr(found, name)[lots] = getattr(told, name)
    for name in ("amount", "way", "family", "angles"):
        getattr(found.held, name)[lots] = getattr(told.held, name)
    left = np.ones(len(found.verdict), dtype=bool)
    left[lots] = False
    new = told.rows.of(np.ones(len(lots), dtype=bool), lots)
    return replace(found, rows=found.rows.of(left).beside(new))


def judged(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    """What is known of every loop type on each lot: by rows, and where these leave it by areas."""
    angles = directions(chunk.outlines, DIRECTIONS)
    # of a lot without a house no ground is reached, whatever its ground
    known = housed(chunk) | (chunk.houses < 0)
    plain = {
        system: known & (counted(chunk, terms.parts[LOOPS[system]]) <= MOST_THINGS)
        for system in LOOPS
    }
    some = np.flatnonzero(np.logical_or.reduce(list(plain.values())))
    found = {system: nothing_of(len(chunk), terms, system) for system in LOOPS}
    open_ = {system: ~plain[system] for system in LOOPS}
    if len(some):
        part = around(chunk.only(some))
        ground = ground_of(part, terms.parts["header"], angles[some, :ROWS_IN])
        ways = ways_in_on(part.chunk, terms)
        for system in LOOPS:
            told, closer = _by_rows(part, ways, system, ground, angles[some])
            found[system] = with_told(found[system], some, told)
            open_[system][some] |= closer
    rest = np.flatnonzero(np.logical_or.reduce(list(open_.values())))
    passable = np.full(len(chunk), shapely.Polygon(), dtype=object)
    if len(rest):
        passable[rest] = reached(chunk.only(rest), terms.parts["header"])
    for system, each in found.items():
        lots = np.flatnonzero(open_[system])
        if not len(lots):
            continue
        lot = passable[lots], angles[lots]
        told_ = judged_one(chunk.only(lots), terms, system, lot, known=rows_known(each, lots))
        found[system] = with_told(each, lots, told_)
    return {system: with_few(chunk, terms, system, each) for system, each in found.items()}


def rows_known(found: Judged, lots: Integers) -> tuple[Floats, Rowed]:
    """What rows hold on some of the lots, and the rows."""
    number = np.full(len(found.verdict), -1)
    number[lots] = np.arange(len(lots))
    return found.least[lots], found.rows.of(number >= 0, number)


def _by_rows(
    near: Around, ways: WaysIn, system: System, ground: Ground, angles: Floats
) -> tuple[Judged, NDArray[np.bool_]]:
    """What rows say of each lot, and which lots ask for a closer look."""
    chunk, terms = near.chunk, ways.terms
    part = terms.parts[LOOPS[system]]
    asked = asks_the_way(chunk, terms, system)
    spread_out = spread(near, terms, system, ground)
    missed, laid = spread_out.lost.copy(), ways.left_of(spread_out, system)
    open_ground = measured(near, part, ground.angles[:, 0])
    enough = _enough(terms, system)
    most = outline_most(chunk.outlines, part.line_m, spacing_of(terms, system), system == BORES)
    tight = np.flatnonzero(laid.amount < enough)
    room = most_room(chunk.only(tight), part, np.ones(len(tight), dtype=bool))
    most[tight] = np.minimum(most[tight], most_on(room.areas, terms, system))
    verdict, why = verdicts(chunk, terms, system, (laid.amount, most), open_ground.dearest)
    closer = np.flatnonzero(why == BETWEEN)
    if len(closer):
        # where a machine's way is asked areas look closer
        closer = closer[~asked[closer]]
        more = spread_closer(chunk.only(closer), terms, system, angles[closer])
        laid = laid.better(closer, more)
        missed[closer] = laid.lost[closer]
        verdict, why = verdicts(chunk, terms, system, (laid.amount, most), open_ground.dearest)
    found = nothing_of(len(chunk), terms, system)
    found.header_m[:] = laid.nearest(chunk)
    found = replace(
        found, verdict=verdict, why=why, usable_m2=open_ground.usable_m2, least=laid.amount,
        most=most, dearest=open_ground.dearest, taken_m2=open_ground.taken_m2, rows=laid.rows,
    )  # fmt: skip
    # what a machine does not get to is looked at closer where it decides
    closer_by = missed > np.where(why == BETWEEN, 0.0, LOST * laid.amount)
    closer_by |= (why == BETWEEN) & (asked | few_asked(terms, system))
    return found, closer_by & (chunk.houses >= 0)


def with_few(chunk: Chunk, terms: Terms, system: System, found: Judged) -> Judged:
    """The same, where few bores are needed and their ground is too small for so many settled."""
    need = terms.needs[system]
    if system != BORES or need is None or need.unsure or wanted(terms, system)[0] > FEW:
        return found
    lots = np.flatnonzero((found.verdict == UNDECIDED) & (found.least < wanted(terms, system)[0]))
    count, spacing = int(wanted(terms, system)[0]), spacing_of(terms, system) - 2 * TOLERANCE
    room = most_room(chunk.only(lots), terms.parts[LOOPS[system]], np.ones(len(lots), dtype=bool))
    none = [holds_none_of(ground, count, spacing) for ground in room.areas]
    these, which = lots[np.array(none, dtype=bool)], np.flatnonzero(none)
    found.verdict[these], found.why[these] = DOES_NOT, room.dearest[which]
    found.most[these] = np.minimum(found.most[these], count - 1)
    return found


def spread_closer(chunk: Chunk, terms: Terms, system: System, angles: Floats) -> Spread:
    """What rows hold on each lot, more ways tried, until it is enough."""
    near = around(chunk)
    ground = ground_of(near, terms.parts["header"], angles)
    return spread(near, terms, system, ground, _enough(terms, system), OFFSETS)


def _enough(terms: Terms, system: System) -> float:
    return math.inf if terms.needs[system] is None else wanted(terms, system)[1]


def judged_one(
    chunk: Chunk, terms: Terms, system: System, lot: tuple[Shapes, Floats],
    known: tuple[Floats, Rowed], most: Floats | None = None,
) -> Judged:  # fmt: skip
    """What is known of one loop type on each lot.

    Parameters
    ----------
    chunk, terms, system
        The lots, what holds on them, and the loop type.
    lot
        Ground that a header gets to, and directions of rows.
    known
        What rows are known to hold, and these.
    most
        What no arrangement exceeds, where that is known: then it is enough to hold what is needed.
    """
    passable, angles = lot
    room = sure_room(chunk, terms.parts[LOOPS[system]])
    areas = from_one_wall(within_reach(chunk, terms, system, room.areas), passable)
    found = _on_areas(chunk, terms, system, (room, areas, angles), known, most)
    return _by_search(chunk, terms, system, (room, passable, angles), found)


def _by_search(
    chunk: Chunk, terms: Terms, system: System, ground: tuple[Room, Shapes, Floats], found: Judged
) -> Judged:
    """The same, with the machine's way searched for where that may decide.

    ``ground``: where a part may surely lie, and where a header runs; directions of rows.
    """
    room, passable, angles = ground
    lots = np.flatnonzero((found.verdict == UNDECIDED) & asks_the_way(chunk, terms, system))
    if not len(lots) or not math.isfinite(_enough(terms, system)):
        return found
    anywhere = from_one_wall(room.areas[lots], passable[lots])
    wide = _on_areas(
        chunk.only(lots), terms, system, (room.of(lots), anywhere, angles[lots]),
        rows_known(found, lots), found.most[lots],
    )  # fmt: skip
    lots = lots[(wide.verdict == FITS) | ((found.why[lots] == NO_WAY) & (wide.why != NO_WAY))]
    these, worked = searched(chunk.only(lots), terms, system)
    lots = lots[these]
    part, known = chunk.only(lots), rows_known(found, lots)
    widest = most_room(part, terms.parts[LOOPS[system]], np.ones(len(lots), dtype=bool)).areas
    areas = from_one_wall(within(room.areas[lots], worked), passable[lots])
    told = _on_areas(
        part, terms, system, (room.of(lots), areas, angles[lots]),
        known, most_on(within(widest, worked), terms, system),
    )  # fmt: skip
    told.why[told.verdict == DOES_NOT] = STOPPED
    return with_told(found, lots, told)


def _on_areas(
    chunk: Chunk, terms: Terms, system: System, ground: tuple[Room, Shapes, Floats],
    known: tuple[Floats, Rowed], most: Floats | None,
) -> Judged:  # fmt: skip
    """The same on areas: what a part may surely lie on, what of that is reached, directions."""
    room, areas, angles = ground
    enough = _enough(terms, system)
    till = math.inf if most is None else enough
    held = (
        held_bores(areas, spacing_of(terms, system), angles, till) if system == BORES
        else held_trench(areas, trench_rows(terms), angles, till)
    )  # fmt: skip
    least = np.maximum(held.amount, known[0])
    rows = known[1].of(known[0] > held.amount)
    held.amount[known[0] > held.amount] = 0.0
    if most is None:
        # where rows hold enough, a bound that leaves out what is on the lot is told: it proves it
        widest = most_room(chunk, terms.parts[LOOPS[system]], least < enough)
        most = most_on(widest.areas, terms, system)
    if few_asked(terms, system):
        lots = np.flatnonzero((least < enough) & (most >= enough) & ~shapely.is_empty(areas))
        placed = bores_at(terms, system, areas, lots)
        apart = placed.lots(len(chunk))
        least[apart], held.amount[apart] = enough, 0.0
        rows = rows.of(~apart).beside(placed)
    verdict, why = verdicts(chunk, terms, system, (least, most), room.dearest)
    empty = (why == BETWEEN) & shapely.is_empty(areas) & ~shapely.is_empty(room.areas)
    why[empty] = NO_WAY
    return Judged(
        verdict, why, shapely.area(areas), least, most, room.dearest, room.taken_m2,
        shapely.distance(chunk.house_shapes(), areas), rows, held, areas,
    )  # fmt: skip


def few_asked(terms: Terms, system: System) -> bool:
    """Whether so few bores are enough that places for them are looked for one by one."""
    need = terms.needs[system]
    if system != BORES or need is None or need.stopped or need.unsure:
        return False
    return wanted(terms, system)[1] <= FEW


def bores_at(terms: Terms, system: System, areas: Shapes, lots: Integers) -> Rowed:
    """As many bores as are enough, where straight rows do not hold them and places do."""
    count, spacing = int(wanted(terms, system)[1]), spacing_of(terms, system) * SLACK
    found = [(lot, few_places(areas[lot], count, spacing)) for lot in lots.tolist()]
    places = [(lot, spots) for lot, spots in found if spots is not None]
    owner = np.repeat([lot for lot, _ in places], count).astype(np.int64)
    x, y = np.concatenate([np.zeros((0, 2)), *(spots for _, spots in places)]).T
    # each a row of its own, without length
    rows = PlacedRows(Spans(owner, np.arange(len(owner)), x, x), y)
    return Rowed(terms, system, ((Way(0, spacing), rows, owner, np.zeros(len(owner))),))


def most_on(areas: Shapes, terms: Terms, system: System) -> Floats:
    """Bores, or length of trench [m], that no arrangement on areas exceeds."""
    bound = most_bores if system == BORES else most_trench
    return bound(areas, spacing_of(terms, system))


def wanted(terms: Terms, system: System) -> tuple[float, float]:
    """What must be held at the least, and what is surely enough: bores, or trench [m]."""
    need = terms.needs[system]
    assert need is not None
    if system != BORES:
        return need.least_m, need.most_m * SPARE
    each = terms.exchanger.vertical.depth_most_m
    most = elements_needed(need.most_m, each) if np.isfinite(need.most_m) else np.inf
    return elements_needed(need.least_m, each), most


def why_it_fits(chunk: Chunk, terms: Terms, system: System) -> Words:
    """What decides that a lot fits, and near what a plan warns that an authority must approve."""
    why = np.full(len(chunk), LAID_OUT, dtype="<U160")
    for kind in terms.approved[LOOPS[system]]:
        why[chunk.has((kind,))] = f"{LAID_OUT}; near {kind}: an authority must approve"
    return why


def verdicts(
    chunk: Chunk, terms: Terms, system: System, held: tuple[Floats, Floats], dearest: Words
) -> tuple[Words, Words]:
    """Verdict and what decides, of what is held at the least and at the most."""
    need, count, (amount, most) = terms.needs[system], len(chunk), held
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
    fits = amount >= enough - 1e-9
    # of another kind of trench, a pad or a typed grid no bound is known
    impossible = (most < least - 1e-9) & (not need.unsure)
    verdict = np.where(fits, FITS, np.where(impossible, DOES_NOT, UNDECIDED)).astype("<U16")
    why = np.where(fits, why_it_fits(chunk, terms, system), BETWEEN)
    why = np.where(impossible, dearest, why).astype("<U160")
    for where, reason in open_:
        doubtful = where & (verdict != DOES_NOT)
        verdict[doubtful], why[doubtful] = UNDECIDED, reason
    return verdict, why
