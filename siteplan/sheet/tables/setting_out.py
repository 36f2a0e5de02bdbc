"""Columns, tables and words by which stakes are set out: tapes and sides, stations and offsets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.stakes import SettingOut, Stake
from siteplan.sheet.content.ties import FLATTEST_DEG, TAPE_M
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import BASE_LINES, TAPES
from siteplan.sheet.place.table import Column, Row, Table
from siteplan.sheet.style.formats import coordinate, mark, settled, short_mark, station_mark
from siteplan.units.model import UnitSystem

NOTHING: Final = "–"
"""Where a stake has no tape."""
LONG: Final = "*"
"""Behind a tape that is longer than is taped well."""
WET: Final = "~"
"""Behind a tape over water."""
SIDE: Final = "side-of"
STRETCHED: Final = "line stretched over the water from bank to bank, to set off from by boat"
"""How what lies in a pond is found; common practice, no source."""
SET_FIRST: Final = "set to tape others from, in the order of the table"
"""What pegs are for that no corner is near enough to do without."""
BY_COORDINATES: Final = "set by total station or survey-grade GPS"
"""How what is taped badly is found; common practice, no source."""
MOST_NAMED: Final = 6
"""Stakes named in one sentence."""


SET_OUT: Final = "set-out-"
"""Before the number of a tape in what programs call its column."""


def set_out_column(number: int) -> str:
    """What programs call the column of a tape, from 1; base line and station stand there too."""
    return f"{SET_OUT}{number}"


def setting_columns(out: SettingOut, names: Sequence[str]) -> tuple[Column, ...]:
    """Columns of how stakes are set out: as many tapes as any has, and the side."""
    stakes = [out.by_name[name] for name in names if name in out.by_name]
    lined = [bool(stake.line) for stake in stakes]
    if all(lined):
        titles = ("LINE", "STATION", "OFFSET")
    elif any(lined):
        titles = ("LINE/TAPE 1", "STA./TAPE 2", "OFF./SIDE")
    else:
        titles = ("TAPE 1", "TAPE 2", "SIDE")
    most = _most_tapes(out)
    tapes = [titles[0], titles[1], *(f"TAPE {number}" for number in range(3, most + 1))]
    return (
        *(Column(set_out_column(k), title, "right") for k, title in enumerate(tapes, 1)),
        Column(SIDE, titles[2], "right"),
    )


@kept
def _most_tapes(out: SettingOut) -> int:
    return max((len(stake.tapes) for stake in (*out.stakes, *out.pegs)), default=0) or 2


def setting_cells(stake: Stake, out: SettingOut, unit: UnitSystem) -> Row:
    """How a stake is set out."""
    spare = max(_most_tapes(out), 2) - 2
    if stake.line:
        station = station_mark(stake.station_m, unit)
        return (stake.line, station, *[""] * spare, offset_mark(stake.offset_m, unit))
    cells = [
        f"{tape.tie} {mark(tape.length_m, unit)}{LONG if tape.is_long else ''}"
        f"{WET if tape.is_wet else ''}"
        for tape in stake.tapes
    ]
    blank = NOTHING if not cells else ""
    return (*cells, *[blank] * (spare + 2 - len(cells)), stake.side)


def offset_mark(offset_m: float, unit: UnitSystem) -> str:
    """An offset and the side of it, as field books have it.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> offset_mark(3.048, US), offset_mark(-3.048, US), offset_mark(0.001, US)
    ("10.0' L", "10.0' R", "0.0'")
    """
    side = "L" if offset_m > 0.0 else "R"
    said = mark(settled(abs(offset_m) / unit.metres) * unit.metres, unit)
    return f"{said} {side}" if said != mark(0.0, unit) else said


@kept
def setting_table(out: SettingOut, names: tuple[str, ...], unit: UnitSystem) -> Table:
    """How stakes are set out, alone: one row for every stake."""
    columns = (Column("id", "ID"), *setting_columns(out, names))
    rows = tuple(
        (name, *setting_cells(out.by_name[name], out, unit))
        for name in names
        if name in out.by_name
    )
    return Table(TAPES, columns, rows)


@kept
def peg_table(out: SettingOut, unit: UnitSystem) -> Table:
    """Pegs set halfway, and those of the base lines: their stations, places and tapes."""
    pegs = out.pegs
    spare = max(_most_tapes(out), 2)
    columns = (
        Column("id", "PEG"), Column("station", "STATION", "right"),
        Column("east", f"EAST {unit}", "right"), Column("north", f"NORTH {unit}", "right"),
        *(Column(set_out_column(k), f"TAPE {k}", "right") for k in range(1, spare + 1)),
        Column(SIDE, "SIDE", "right"),
    )  # fmt: skip
    rows = []
    stations = {
        peg.name: station_mark(way, unit)
        for line in out.lines
        for peg, way in zip((line.start, line.end), line.stations_m, strict=True)
    }
    for peg in pegs:
        place = (coordinate(peg.at[0], unit), coordinate(peg.at[1], unit))
        rows.append((peg.name, stations.get(peg.name, ""), *place, *setting_cells(peg, out, unit)))
    return Table(BASE_LINES, columns, tuple(rows))


def fitted(table: Table, width: float) -> tuple[Table, ...]:
    """The table, or where it is too wide two: its places, and how its stakes are set out."""
    names = [column.name for column in table.columns]
    ways = [k for k, name in enumerate(names) if name == SIDE or name.startswith(SET_OUT)]
    if table.natural_width <= width or not ways:
        return (table,)
    others = [k for k in range(len(names)) if k not in ways]
    return _with_columns(table, others), _with_columns(table, [0, *ways])


def _with_columns(table: Table, numbers: Sequence[int]) -> Table:
    return Table(
        table.name,
        tuple(table.columns[number] for number in numbers),
        tuple(tuple(row[number] for number in numbers) for row in table.rows),
        table.row_names,
    )


def line_words(out: SettingOut) -> str:
    """How stations and offsets are read; empty where there are none."""
    stakes = (*out.pegs, *out.stakes)
    sides = sorted({stake.line for stake in stakes if corners_named(stake.line)})
    wet = [line.name for line in out.lines if line.is_wet]
    dry = len(out.lines) - len(wet)
    named = [f"BL: base line{'s' if dry > 1 else ''}."] if dry else []
    pegs = [peg.name for peg in out.halfway]
    named += [f"{', '.join(pegs)}: {SET_FIRST}."] if pegs else []
    named += [f"{', '.join(wet)}: {STRETCHED}."] if wet else []
    named += [f"{name}: lot line from corner {' to '.join(corners_named(name))}." for name in sides]
    if not named:
        return ""
    end = {(True, False): ("first peg", "far peg"), (False, True): ("first corner", "other corner")}
    first, far = end.get((bool(out.lines), bool(sides)), ("first end", "far end"))
    return (
        f"{' '.join(named)} Station: along it from its {first}. Offset: at right angles, L left "
        f"and R right of it, looking to its {far}."
    )


@kept
def setting_words(out: SettingOut, unit: UnitSystem) -> str:
    """How tapes and sides are read, and what is to be minded; empty where there is nothing."""
    stakes = (*out.pegs, *out.stakes)
    taped = [stake for stake in stakes if stake.tapes]
    sentences = [words] if (words := line_words(out)) else []
    if taped:
        most = max(len(stake.tapes) for stake in taped)
        more = " Further tapes are checks." if most > 2 else ""
        sentences.append(
            "Side: of the line between the points of tapes 1 and 2, on which the stake lies; "
            f"WALL: on the wall between them.{more}"
        )
    if any(tape.is_long for stake in taped for tape in stake.tapes):
        far = short_mark(TAPE_M, unit, decimals=1, rounding="down")
        sentences.append(f"{LONG} over {far}: {BY_COORDINATES}.")
    if any(tape.is_wet for stake in taped for tape in stake.tapes):
        sentences.append(f"{WET} over water: {BY_COORDINATES}.")
    if out.untied:
        sentences.append(
            f"No two own corners tie {_some(out.untied)} under {FLATTEST_DEG:.0f} to "
            f"{180 - FLATTEST_DEG:.0f}°: {BY_COORDINATES}."
        )
    return " ".join(sentences)


def _some(names: Iterable[str]) -> str:
    """The first names, and how many more there are."""
    listed = list(names)
    left = len(listed) - MOST_NAMED
    return f"{', '.join(listed[:MOST_NAMED])}{f' and {left} more' if left > 0 else ''}"
