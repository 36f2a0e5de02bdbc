"""How every stake is found on the ground: by two tapes from corners, or from a base line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from shapely import Polygon, get_parts

from siteplan.layout.model import Layout
from siteplan.sheet.content.base_lines import OFFSET_M, Line, base_lines
from siteplan.sheet.content.halfway import halfway_pegs
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.content.side_lines import along_sides, badly_tied, line_name
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.content.stakes import Places, SettingOut, Stake, set_out
from siteplan.sheet.content.tie_choice import NONE, TieBench
from siteplan.sheet.content.ties import (
    END,
    LETTERS,
    PEG,
    SKIN_M,
    Corner,
    Ground,
    TiePoint,
    ground_of,
    stake_names,
    tie_corners,
    tie_targets,
)
from siteplan.sheet.content.water_lines import water_lines
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.site.model import Site

LINE: Final = "BL"
"""Before the number of a base line in its name."""
BEYOND: Final = 0.25
"""How much of its length a base line may be lined out beyond its pegs."""


def stakes_of(layout: Layout) -> list[tuple[str, XY]]:
    """Names and places of all stakes of elements and header, each once."""
    places = [
        pair
        for element in layout.elements
        for pair in zip(stake_names(element), tie_targets(element), strict=True)
    ]
    return [*places, *((point.name, point.at) for point in header_points(layout))]


@kept
def setting_out(site: Site, layout: Layout, asked: int = 0) -> SettingOut:
    """How a layout is staked out.

    A field in rows has base lines, what lies in a pond has lines stretched from bank to bank. Any
    other stake is taped from two own corners that it is seen from past all buildings and over the
    lot alone, under tapes that cross between 30 and 150 degrees: of such pairs one within 150 ft
    and over no water where there is any. Where there is none, a lot line serves as base line, or
    pegs are set halfway and taped from. Where a book asks for so many fixed points, every stake is
    taped from them and there is no base line.
    """
    corners, ground = tie_corners(site), ground_of(site)
    places = stakes_of(layout)
    if not layout.elements or not corners:
        return SettingOut(stakes=tuple(Stake(name, at) for name, at in places))
    staked = [tie_targets(element) for element in layout.elements]
    ways = (base_lines, water_lines) if not asked else ()
    lines = tuple(line for way in ways for line in way(staked, corners, ground))
    lines = _worth_it(lines, places, corners, ground)
    named = tuple((f"{LINE}{number}", line) for number, line in enumerate(lines, 1))
    on_walls = _on_walls(site, places, corners)
    on_lines = _on_lines(places, named, ground)
    on_lines = {name: line for name, line in on_lines.items() if name not in on_walls}
    pegs = [peg for name, line in named for peg in ((name, line.start), (f"{name}{END}", line.end))]
    taped = [*pegs, *(place for place in places if place[0] not in on_lines)]
    chosen = _corners_for(taped, corners, ground) | on_walls
    ends = {} if asked else _along_sides(site, taped, corners, set(on_walls))
    if asked:
        chosen = _with_more(chosen, taped, (corners, ground), asked)
    chosen |= ends
    bad = [place for place in taped if place[0] not in on_walls | ends]
    badly = () if asked else badly_tied(bad, corners, ground)
    halfway = halfway_pegs(badly, dict(pegs), corners, site)
    chosen |= halfway.chosen
    letters = dict(zip((c for c in _all_of(chosen) if c.what != PEG), LETTERS, strict=False))
    ties = tuple(TiePoint(name, corner.at, corner.what) for corner, name in letters.items())
    assigned = _assigned(chosen, letters | halfway.names, [*ends, *halfway.on_sides]) | on_lines
    return set_out(site, places, (ties, [*halfway.pegs, *pegs]), assigned)


def tied_from(site: Site, layout: Layout, ties: Sequence[TiePoint], asked: int = 0) -> SettingOut:
    """Stakes of what was built, each taped from those of the given points that tie it best.

    Parameters
    ----------
    asked
        From how many of them, where a book asks for more than two.
    """
    places, ground = stakes_of(layout), ground_of(site)
    corners = tuple(Corner(tie.at, tie.what, is_building=True) for tie in ties)
    letters = {corner: tie.name for corner, tie in zip(corners, ties, strict=True)}
    chosen = _corners_for(places, corners, ground)
    if asked > 2:
        chosen = {
            name: (*pair, *(c for c in corners if c not in pair)) if pair else ()
            for name, pair in chosen.items()
        }
    ends = {} if asked else _along_sides(site, places, corners, set())
    assigned = _assigned(chosen | ends, letters, ends)
    return set_out(site, places, (tuple(ties), ()), assigned)


@kept
def record_ties(site: Site, layout: Layout, asked: int = 0) -> tuple[TiePoint, ...]:
    """Points from which a record tapes every element: those of the plan, and what it lacks."""
    plan = setting_out(site, layout, asked)
    if not plan.pegs:
        return plan.ties
    corners, ground = tie_corners(site), ground_of(site)
    chosen = _corners_for(stakes_of(layout), corners, ground)
    known = {tie.at for tie in plan.ties}
    further = [corner for corner in _all_of(chosen) if corner.at not in known]
    letters = LETTERS[len(plan.ties) :]
    more = (TiePoint(name, c.at, c.what) for name, c in zip(letters, further, strict=False))
    return (*plan.ties, *more)


Chosen = dict[str, tuple[Corner, ...]]
"""Corners from which each stake is taped, none where no two tie it."""


def _along_sides(
    site: Site, places: Places, corners: Sequence[Corner], fixed: set[str]
) -> dict[str, tuple[Corner, Corner]]:
    """Both ends of a lot line for each stake that is tied badly and can be set off from one."""
    ground = ground_of(site)
    bad = badly_tied([place for place in places if place[0] not in fixed], corners, ground)
    return along_sides(site, bad, corners, ground)


def _assigned(
    chosen: Chosen, letters: Mapping[Corner, str], on_sides: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """By the names of stakes the letters of their corners, or the name of their lot line."""
    assigned = {
        name: tuple(letters[corner] for corner in pair if corner in letters)
        for name, pair in chosen.items()
    }
    lines = {name: assigned[name] for name in on_sides}
    return assigned | {
        name: (line_name(*pair),) if len(pair) == 2 else () for name, pair in lines.items()
    }


def _all_of(chosen: Chosen) -> list[Corner]:
    """Every corner, in the order in which stakes need them."""
    return list(dict.fromkeys(corner for pair in chosen.values() for corner in pair))


def _corners_for(places: Places, corners: Sequence[Corner], ground: Ground) -> Chosen:
    if not places:
        return {}
    bench = TieBench(corners, np.array([at for _, at in places]), ground)
    pairs = bench.chosen()
    return {
        name: () if pair is None else tuple(bench.corners[k] for k in pair)
        for (name, _), pair in zip(places, pairs, strict=True)
    }


def _on_walls(site: Site, places: Places, corners: Sequence[Corner]) -> Chosen:
    """Both corners of the wall for each stake that is on one: it lies where their tapes meet."""
    known = {corner.at: corner for corner in corners if corner.is_building}
    parts = [part for feature in site.of_kind("building") for part in get_parts(feature.shape)]
    walls = [
        (known[ends[0]], known[ends[-1]])
        for shape in parts
        if isinstance(shape, Polygon)
        for side in sides_of(shape)
        if (ends := (side.start, side.end))[0] in known and ends[1] in known
    ]
    return {name: wall for name, at in places for wall in walls if _between(*wall, at)}


def _between(first: Corner, other: Corner, at: XY) -> bool:
    """Whether a place is on the wall between two corners, and not at either."""
    ways = math.dist(first.at, at), math.dist(other.at, at)
    return sum(ways) - math.dist(first.at, other.at) < SKIN_M / 10 and min(ways) > SKIN_M


def _with_more(
    chosen: Chosen, places: Places, known: tuple[Sequence[Corner], Ground], asked: int
) -> Chosen:
    """Corners of each stake, and further ones of buildings until so many are of buildings."""
    corners, ground = known
    houses = [corner for corner in corners if corner.is_building]
    if not houses:
        return chosen
    at = np.array([place for _, place in places])
    seats = np.array([corner.at for corner in houses])
    clear = ground.clear(seats[:, None], at[None])
    reach = np.hypot(*np.moveaxis(at[None] - seats[:, None], -1, 0))
    used = {corner for pair in chosen.values() for corner in pair}
    # those that most see, and of these the nearest, so that all stakes share them
    ranked = sorted(
        range(len(houses)),
        key=lambda k: (
            houses[k] not in used,
            -int(clear[k].sum()),
            round(float(reach[k].mean()), 6),
            k,
        ),
    )
    more: Chosen = {}
    for name, pair in chosen.items():
        have = list(pair)
        for k in ranked:
            if sum(corner.is_building for corner in have) >= asked:
                break
            if houses[k] not in have and pair:
                have.append(houses[k])
        more[name] = tuple(have)
    return more


def _worth_it(
    lines: tuple[Line, ...], places: Places, corners: Sequence[Corner], ground: Ground
) -> tuple[Line, ...]:
    """Lines whose pegs are tied no worse than the stakes that they serve would be."""
    at = np.array([place for _, place in places])
    kept_lines = []
    for line in lines:
        pegs = TieBench(corners, np.array([line.start, line.end]), ground).best().max()
        alone = TieBench(corners, at[list(line.served)], ground).best().max()
        if pegs <= max(alone, 1) and pegs < NONE:
            kept_lines.append(line)
    return tuple(kept_lines)


def _on_lines(
    places: Places, lines: Sequence[tuple[str, Line]], ground: Ground
) -> dict[str, tuple[str, ...]]:
    """Name of the base line of each stake that stands by one: that of its field, or the nearest."""
    served: dict[str, tuple[str, ...]] = {}
    served |= {places[k][0]: (name,) for name, line in lines for k in line.served}
    for place, at in places:
        if place in served:
            continue
        near = sorted(
            (round(abs(line.station_offset(at)[1]), 6), name)
            for name, line in lines
            if _stands_by(line, at, ground)
        )
        if near:
            served[place] = (near[0][1],)
    return served


def _stands_by(line: Line, at: XY, ground: Ground) -> bool:
    station, offset = line.station_offset(at)
    long = math.dist(line.start, line.end)
    if abs(offset) > OFFSET_M or not -BEYOND * long <= station <= (1 + BEYOND) * long:
        return False
    part = station / long
    foot = tuple(a + part * (b - a) for a, b in zip(line.start, line.end, strict=True))
    starts, ends = np.array([foot, line.start]), np.array([at, foot])
    return bool(ground.clear(starts, ends).all()) and not ground.wet(starts, ends).any()
