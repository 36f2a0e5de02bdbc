"""Free pieces of rows as loops, for a compiler: the arithmetic of ``capsules.py``, bit for bit.

Nothing here is quick unless compiled (:mod:`siteplan.screening.compiled`); without a compiler the
arrays of :func:`siteplan.screening.capsules.free_on` say the same. Sizes of all arrays follow from
the data.
"""

from __future__ import annotations

import math

import numpy as np

from siteplan.screening.scan import Floats, Integers

HAIR = 1e-9
"""By how much more than rounding a row may miss the side of a strip and is still looked at [m]."""
Scratch = tuple[Floats, Integers, Integers, Integers]
"""Walls turned and the rows that each meets, and of each row its first place and the next free."""
Taken = tuple[Floats, Floats, Integers]
"""Low and high ends of what is taken of rows, and codes: twice the step of the wall, and one more
where a side of the lot is crossed."""


def free_rows(
    walls: tuple[Floats, Floats, Floats, Integers], own: tuple[Integers, Integers],
    ways: tuple[Floats, Floats], rows: tuple[Floats, float, Integers],
) -> tuple[Integers, Floats]:  # fmt: skip
    """Family and row, and start and end, of every free piece of every family of rows.

    Parameters
    ----------
    walls
        Starts, ends, distances and bodies, as :class:`siteplan.screening.capsules.Walls` has them.
    own
        Where the walls of each family begin and end.
    ways
        Cosine and sine of the direction of each family.
    rows
        Where the first row of each family lies, from row to row [m], and how many rows.
    """
    (begin, end), (cosine, sine), (shift, pitch, count) = own, ways, rows
    names, ends = np.empty((1024, 2), dtype=np.int64), np.empty((1024, 2))
    scratch, taken = _scratch(begin, end, count), _roomy(1024)
    found, step = 0, np.zeros(len(walls[3]), dtype=np.int64)
    for family in range(len(count)):
        if count[family] < 1:
            continue
        mine = (begin[family], end[family], cosine[family], sine[family])
        across = (shift[family], pitch, count[family])
        taken, total = _taken(walls, step, mine, across, scratch, taken)
        most = found + total
        if most > len(ends):
            more = max(most - len(ends), len(ends))
            names = np.concatenate((names, np.empty((more, 2), dtype=np.int64)))
            ends = np.concatenate((ends, np.empty((more, 2))))
        before = found
        found = _gaps(taken, (scratch[2], scratch[3], count[family]), (names, ends), found)
        names[before:found, 0] = family
    return names[:found], ends[:found]


def held_by_rows(
    walls: tuple[Floats, Floats, Floats, Integers], own: tuple[Integers, Integers],
    ways: tuple[Floats, Floats], rows: tuple[Floats, float, Integers],
    told: tuple[float, float, float], phases: Floats,
) -> Floats:  # fmt: skip
    """What the free pieces of every family of rows hold, by each phase: bores, or trench [m].

    Parameters
    ----------
    walls, own, ways, rows
        As :func:`free_rows` takes them.
    told
        From element to element along a row, and the shortest and longest trench; NaN: bores [m].
    phases
        As :class:`siteplan.screening.held.Way` has them [m].
    """
    (begin, end), (cosine, sine), (shift, pitch, count) = own, ways, rows
    held, step = np.zeros((len(phases), len(count))), np.zeros(len(walls[3]), dtype=np.int64)
    scratch, taken = _scratch(begin, end, count), _roomy(1024)
    names, ends = np.empty((1024, 2), dtype=np.int64), np.empty((1024, 2))
    for family in range(len(count)):
        if count[family] < 1:
            continue
        mine = (begin[family], end[family], cosine[family], sine[family])
        across = (shift[family], pitch, count[family])
        taken, total = _taken(walls, step, mine, across, scratch, taken)
        if total > len(ends):
            names, ends = np.empty((2 * total, 2), dtype=np.int64), np.empty((2 * total, 2))
        found = _gaps(taken, (scratch[2], scratch[3], count[family]), (names, ends), 0)
        for number in range(len(phases)):
            held[number, family] = _held(names, ends[:found], told, phases[number])
    return held


def _held(names: Integers, ends: Floats, told: tuple[float, float, float], phase: float) -> float:
    """What pieces of rows hold: the arithmetic of ``held.places_on`` and ``held.length_on``."""
    (step, shortest, longest), total = told, 0.0
    for k in range(len(ends)):
        start, end, row = ends[k, 0], ends[k, 1], names[k, 1]
        if math.isnan(shortest) and not math.isnan(phase):
            first_at = phase + (row % 2) * (step / 2)
            first = math.ceil((start - first_at) / step)
            total += max(0.0, math.floor((end - first_at) / step) - first + 1)
            continue
        if k > 0 and names[k - 1, 1] == row:
            start = max(start, ends[k - 1, 1] + step)
        length = end - start
        if not math.isnan(shortest):
            total += _cut_length(length, step, shortest, longest)
        elif length >= 0:
            total += math.floor(length / step) + 1
    return total


def _cut_length(length: float, gap: float, shortest: float, longest: float) -> float:
    """Length of the trenches into which a piece of a row is cut [m]."""
    if not math.isfinite(longest):
        return length if length >= shortest else 0.0
    full = max(0.0, math.floor((length + gap) / (longest + gap)))
    rest = length - full * (longest + gap)
    return full * longest + (rest if rest >= shortest else 0.0)


def left_by_step(
    walls: tuple[Floats, Floats, Floats, Integers], step: Integers,
    own: tuple[Integers, Integers, Integers], ways: tuple[Floats, Floats],
    rows: tuple[Floats, float, Integers],
) -> Floats:  # fmt: skip
    """Length of rows that is free of the sides of each lot, of its first thing too, and so on.

    Parameters
    ----------
    walls, ways, rows
        As :func:`free_rows` takes them, a family for each lot.
    step
        Of each wall 0 for a side of the lot, 1 for its first thing, and so on.
    own
        Where the walls of each lot begin and end, and how many steps there are before those of it.
    """
    (begin, end, before), (cosine, sine), (shift, pitch, count) = own, ways, rows
    left, scratch, taken = np.zeros(before[-1]), _scratch(begin, end, count), _roomy(1024)
    for lot in range(len(count)):
        mine = (begin[lot], end[lot], cosine[lot], sine[lot])
        across = (shift[lot], pitch, count[lot])
        taken, _ = _taken(walls, step, mine, across, scratch, taken)
        own_left = left[before[lot] : before[lot + 1]]
        _add_gaps(taken, (scratch[2], scratch[3], count[lot]), own_left)
    return left


def _scratch(begin: Integers, end: Integers, count: Integers) -> Scratch:
    """Room for what is worked out of one family, used again for the next."""
    walls, rows = 0, 0
    for family in range(len(count)):
        walls, rows = max(walls, end[family] - begin[family]), max(rows, count[family])
    met = np.empty((walls, 2), dtype=np.int64)
    first, at = np.empty(rows + 1, dtype=np.int64), np.empty(rows + 1, dtype=np.int64)
    return np.empty((walls, 5)), met, first, at


def _roomy(count: int) -> Taken:
    return np.empty(count), np.empty(count), np.empty(count, dtype=np.int64)


def _met(
    walls: tuple[Floats, Floats, Floats, Integers], mine: tuple[int, int, float, float],
    across: tuple[float, float, int], scratch: Scratch,
) -> int:  # fmt: skip
    """Turn walls, note which rows each meets, and where what is taken of each row begins.

    ``mine``: where the walls begin and end, cosine and sine of the direction. ``across``: where the
    first row lies, from row to row [m], how many. Back comes how many pieces there are at the most.
    """
    (starts, stops, away, body), (begin, end, cosine, sine) = walls, mine
    (shift, pitch, count), (turned, met, first, at) = across, scratch
    first[: count + 1] = 0
    low, high, last = math.inf, -math.inf, end - begin - 1
    for k in range(end - begin):
        x, y = starts[begin + k, 0], starts[begin + k, 1]
        turned[k, 0], turned[k, 1] = x * cosine + y * sine, y * cosine - x * sine
        x, y = stops[begin + k, 0], stops[begin + k, 1]
        turned[k, 2], turned[k, 3] = x * cosine + y * sine, y * cosine - x * sine
        off = turned[k, 4] = away[begin + k]
        one, other = turned[k, 1], turned[k, 3]
        below, above = min(one, other) - off, max(one, other) + off
        met[k, 0] = int(max(math.ceil((below - shift) / pitch), 0))
        met[k, 1] = int(min(math.floor((above - shift) / pitch), count - 1))
        low, high = min(low, below), max(high, above)
        if body[begin + k] >= 0 and k < last and body[begin + k + 1] == body[begin + k]:
            continue
        # all walls of a body take one piece of a row
        begun = int(max(math.ceil((low - shift) / pitch), 0))
        done = int(min(math.floor((high - shift) / pitch), count - 1))
        if begun <= done:
            first[begun] += 1
            first[done + 1] -= 1
        low, high = math.inf, -math.inf
    return _summed(first, at, count)


def _summed(first: Integers, at: Integers, count: int) -> int:
    """Of how many more pieces each row has than the one before: its first place, and their sum."""
    here, total = 0, 0
    for row in range(count + 1):
        here += first[row]
        first[row] = at[row] = total
        total += here
    return total


def _taken(
    walls: tuple[Floats, Floats, Floats, Integers], step: Integers,
    mine: tuple[int, int, float, float], across: tuple[float, float, int], scratch: Scratch,
    room: Taken,
) -> tuple[Taken, int]:  # fmt: skip
    """What walls take of the rows of a family, in the room given or in more, and how many pieces.

    ``mine`` and ``across`` as :func:`_met` takes them.
    """
    total = _met(walls, mine, across, scratch)
    if total > len(room[0]):
        room = _roomy(2 * total)
    _fill(room, (walls[3], step), mine, across, scratch)
    return room, total


def _fill(
    taken: Taken, told: tuple[Integers, Integers], mine: tuple[int, int, float, float],
    across: tuple[float, float, int], scratch: Scratch,
) -> None:  # fmt: skip
    """Put what walls take of each row where its places begin; ``told``: body and step of each."""
    (low, high, code), (body, step), begin = taken, told, mine[0]
    (shift, pitch, _), (turned, met, _, at) = across, scratch
    k, number = 0, mine[1] - begin
    while k < number:
        solid = body[begin + k]
        if solid >= 0:
            stop = k + 1
            while stop < number and body[begin + stop] == solid:
                stop += 1
            _fill_body(taken, (k, stop), 2 * step[begin + k], across, scratch)
            k = stop
            continue
        wall, along = _strip(turned, k)
        for row in range(met[k, 0], met[k, 1] + 1):
            place = shift + row * pitch
            ends = _along(place, wall, along, _at_ends(place, wall))
            if ends[0] <= ends[1]:
                low[at[row]], high[at[row]] = ends
                crossed = solid == -1 and (wall[1] <= place) != (wall[3] <= place)
                code[at[row]] = 2 * step[begin + k] + (1 if crossed else 0)
                at[row] += 1
        k += 1


def _fill_body(
    taken: Taken, walls: tuple[int, int], told: int, across: tuple[float, float, int],
    scratch: Scratch,
) -> None:  # fmt: skip
    """Put what the walls of a body take of each row, one piece; ``walls``: which these are."""
    (low, high, code), (shift, pitch, count) = taken, across
    turned, met, _, at = scratch
    begun, done = count, -1
    for k in range(walls[0], walls[1]):
        if met[k, 0] <= met[k, 1]:
            begun, done = min(begun, met[k, 0]), max(done, met[k, 1])
    for row in range(begun, done + 1):
        low[at[row]], high[at[row]], code[at[row]] = math.inf, -math.inf, told
    for k in range(walls[0], walls[1]):
        wall, along = _strip(turned, k)
        for row in range(met[k, 0], met[k, 1] + 1):
            place = shift + row * pitch
            ends = _along(place, wall, along, _at_ends(place, wall))
            low[at[row]], high[at[row]] = min(low[at[row]], ends[0]), max(high[at[row]], ends[1])
    for row in range(begun, done + 1):
        if low[at[row]] <= high[at[row]]:
            at[row] += 1


def _strip(
    turned: Floats, k: int
) -> tuple[tuple[float, float, float, float, float], tuple[float, float, float, float]]:
    """A wall, how far it goes along and across, and how far off its strip has its sides."""
    u0, v0, u1, v1, away = turned[k, 0], turned[k, 1], turned[k, 2], turned[k, 3], turned[k, 4]
    du, dv = u1 - u0, v1 - v0
    length = max(math.sqrt(du * du + dv * dv), 1e-12)
    return (u0, v0, u1, v1, away), (du, dv, away * dv / length, away * du / length)


def _at_ends(place: float, wall: tuple[float, float, float, float, float]) -> tuple[float, float]:
    """What is taken of a row by what lies within the distance of the ends of a wall.

    The arithmetic of ``capsules.within_away``, as that of :func:`_along` is.
    """
    u0, v0, u1, v1, away = wall
    low, high = math.inf, -math.inf
    off = place - v0
    inside = away * away - off * off
    if inside >= 0:
        half = math.sqrt(inside)
        low, high = u0 - half, u0 + half
    off = place - v1
    inside = away * away - off * off
    if inside >= 0:
        half = math.sqrt(inside)
        low, high = min(low, u1 - half), max(high, u1 + half)
    return low, high


def _along(
    place: float, wall: tuple[float, float, float, float, float],
    along: tuple[float, float, float, float], ends: tuple[float, float],
) -> tuple[float, float]:  # fmt: skip
    """The same, widened to the sides of the strip along the wall."""
    (low, high), (u0, v0, _, v1, _), (du, dv, side_u, side_v) = ends, wall, along
    if dv == 0:
        return low, high
    least, most = min(v0, v1) - HAIR, max(v0, v1) + HAIR
    if least + side_v <= place <= most + side_v:
        share = (place - v0 - side_v) / dv
        if 0 <= share <= 1:
            u = u0 + share * du - side_u
            low, high = min(low, u), max(high, u)
    if least - side_v <= place <= most - side_v:
        share = (place - v0 + side_v) / dv
        if 0 <= share <= 1:
            u = u0 + share * du + side_u
            low, high = min(low, u), max(high, u)
    return low, high


def _gaps(
    taken: Taken, rows: tuple[Integers, Integers, int], told: tuple[Integers, Floats], found: int
) -> int:
    """Put the gaps of rows, inside the lot, behind those found: how many there are then.

    ``rows``: where what is taken of each begins and ends, and how many rows.
    """
    (low, high, code), (first, stop, count), (names, ends) = taken, rows, told
    for row in range(count):
        _sort(taken, first[row], stop[row])
        sides, far = 0, -math.inf
        for k in range(first[row], stop[row]):
            if sides % 2 == 1 and low[k] > far:
                names[found, 1] = row
                ends[found, 0], ends[found, 1] = far, low[k]
                found += 1
            sides, far = sides + code[k] % 2, max(far, high[k])
    return found


def _add_gaps(taken: Taken, rows: tuple[Integers, Integers, int], left: Floats) -> None:
    """Add up the gaps of rows, inside the lot, between what is taken up to each step."""
    (low, high, code), (first, stop, count) = taken, rows
    for row in range(count):
        _sort(taken, first[row], stop[row])
        for step in range(len(left)):
            sides, far = 0, -math.inf
            for k in range(first[row], stop[row]):
                if code[k] // 2 > step:
                    continue
                if sides % 2 == 1 and low[k] > far:
                    left[step] += low[k] - far
                sides, far = sides + code[k] % 2, max(far, high[k])


def _sort(taken: Taken, start: int, stop: int) -> None:
    """Sort what is taken of a row by where it begins, in place: there are few."""
    low, high, code = taken
    for k in range(start + 1, stop):
        one, other, told, place = low[k], high[k], code[k], k - 1
        while place >= start and low[place] > one:
            low[place + 1], high[place + 1] = low[place], high[place]
            code[place + 1] = code[place]
            place -= 1
        low[place + 1], high[place + 1], code[place + 1] = one, other, told
