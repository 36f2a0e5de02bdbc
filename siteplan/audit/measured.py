"""A list of measured places: local coordinates, latitude and longitude, or two tapes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from shapely import Point

from siteplan.audit.columns import COLUMNS, rows_of
from siteplan.errors import Fault, InputError
from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.stakes import NO_ELEMENTS, BaseLine
from siteplan.sheet.content.ties import TiePoint
from siteplan.sheet.model import XY
from siteplan.sheet.style.formats import east_north
from siteplan.site.georeference import Georeference
from siteplan.site.model import Site
from siteplan.units.lengths import format_length, parse_length
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.units.written import UnitError

LOCAL: Final = (("x", "y"), ("easting", "northing"))
EARTH: Final = ("latitude", "longitude")
SIDES: Final = {
    "north": (0.0, 1.0), "south": (0.0, -1.0), "east": (1.0, 0.0), "west": (-1.0, 0.0),
}  # fmt: skip
"""Direction of each word of the column ``side``."""
SHORT_SIDES: Final = {word[0]: word for word in ("left", "right", *SIDES)}
"""The same as sheets and stakes.csv have them."""
OTHERWISE: Final = {"x", "y", "z"}
"""Columns that are no tapes, whatever the tie points are called."""
ROUNDS: Final = 8
STEP_M: Final = 1.0
TAPE_M: Final = 0.1
"""How much too short two tapes together may be to meet all the same; common practice [m]."""
FAR_M: Final = 1000.0
"""A place farther than this from the parcel was not measured on this lot [m]."""
DEGREE_M: Final = 111_320.0
"""A degree of latitude, about [m]."""


Known = tuple[Site, Sequence[TiePoint], Sequence[BaseLine]]
"""The lot, and the tie points and base lines of the plan."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One measured point of an element, and the depth written beside it [m].

    ``decimals`` are those of its latitude and longitude; None where it was not measured so.
    """

    id: str
    at: XY
    depth_m: float | None = None
    row: int = 0
    decimals: int | None = None


def read_measured(
    path: Path, site: Site, ties: Sequence[TiePoint], lines: Sequence[BaseLine] = ()
) -> tuple[Measured, ...]:
    """Measured points of a list, in its order.

    Parameters
    ----------
    ties
        Points ``A``, ``B`` and so on, from any two of which a place may be taped.
    lines
        Base lines of the plan, from which a place may be set off.

    Raises
    ------
    InputError
        Every fault of the list, together.
    """
    rows = rows_of(path)
    faults: list[Fault] = []
    points = []
    for number, row in rows:
        # stakes.csv lists what is no part of the loop as well
        if row.get("what", "") in NO_ELEMENTS:
            continue
        where = f"{path.name}, row {number}"
        point = _measured(number, row, where, (site, ties, lines), faults)
        if point is not None:
            points.append(point)
    if not rows:
        faults.append(Fault(path.name, "has no row.", f"Write a line of titles ({COLUMNS})."))
    if faults:
        raise InputError(faults)
    return tuple(points)


def _measured(
    number: int,
    row: Mapping[str, str],
    where: str,
    known: Known,
    faults: list[Fault],
) -> Measured | None:
    site = known[0]
    name = row.get("id", "")
    if not name:
        faults.append(Fault(where, "has no id.", "Write the id that the plan shows."))
        return None
    where = f"{where}, {name}"
    before = len(faults)
    depth = _length(row, "depth", where, site, faults) if _given(row, "depth", site) else None
    if depth is not None and depth <= 0:
        faults.append(Fault(f"{where}, depth", "is not more than 0.", "Write the depth drilled."))
    at = _place(row, where, known, faults)
    if at is None or len(faults) > before:
        return None
    away = float(site.parcel.distance(Point(at)))
    # a wrong unit or north before east throws a point far off the lot
    if away > FAR_M:
        what = f"lies {format_length(away, site.unit, 0)} from the parcel."
        faults.append(Fault(where, what, "Check unit, origin and order of the columns."))
        return None
    return Measured(name, at, depth, number, _decimals(row))


def _decimals(row: Mapping[str, str]) -> int | None:
    """Fewest decimals of latitude and longitude; None where they are not given."""
    written = [row.get(title, "") for title in EARTH]
    return min(len(number.partition(".")[2]) for number in written) if all(written) else None


def _titles(name: str, site: Site) -> tuple[str, ...]:
    """Titles under which a length may stand: without a unit, in the site's, and in others."""
    others = (f"{name}_{unit}" for unit in UNIT_SYSTEMS if unit != site.unit.name)
    return name, f"{name}_{site.unit}", *others


def _given(row: Mapping[str, str], name: str, site: Site) -> bool:
    return any(row.get(title) for title in _titles(name, site))


def _length(
    row: Mapping[str, str], name: str, where: str, site: Site, faults: list[Fault]
) -> float | None:
    """Length of a column, bare numbers in its unit or the display unit [m]."""
    title = next((title for title in _titles(name, site) if row.get(title)), name)
    unit = title.rpartition("_")[2] if "_" in title else site.unit.name
    try:
        return parse_length(row.get(title, ""), unit)
    except UnitError as error:
        faults.append(Fault(f"{where}, {title}", str(error), "Write a number."))
        return None


def _place(row: Mapping[str, str], where: str, known: Known, faults: list[Fault]) -> XY | None:
    """Place that a row tells, in whichever ways it tells it."""
    site, ties, lines = known
    before = len(faults)
    told = list(_from_axes(row, where, site, faults))
    if any(row.get(title) for title in EARTH):
        told.append(_from_earth(row, where, site, faults))
    by_letter = _by_letter(row, ties, site)
    if told and by_letter is not None and not all(row.get(title) for _, title in by_letter):
        by_letter = None  # a single letter beside coordinates is a column of something else
    taped = (by_letter, _by_number(row, ties, where, site, faults))
    told.extend(_from_tapes(row, each, where, site, faults) for each in taped if each is not None)
    # beside coordinates a station without a line is that of an instrument
    if _given(row, "station", site) and (row.get("base_line") or (len(lines) == 1 and not told)):
        told.append(_set_off(row, where, known, faults))
    if not told:
        faults.append(Fault(where, "tells no place.", f"Give {COLUMNS}."))
    places = [at for at in told if at is not None]
    if len(faults) > before:
        return None
    off = [at for at in places if math.dist(at, places[0]) > _agree(row)]
    if off:
        pair = " and ".join(east_north(at, site.unit) for at in (places[0], off[0]))
        apart = format_length(math.dist(places[0], off[0]), site.unit, 2)
        what = f"gives two places, {pair}, {apart} apart."
        faults.append(Fault(where, what, "Keep what was measured, and clear the other."))
        return None
    return places[0]


def _from_axes(
    row: Mapping[str, str], where: str, site: Site, faults: list[Fault]
) -> Iterator[XY | None]:
    """Place in the frame of the sheet, by each pair of columns that has one."""
    for east, north in LOCAL:
        if _given(row, east, site) or _given(row, north, site):
            x = _length(row, east, where, site, faults)
            y = _length(row, north, where, site, faults)
            yield (x, y) if x is not None and y is not None else None


def _set_off(row: Mapping[str, str], where: str, known: Known, faults: list[Fault]) -> XY | None:
    """Place at a station and an offset of a base line, to the left unless told otherwise."""
    site, ties, lines = known
    ends = {line.name.upper(): (line.start.at, line.end.at, line.first_m) for line in lines}
    name = row.get("base_line", "").upper() or next(iter(ends))
    corners = [tie.at for letter in corners_named(name) for tie in ties if tie.name == letter]
    if len(set(corners)) == 2:
        ends.setdefault(name, (corners[0], corners[1], 0.0))
    if name not in ends:
        there = ", ".join(ends) or "it has none"
        what = f"base_line {name!r} is no base line of the plan ({there})."
        faults.append(Fault(where, what, "Write its name as the plan shows it."))
        return None
    station = _length(_plainly(row, "station", site), "station", where, site, faults)
    offset = _length(_plainly(row, "offset", site), "offset", where, site, faults)
    if station is None or offset is None:
        return None
    (x, y), end, first_m = ends[name]
    long = math.dist((x, y), end)
    u, v = (end[0] - x) / long, (end[1] - y) / long
    along = station - first_m
    return x + along * u - offset * v, y + along * v + offset * u


def _plainly(row: Mapping[str, str], name: str, site: Site) -> Mapping[str, str]:
    """A row with a station or an offset as a plain number: 1+25 is 125 ft, 12.0 R is -12.0."""
    title = next((title for title in _titles(name, site) if row.get(title)), name)
    told = row.get(title, "").strip().upper()
    bare = told.rstrip("LR").strip()
    full, plus, rest = bare.partition("+")
    try:
        value = float(full) * site.unit.station + float(rest) if plus else float(bare)
    except ValueError:
        return row
    return {**row, title: str(-value if told.endswith("R") else value)}


def _agree(row: Mapping[str, str]) -> float:
    """How far apart two tellings of one place may be: what tapes and degrees are rounded by [m]."""
    decimals = _decimals(row)
    return TAPE_M if decimals is None else max(TAPE_M, DEGREE_M * 10.0**-decimals)


def _from_earth(row: Mapping[str, str], where: str, site: Site, faults: list[Fault]) -> XY | None:
    if site.georeference is None:
        what = "has latitude and longitude, but the site has no coordinate system."
        faults.append(Fault(where, what, "Give x and y in the frame of the site file."))
        return None
    values = []
    for title, most in zip(EARTH, (90.0, 180.0), strict=True):
        try:
            value = float(row.get(title, ""))
        except ValueError:
            value = math.nan
        if not abs(value) <= most:
            what = f"{title} {row.get(title, '')!r} is not a number of degrees."
            faults.append(Fault(where, what, "Write decimal degrees, WGS 84."))
        values.append(value)
    if not (abs(values[0]) <= 90.0 and abs(values[1]) <= 180.0):
        return None
    return local_place(site.georeference, values[0], values[1])


def local_place(frame: Georeference, latitude: float, longitude: float) -> XY:
    """Local place of a latitude and longitude [m].

    The frame tells the way to the earth; its inverse is found by Newton's method, as the frame is
    very nearly linear.
    """
    x = y = 0.0
    for _ in range(ROUNDS):
        here = frame.latitude_longitude(x, y)
        east = frame.latitude_longitude(x + STEP_M, y)
        north = frame.latitude_longitude(x, y + STEP_M)
        a, b = (east[0] - here[0]) / STEP_M, (north[0] - here[0]) / STEP_M
        c, d = (east[1] - here[1]) / STEP_M, (north[1] - here[1]) / STEP_M
        up, right = latitude - here[0], longitude - here[1]
        whole = a * d - b * c
        x, y = x + (up * d - right * b) / whole, y + (a * right - c * up) / whole
    return x, y


Taped = Sequence[tuple[TiePoint, str]]
"""Tie points, and the title of the column of the tape from each."""


def _by_letter(row: Mapping[str, str], ties: Sequence[TiePoint], site: Site) -> Taped | None:
    """Tapes in columns that are called as the tie points; None where there are none."""
    titles = {tie.name.lower() for tie in ties} or {"a", "b"}
    given = [title for title in titles - OTHERWISE if _given(row, title, site)]
    if not given:
        return None
    taped = [tie for tie in ties if tie.name.lower() in given]
    known = taped if len(taped) > 1 else ties
    return [(tie, tie.name.lower()) for tie in known[:2]]


def _by_number(
    row: Mapping[str, str],
    ties: Sequence[TiePoint],
    where: str,
    site: Site,
    faults: list[Fault],
) -> Taped | None:
    """Tapes as stakes.csv has them: a column with the tie point's name, and one with its tape."""
    known = {tie.name: tie for tie in ties}
    taped = []
    for number in (1, 2):
        name, title = row.get(f"tie_{number}", "").upper(), f"tape_{number}"
        if not _given(row, title, site):
            continue
        if name not in known:
            what = f"tie_{number} {name!r} is no tie point of the plan ({', '.join(known)})."
            faults.append(Fault(where, what, "Write the letter that the plan shows."))
            return None
        taped.append((known[name], title))
    return taped or None


def _from_tapes(
    row: Mapping[str, str], taped: Taped, where: str, site: Site, faults: list[Fault]
) -> XY | None:
    if len(taped) < 2:
        what = "is taped, but from fewer than two tie points of the plan."
        faults.append(Fault(where, what, "Give both tapes, or x and y."))
        return None
    (one, first), (other, second) = taped
    tapes = [_length(row, title, where, site, faults) for title in (first, second)]
    if tapes[0] is None or tapes[1] is None:
        return None
    meets = tape_meets(one.at, other.at, tapes[0], tapes[1])
    if not meets:
        apart = format_length(math.dist(one.at, other.at), site.unit, 2)
        pair = f"{one.name} and {other.name}"
        what = f"the tapes from {pair} do not meet; {pair} are {apart} apart."
        faults.append(Fault(where, what, "Measure again."))
        return None
    side = row.get("side", "").lower()
    return _one_of(meets, SHORT_SIDES.get(side, side), where, site, faults)


def tape_meets(a: XY, b: XY, from_a_m: float, from_b_m: float) -> tuple[XY, ...]:
    """Places at two distances from two points: none, or one on either side of their line.

    Examples
    --------
    >>> tape_meets((0.0, 0.0), (6.0, 0.0), 5.0, 5.0)
    ((3.0, 4.0), (3.0, -4.0))
    """
    apart = math.dist(a, b)
    along = (from_a_m**2 - from_b_m**2 + apart**2) / (2 * apart)
    square = from_a_m**2 - along**2
    short = max(apart - from_a_m - from_b_m, abs(from_a_m - from_b_m) - apart)
    # tapes that miss one another by their own error are taken to touch
    if short > TAPE_M:
        return ()
    off = math.sqrt(max(square, 0.0))
    u, v = (b[0] - a[0]) / apart, (b[1] - a[1]) / apart
    foot = (a[0] + along * u, a[1] + along * v)
    left, right = (foot[0] - off * v, foot[1] + off * u), (foot[0] + off * v, foot[1] - off * u)
    return (left, right)


def _one_of(
    meets: tuple[XY, ...], side: str, where: str, site: Site, faults: list[Fault]
) -> XY | None:
    """The place on the side told; without a word the only one on the lot."""
    if side in ("left", "right"):
        return meets[side == "right"]
    if side in SIDES:
        east, north = SIDES[side]
        return max(meets, key=lambda at: at[0] * east + at[1] * north)
    places = " or ".join(east_north(at, site.unit) for at in meets)
    hint = f"Write side: left or right of the way from A to B, or {', '.join(SIDES)}."
    if side:
        faults.append(Fault(f"{where}, side", f"{side!r} is no side.", hint))
        return None
    inside = [at for at in meets if site.parcel.covers(Point(at))]
    if len(inside) == 1 or math.dist(*meets) <= TAPE_M:
        return inside[0] if inside else meets[0]
    faults.append(Fault(where, f"the tapes meet at {places}.", hint))
    return None
