"""Verdicts alone, the cheapest proof first: what is decided by one is not looked at by the next.

A lot that is too small by its area, a straight header with rows enough, a bound less what is on the
lot; only what these leave open is laid out on all its ground. A lot decided early has no figures
but those of what decided it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.bounds import plain_most
from siteplan.screening.chunk import Chunk
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


def _rest(chunk: Chunk, terms: Terms, system: System, found: Judged, angles: Floats) -> Judged:
    """The lots left open: first by a bound, and what that leaves on all their ground."""
    least = wanted(terms, system)[0]
    tiny = (found.most < least - 1e-9) & (found.verdict == UNDECIDED)
    found.verdict[tiny], found.why[tiny] = DOES_NOT, TOO_SMALL
    lots = np.flatnonzero(found.verdict == UNDECIDED)
    if not len(lots):
        return found
    part = chunk.only(lots)
    room = most_room(part, terms.parts[LOOPS[system]], np.ones(len(lots), dtype=bool))
    most = most_on(room.areas, terms, system)
    stopped = most < least - 1e-9
    found.most[lots] = most
    these = lots[stopped]
    found.verdict[these], found.why[these] = DOES_NOT, room.dearest[stopped]
    found.dearest[these], found.taken_m2[these] = room.dearest[stopped], room.taken_m2[stopped]
    open_ = lots[~stopped]
    return _laid_out(chunk, terms, system, found, (open_, most[~stopped], angles[open_]))


def _laid_out(
    chunk: Chunk, terms: Terms, system: System, found: Judged,
    open_: tuple[Integers, Floats, Floats],
) -> Judged:  # fmt: skip
    """The lots left open laid out on all their ground: by rows alone, and by areas.

    ``open_``: these, what none of them exceeds, and directions of rows.
    """
    lots, most, angles = open_
    if not len(lots):
        return found
    part, enough = chunk.only(lots), wanted(terms, system)[1]
    told, closer = nothing_of(len(lots), terms, system), np.ones(len(lots), dtype=bool)
    # rows alone say nothing of a machine's way in
    plain = housed(part) & ~asks_the_way(part, terms, system)
    some = np.flatnonzero(plain)
    if len(some):
        laid = spread_closer(part.only(some), terms, system, angles[some])
        told.least[some] = laid.amount
        told = replace(told, rows=laid.rows.of(laid.amount > 0, some))
        # areas say no more where all that lies on the rows is reached
        missed = (laid.lost > 0) | few_asked(terms, system)
        closer[some] = missed & (laid.amount < enough - 1e-9)
    told.most[:] = most
    told.verdict[:], told.why[:] = verdicts(part, terms, system, (told.least, most), NO_RULE)
    found, these = with_told(found, lots, told), np.flatnonzero(closer)
    if not len(these):
        return found
    some_ = part.only(these)
    lot = reached(some_, terms.parts["header"]), angles[these]
    wide = judged_one(some_, terms, system, lot, rows_known(told, these), most[these])
    return with_told(found, lots[these], wide)
