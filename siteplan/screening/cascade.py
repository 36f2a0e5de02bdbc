"""Verdicts alone, the cheapest proof first: what is decided by one is not looked at by the next.

A lot that is too small by its area, a straight header with rows enough, a bound less what is on the
lot; only what these leave open is laid out on all its ground. A lot decided early has no figures
but those of what decided it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.bounds import plain_most
from siteplan.screening.chunk import Chunk
from siteplan.screening.driven import ways_in_on
from siteplan.screening.entries import housed, reached
from siteplan.screening.held import DIRECTIONS
from siteplan.screening.judge import (
    DOES_NOT,
    FITS,
    UNDECIDED,
    Judged,
    few_asked,
    judged,
    judged_one,
    most_on,
    nothing_of,
    rows_known,
    spread_closer,
    verdicts,
    wanted,
    why_it_fits,
    with_few,
    with_told,
)
from siteplan.screening.keeping import around
from siteplan.screening.machine import asks_the_way
from siteplan.screening.room import most_room
from siteplan.screening.rowed import spacing_of
from siteplan.screening.scan import Floats, Integers, directions
from siteplan.screening.straight import Hung, hung
from siteplan.screening.terms import BORES, LOOPS, Terms
from siteplan.site.model import System

TOO_SMALL: Final = "the lot is too small"
NO_RULE: Final = np.array("")
BARE: Final = 0.2
"""Ground by what is needed, less about what things on it take, from which rows are tried before a
bound: of such lots nearly none is too small."""
VAST: Final = 3.0
"""The same, whatever is on the lot."""
ROOMY: Final = 1.3
"""Ground for each bore or trench needed, by the spacing, from which a straight header is tried."""


def decided(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    """The verdict of every loop type on each lot, with figures only as far as they decide.

    It is that of :func:`~siteplan.screening.judge.judged`, or decided where that one is not.
    """
    asked = [system for system in LOOPS if _plain(terms, system)]
    if len(asked) < len(LOOPS):
        return judged(chunk, terms)
    open_, small = dict[System, NDArray[np.bool_]](), dict[System, Floats]()
    for system in asked:
        small[system] = _by_size(chunk, terms, system)
        particular = chunk.has(terms.particular[LOOPS[system]])
        open_[system] = _roomy(chunk, terms, system) & ~particular
    enough = {system: wanted(terms, system)[1] for system in asked}
    angles = directions(chunk.outlines, DIRECTIONS)
    rows = hung(around(chunk), terms, enough, open_, angles[:, 0])
    found = dict[System, Judged]()
    for system in asked:
        first = _first(chunk, terms, system, small[system], rows[system])
        first = _rest(chunk, terms, system, first, angles)
        found[system] = with_few(chunk, terms, system, first)
    return found


def _plain(terms: Terms, system: System) -> bool:
    """Whether a need is known that any layout may meet."""
    need = terms.needs[system]
    return need is not None and not (need.stopped or need.unsure)


def _roomy(chunk: Chunk, terms: Terms, system: System) -> NDArray[np.bool_]:
    """Lots on which a straight header is worth a look: by their size less what the line takes."""
    away = terms.parts[LOOPS[system]].line_m
    left = shapely.area(chunk.outlines) - away * shapely.length(chunk.outlines)
    spacing = spacing_of(terms, system)
    return left >= ROOMY * wanted(terms, system)[1] * (spacing**2 if system == BORES else spacing)


def _by_size(chunk: Chunk, terms: Terms, system: System) -> Floats:
    line_m, spacing = terms.parts[LOOPS[system]].line_m, spacing_of(terms, system)
    return plain_most(chunk.outlines, line_m, spacing, upright=system == BORES)


def _first(chunk: Chunk, terms: Terms, system: System, most: Floats, rows: Hung) -> Judged:
    """What the rows of a straight header decide; the rest is left open."""
    found, fits = nothing_of(len(chunk), terms, system), ~np.isnan(rows.header_m)
    found.verdict[fits], found.why[fits] = FITS, why_it_fits(chunk, terms, system)[fits]
    found.least[fits], found.header_m[:] = rows.amount[fits], rows.header_m
    return replace(found, most=most, rows=rows.rows)


def _likely(chunk: Chunk, terms: Terms, system: System) -> NDArray[np.bool_]:
    """Lots that rows are tried on before a bound: by their size less what things take about."""
    distances, spacing = terms.parts[LOOPS[system]], spacing_of(terms, system)
    need = wanted(terms, system)[1] * (spacing**2 if system == BORES else spacing)
    left = shapely.area(chunk.outlines) - distances.line_m * shapely.length(chunk.outlines)
    kinds, which = np.unique(chunk.kinds, return_inverse=True)
    away = np.array([distances.things_m.get(str(kind), 0.0) for kind in kinds])[which]
    around = shapely.area(chunk.things) + away * (shapely.length(chunk.things) + math.pi * away)
    taken = np.bincount(chunk.owner, weights=around, minlength=len(chunk))
    return (left - taken >= BARE * need) | (left >= VAST * need)


def _rest(chunk: Chunk, terms: Terms, system: System, found: Judged, angles: Floats) -> Judged:
    """The lots left open: by rows and a bound, what is likelier first, and by areas.

    ``angles``: directions of rows on each lot [rad].
    """
    tiny = (found.most < wanted(terms, system)[0] - 1e-9) & (found.verdict == UNDECIDED)
    found.verdict[tiny], found.why[tiny] = DOES_NOT, TOO_SMALL
    likely, closer = _likely(chunk, terms, system), np.zeros(len(chunk), dtype=bool)
    for which in (likely, ~likely):
        lots = np.flatnonzero((found.verdict == UNDECIDED) & which)
        if len(lots):
            found, closer[lots] = _on_rows(chunk, terms, system, found, (lots, angles[lots]))
        if which is likely:
            _bound(chunk, terms, system, found)
    these = np.flatnonzero((found.verdict == UNDECIDED) & closer)
    if not len(these):
        return found
    part = chunk.only(these)
    lot, known = (reached(part, terms.parts["header"]), angles[these]), rows_known(found, these)
    return with_told(found, these, judged_one(part, terms, system, lot, known, found.most[these]))


def _bound(chunk: Chunk, terms: Terms, system: System, found: Judged) -> None:
    """Of lots left open what no arrangement exceeds, and those where that is too little."""
    lots = np.flatnonzero(found.verdict == UNDECIDED)
    part = chunk.only(lots)
    room = most_room(part, terms.parts[LOOPS[system]], np.ones(len(lots), dtype=bool))
    found.most[lots] = most = most_on(room.areas, terms, system)
    stopped = most < wanted(terms, system)[0] - 1e-9
    these = lots[stopped]
    found.verdict[these], found.why[these] = DOES_NOT, room.dearest[stopped]
    found.dearest[these], found.taken_m2[these] = room.dearest[stopped], room.taken_m2[stopped]


def _on_rows(
    chunk: Chunk, terms: Terms, system: System, found: Judged, on: tuple[Integers, Floats]
) -> tuple[Judged, NDArray[np.bool_]]:
    """The lots told, laid out by rows on all their ground, and which ask for a closer look.

    ``on``: these lots, and directions of rows on each.
    """
    lots, angles = on
    part, enough = chunk.only(lots), wanted(terms, system)[1]
    told, closer = nothing_of(len(lots), terms, system), np.ones(len(lots), dtype=bool)
    some = np.flatnonzero(housed(part))
    if len(some):
        mine = part.only(some)
        laid = spread_closer(mine, terms, system, angles[some])
        laid = ways_in_on(mine, terms, (system,)).left_of(laid, system)
        told.least[some] = laid.amount
        told = replace(told, rows=laid.rows.of(laid.amount > 0, some))
        # areas say no more where all that lies on the rows is reached
        missed = (laid.lost > 0) | few_asked(terms, system) | asks_the_way(mine, terms, system)
        closer[some] = missed & (laid.amount < enough - 1e-9)
    told.most[:] = found.most[lots]
    told.verdict[:], told.why[:] = verdicts(part, terms, system, (told.least, told.most), NO_RULE)
    return with_told(found, lots, told), closer
