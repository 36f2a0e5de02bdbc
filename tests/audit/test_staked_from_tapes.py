"""Every sample staked from its printed tables alone, as a crew does, and judged as built.

Pegs and stakes are taped from two corners, the crossing is the one on the side printed; stakes of
a base line are set off from the pegs where they came to stand, by the station and offset printed.
"""

from __future__ import annotations

import csv
import io
import math
import re

import numpy as np
import pytest
from as_built_lists import text_of
from audit_lots import plan_of
from campaign import thorough
from shapely import Point
from together import SAMPLE_NAMES

from siteplan.audit.as_built import as_built
from siteplan.audit.measured import read_measured
from siteplan.checks.pond_depth import water_over
from siteplan.errors import InputError
from siteplan.export.stakes import stakes_csv
from siteplan.sheet.content.setting_out import record_ties
from siteplan.sheet.content.ties import stake_names, tie_targets
from siteplan.sheet.tables.elements import element_table
from siteplan.sheet.tables.setting_out import peg_table

NOISE_FT = 0.1
"""How far a tape is read or held off, common practice, no source [ft]."""
SHARE = 0.2
"""Of the staking allowance, where that is less: then a surveyor stakes."""
COMPASS = {"N": (0.0, 1.0), "E": (1.0, 0.0), "S": (0.0, -1.0), "W": (-1.0, 0.0)}


def number(text):
    """The figure of a cell, a station as one number: 1+25.0 is 125 ft, or 1,025 m."""
    full, plus, rest = text.partition("+")
    if plus:
        return float(full) * 10.0 ** len(rest.partition(".")[0]) + float(rest)
    return float(re.search(r"[\d,]+(?:\.\d+)?", text)[0].replace(",", ""))


def crossing(first, other, tapes, side):
    """Where two taped arcs cross on a side of the line between their points."""
    apart = math.dist(first, other)
    along = (tapes[0] ** 2 - tapes[1] ** 2 + apart**2) / (2 * apart)
    u, v = (other[0] - first[0]) / apart, (other[1] - first[1]) / apart
    foot = (first[0] + along * u, first[1] + along * v)
    if side == "WALL":
        return foot
    off = math.sqrt(max(tapes[0] ** 2 - along**2, 0.0))
    east, north = COMPASS[side]
    left = -v * east + u * north > 0
    return (
        (foot[0] - v * off, foot[1] + u * off) if left else (foot[0] + v * off, foot[1] - u * off)
    )


def set_off(pegs, station, offset, side):
    """Place at a station and an offset of the line through two pegs, from their own stations."""
    (start, first), (end, _) = pegs
    long = math.dist(start, end)
    u, v = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    along, left = station - first, offset if side == "L" else -offset
    return (start[0] + along * u - left * v, start[1] + along * v + left * u)


class Crew:
    """A crew with two tapes and the printed tables, all in the display unit."""

    def __init__(self, content, noise):
        unit, out = content.site.unit, content.setting_out
        self.noise, self.rng = noise, np.random.default_rng(1)
        self.corners = {tie.name: tuple(v / unit.metres for v in tie.at) for tie in out.ties}
        self.pegs = {}
        for name, station, _, _, *cells in peg_table(out, unit).rows if out.lines else ():
            self.pegs[name] = (self.taped(cells), number(station))
        self.table = element_table(content.layout, unit, out)

    def read(self, text):
        """A length printed, as it is taped."""
        return number(text) + self.rng.uniform(-self.noise, self.noise)

    def taped(self, cells):
        first, other = (self.corners[cell.split()[0]] for cell in cells[:2])
        tapes = [self.read(cell.split(" ", 1)[1]) for cell in cells[:2]]
        return crossing(first, other, tapes, cells[-1])

    def staked(self, cells):
        """Where a stake comes to stand; None where it has coordinates only."""
        if cells[0].startswith("BL"):
            offset, _, side = (
                cells[-1].rpartition(" ") if " " in cells[-1] else (cells[-1], "", "L")
            )
            pegs = (self.pegs[cells[0]], self.pegs[f"{cells[0]} end"])
            return set_off(pegs, self.read(cells[1]), self.read(offset), side)
        return self.taped(cells) if cells[0] in self.corners or " " in cells[0] else None


def cells_of(table):
    """What stands in the columns of how each stake is set out, by its name."""
    columns = [k for k, column in enumerate(table.columns)
               if column.name.startswith(("set-out", "side-of"))]  # fmt: skip
    return {row[0]: [row[k] for k in columns] for row in table.rows}


@pytest.mark.parametrize(
    "name",
    [
        thorough(name) if name in ("school", "farm-pond", "mill-pond") else name
        for name in SAMPLE_NAMES
    ],
)
def test_a_sample_staked_from_its_printed_tables_keeps_every_rule(tmp_path, name) -> None:
    site, plan, _ = plan_of(name)
    content = plan.content()
    foot = site.unit.metres
    noise_m = min(NOISE_FT * 0.3048, SHARE * site.exchanger.allowance_m)
    crew = Crew(content, noise_m / foot)
    printed = cells_of(crew.table)
    rows, off = [], []
    for element in content.layout.elements:
        lines = content.layout.loop.lines
        deep = 0.0 if lines else getattr(element, "depth_m", 0.0) / foot
        for stake, at in zip(stake_names(element), tie_targets(element), strict=True):
            spot = crew.staked(printed[stake])
            planned = (at[0] / foot, at[1] / foot)
            off += [math.dist(spot, planned)] if spot else []
            rows.append([element.id, *(spot or planned), deep])
    path = tmp_path / "as-built.csv"
    path.write_text(text_of(rows), encoding="utf-8")
    ties = record_ties(site, content.layout)
    built = as_built(path.name, site, content.layout, read_measured(path, site, ties), ties)
    # a lot that is too small for what it needs was so before it was staked
    known = {finding.code for finding in plan.drawn.findings if finding.severity == "error"}
    assert {f.code for f in built.audit.findings if f.severity == "error"} <= known - {"separation"}
    # the tapes were noisy: the stakes do stand off their places, and none beside its own
    assert 0.2 * noise_m < max(off) * foot < 5 * noise_m


def test_the_table_of_stakes_says_what_the_sheet_says() -> None:
    site, plan, _ = plan_of("bores")
    content = plan.content()
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(stakes_csv(content)))}
    for stake, cells in cells_of(
        element_table(content.layout, site.unit, content.setting_out)
    ).items():
        row = rows[stake]
        if cells[0].startswith("BL"):
            assert row["base_line"] == cells[0]
            assert float(row["station_ft"]) == pytest.approx(number(cells[1]), abs=0.051)
        else:
            assert [row["tie_1"], row["tie_2"]] == [cell.split()[0] for cell in cells[:2]]
            assert float(row["tape_1_ft"]) == pytest.approx(number(cells[0].split()[1]), abs=0.051)
            assert row["side"] == cells[-1]


@pytest.mark.parametrize("cleared", [False, True])
@pytest.mark.parametrize("name", ["rural-acre", "tight-lot", "good-aquifer", "bores"])
def test_a_copy_of_the_list_of_stakes_is_a_list_of_what_was_built(tmp_path, name, cleared) -> None:
    site, plan, _ = plan_of(name)
    content = plan.content()
    rows = list(csv.DictReader(io.StringIO(stakes_csv(content))))
    for row in rows:
        # a crew that taped clears what it did not measure
        if cleared and row["tape_2_m" if str(site.unit) == "m" else "tape_2_ft"]:
            for title in row:
                if title.startswith(("easting", "northing", "latitude", "longitude")):
                    row[title] = ""
    path = tmp_path / "stakes.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    ties = record_ties(site, content.layout)
    points = read_measured(path, site, ties)
    built = as_built(path.name, site, content.layout, points, ties)
    assert not built.missing
    assert len(built.deviations) == sum(len(stake_names(e)) for e in content.layout.elements)
    # written to the thousandth; tapes that cross under 30 degrees double what they are off
    assert built.farthest.away_m < 0.002


def test_a_row_that_tells_two_places_is_refused(tmp_path) -> None:
    site, plan, _ = plan_of("tight-lot")
    content = plan.content()
    ties = record_ties(site, content.layout)
    first = content.layout.elements[0].id
    rows = list(csv.DictReader(io.StringIO(stakes_csv(content))))
    row = next(row for row in rows if row["id"] == first)
    row["tape_1_ft"] = f"{float(row['tape_1_ft']) + 3:.3f}"
    path = tmp_path / "stakes.csv"
    path.write_text("\n".join([",".join(row), ",".join(row.values())]), encoding="utf-8")
    with pytest.raises(InputError, match="gives two places"):
        read_measured(path, site, ties)
    for title in ("easting_ft", "northing_ft", "latitude", "longitude"):
        row[title] = ""
    path.write_text("\n".join([",".join(row), ",".join(row.values())]), encoding="utf-8")
    assert len(read_measured(path, site, ties)) == 1


def test_a_coil_sunk_as_far_off_as_the_allowance_has_its_water_all_the_same() -> None:
    site, plan, _ = plan_of("farm-pond")
    wanted, layout = site.exchanger, plan.drawn.layout
    assert wanted.allowance_m > 0
    for coil in layout.elements:
        for turn in range(0, 360, 30):
            off = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
            x, y = (
                at + wanted.allowance_m * way for at, way in zip(coil.ends[0], off, strict=True)
            )
            # by the check's own triangles, not by those of the engine
            deep = water_over(Point(x, y), coil.diameter_m / 2, site)[1]
            assert deep >= wanted.pond.water_depth_m - 1e-3, coil.id
