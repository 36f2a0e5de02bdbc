"""Free pieces of rows as loops, for a compiler: the arithmetic of ``capsules.py``, bit for bit.

Nothing here is quick unless compiled (:mod:`siteplan.screening.compiled`); without a compiler the
arrays of :func:`siteplan.screening.capsules.free_on` say the same. Sizes of all arrays follow from
the data.
"""

from __future__ import annotations

import math

import numpy as np

from siteplan.screening.scan import Floats, Integers


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
    (starts, stops, away, body), (begin, end), (cosine, sine) = walls, own, ways
    shift, pitch, count = rows
    names, ends = np.empty((1024, 2), dtype=np.int64), np.empty((1024, 2))
    found, step = 0, np.zeros(len(body), dtype=np.int64)
    for family in range(len(count)):
        if count[family] < 1:
            continue
        mine = slice(begin[family], end[family])
        turned = _turned(starts[mine], stops[mine], away[mine], (cosine[family], sine[family]))
        low, high, code, first = _taken(
            turned, (body[mine], step[mine]), shift[family], pitch, count[family]
        )
        most = found + first[-1]
        if most > len(ends):
            more = max(most - len(ends), len(ends))
            names = np.concatenate((names, np.empty((more, 2), dtype=np.int64)))
            ends = np.concatenate((ends, np.empty((more, 2))))
        before = found
        found = _gaps((low, high, code), first, (names, ends), found)
        names[before:found, 0] = family
    return names[:found], ends[:found]


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
    (starts, stops, away, body), (begin, end, before), (cosine, sine) = walls, own, ways
    shift, pitch, count = rows
    left = np.zeros(before[-1])
    for lot in range(len(count)):
        mine = slice(begin[lot], end[lot])
        turned = _turned(starts[mine], stops[mine], away[mine], (cosine[lot], sine[lot]))
        taken = _taken(turned, (body[mine], step[mine]), shift[lot], pitch, count[lot])
        _add_gaps((taken[0], taken[1], taken[2]), taken[3], left[before[lot] : before[lot + 1]])
    return left


def _turned(starts: Floats, stops: Floats, away: Floats, way: tuple[float, float]) -> Floats:
    """Walls along and across a direction: ends and distance of each."""
    cosine, sine = way
    turned = np.empty((len(starts), 5))
    for k in range(len(starts)):
        x, y = starts[k, 0], starts[k, 1]
        turned[k, 0], turned[k, 1] = x * cosine + y * sine, y * cosine - x * sine
        x, y = stops[k, 0], stops[k, 1]
        turned[k, 2], turned[k, 3] = x * cosine + y * sine, y * cosine - x * sine
        turned[k, 4] = away[k]
    return turned


def _taken(
    walls: Floats, told: tuple[Integers, Integers], shift: float, pitch: float, count: int
) -> tuple[Floats, Floats, Integers, Integers]:
    """What walls take of each row: low and high ends, a code, and the first of each row.

    ``told``: body and step of each wall. The code is twice the step, and one more where a side of
    the lot is crossed.
    """
    number, body = len(walls), told[0]
    met = np.empty((number, 2), dtype=np.int64)
    last = np.arange(number)
    k = 0
    while k < number:
        stop = k + 1
        while body[k] >= 0 and stop < number and body[stop] == body[k]:
            stop += 1
        low, high = math.inf, -math.inf
        for each in range(k, stop):
            low = min(low, min(walls[each, 1], walls[each, 3]) - walls[each, 4])
            high = max(high, max(walls[each, 1], walls[each, 3]) + walls[each, 4])
        met[k, 0] = int(max(math.ceil((low - shift) / pitch), 0))
        met[k, 1] = int(min(math.floor((high - shift) / pitch), count - 1))
        last[k] = stop
        k = stop
    first = np.zeros(count + 1, dtype=np.int64)
    k = 0
    while k < number:
        for row in range(met[k, 0], met[k, 1] + 1):
            first[row + 1] += 1
        k = max(last[k], k + 1)
    for row in range(count):
        first[row + 1] += first[row]
    return _filled(walls, told, (met, last, first), shift, pitch)


def _filled(
    walls: Floats, told: tuple[Integers, Integers], places: tuple[Integers, Integers, Integers],
    shift: float, pitch: float,
) -> tuple[Floats, Floats, Integers, Integers]:  # fmt: skip
    (body, step), (met, last, first) = told, places
    total = first[-1]
    low, high = np.empty(total), np.empty(total)
    code, at = np.empty(total, dtype=np.int64), first[:-1].copy()
    k = 0
    while k < len(walls):
        if met[k, 1] < met[k, 0]:
            k = last[k]
            continue
        for row in range(met[k, 0], met[k, 1] + 1):
            low[at[row]], high[at[row]], code[at[row]] = math.inf, -math.inf, 2 * step[k]
            at[row] += 1
        for each in range(k, last[k]):
            side = body[k] == -1
            rows = at, met[k, 0], met[k, 1] + 1, side
            _widen((low, high, code), walls[each], rows, (shift, pitch))
        k = last[k]
    return low, high, code, first


def _widen(
    taken: tuple[Floats, Floats, Integers], wall: Floats,
    rows: tuple[Integers, int, int, bool], places: tuple[float, float],
) -> None:  # fmt: skip
    """Widen what is taken of rows by what lies within the distance of a wall.

    The arithmetic of ``capsules.within_away``. ``rows``: place behind that of each row, which
    rows, and whether the wall is a side of the lot.
    """
    (low, high, code), (at, start, stop, side), (shift, pitch) = taken, rows, places
    _widen_at_ends(low, high, wall, (at, start, stop), places)
    _widen_along(low, high, wall, (at, start, stop), places)
    if side:
        one, other = wall[1], wall[3]
        for row in _between(min(one, other), max(one, other), (start, stop), places):
            across = shift + row * pitch
            if (one <= across) != (other <= across):
                code[at[row] - 1] += 1


def _widen_at_ends(
    low: Floats, high: Floats, wall: Floats, rows: tuple[Integers, int, int],
    places: tuple[float, float],
) -> None:  # fmt: skip
    (at, start, stop), (shift, pitch), away = rows, places, wall[4]
    for end in (0, 2):
        u, v = wall[end], wall[end + 1]
        for row in _between(v - away, v + away, (start, stop), places):
            off = shift + row * pitch - v
            inside = away * away - off * off
            if inside >= 0:
                place, half = at[row] - 1, math.sqrt(inside)
                low[place], high[place] = min(low[place], u - half), max(high[place], u + half)


def _widen_along(
    low: Floats, high: Floats, wall: Floats, rows: tuple[Integers, int, int],
    places: tuple[float, float],
) -> None:  # fmt: skip
    (at, start, stop), (shift, pitch) = rows, places
    u0, v0, u1, v1, away = wall[0], wall[1], wall[2], wall[3], wall[4]
    du, dv = u1 - u0, v1 - v0
    if dv == 0:
        return
    length = max(math.sqrt(du * du + dv * dv), 1e-12)
    for side in (1.0, -1.0):
        side_u, side_v = side * (away * dv / length), side * (away * du / length)
        one, other = v0 + side_v, v1 + side_v
        for row in _between(min(one, other), max(one, other), (start, stop), places):
            share = (shift + row * pitch - v0 - side_v) / dv
            if 0 <= share <= 1:
                place, u = at[row] - 1, u0 + share * du - side_u
                low[place], high[place] = min(low[place], u), max(high[place], u)


def _between(low: float, high: float, rows: tuple[int, int], places: tuple[float, float]) -> range:
    """Rows that lie between two places across them, and some more on both sides."""
    shift, each = places[0], 1.0 / places[1]
    first = math.floor((low - shift) * each) - 1
    last = math.floor((high - shift) * each) + 2
    return range(max(rows[0], int(first)), min(rows[1], int(last) + 1))


def _gaps(
    taken: tuple[Floats, Floats, Integers], first: Integers, told: tuple[Integers, Floats],
    found: int,
) -> int:  # fmt: skip
    """Put the gaps of rows, inside the lot, behind those found: how many there are then."""
    (low, high, code), (names, ends) = taken, told
    for row in range(len(first) - 1):
        _sort(low, high, code, first[row], first[row + 1])
        sides, far = 0, -math.inf
        for k in range(first[row], first[row + 1]):
            if low[k] > high[k]:
                continue
            if sides % 2 == 1 and low[k] > far:
                names[found, 1] = row
                ends[found, 0], ends[found, 1] = far, low[k]
                found += 1
            sides, far = sides + code[k] % 2, max(far, high[k])
    return found


def _add_gaps(taken: tuple[Floats, Floats, Integers], first: Integers, left: Floats) -> None:
    """Add up the gaps of rows, inside the lot, between what is taken up to each step."""
    low, high, code = taken
    for row in range(len(first) - 1):
        _sort(low, high, code, first[row], first[row + 1])
        for step in range(len(left)):
            sides, far = 0, -math.inf
            for k in range(first[row], first[row + 1]):
                if low[k] > high[k] or code[k] // 2 > step:
                    continue
                if sides % 2 == 1 and low[k] > far:
                    left[step] += low[k] - far
                sides, far = sides + code[k] % 2, max(far, high[k])


def _sort(low: Floats, high: Floats, code: Integers, start: int, stop: int) -> None:
    """Sort what is taken of a row by where it begins, in place: there are few."""
    for k in range(start + 1, stop):
        one, other, told, place = low[k], high[k], code[k], k - 1
        while place >= start and low[place] > one:
            low[place + 1], high[place + 1] = low[place], high[place]
            code[place + 1] = code[place]
            place -= 1
        low[place + 1], high[place + 1], code[place + 1] = one, other, told
