"""Every sample staked from its printed tables alone, as a crew does, and judged as built.

Pegs and stakes are taped from two corners, the crossing is the one on the side printed; stakes of
a base line are set off from the pegs where they came to stand, those of a lot line from its
corners, by the station and offset printed.
"""

from __future__ import annotations

import csv
import io
import math
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from as_built_lists import text_of
from audit_lots import BORES, FOOT, LOT, plan_of
from campaign import thorough
from drawn_once import compose
from drawn_texts import sheet_texts
from opened_again import opened_again
from shapely import Point
from together import SAMPLE_NAMES
from wording import in_words

from siteplan.audit.as_built import as_built
from siteplan.audit.audit import audit_drawing
from siteplan.audit.measured import read_measured
from siteplan.checks.pond_depth import water_over
from siteplan.demand.model import Required
from siteplan.errors import InputError
from siteplan.export.dxf import write_dxf
from siteplan.export.stakes import stakes_csv
from siteplan.findings.model import reason
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.setting_out import record_ties, setting_out
from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.ties import stake_names, tie_targets
from siteplan.sheet.tables.elements import element_table
from siteplan.sheet.tables.setting_out import peg_table
from siteplan.site.readers.site_file import read_site

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
        for name, station, _, _, *cells in peg_table(out, unit).rows if out.pegs else ():
            # a peg that stands is taped from like a corner
            self.corners[name] = self.staked(cells)
            if station:
                self.pegs[name] = (self.corners[name], number(station))
        self.table = element_table(content.layout, unit, out)

    def read(self, text):
        """A length printed, as it is taped."""
        return number(text) + self.rng.uniform(-self.noise, self.noise)

    def taped(self, cells):
        first, other = (self.corners[cell.split()[0]] for cell in cells[:2])
        tapes = [self.read(cell.split(" ", 1)[1]) for cell in cells[:2]]
        return crossing(first, other, tapes, cells[-1])

    def ends(self, line):
        """Both ends of a line and their stations: pegs, or corners that stand on the ground."""
        if line in self.pegs:
            return (self.pegs[line], self.pegs[f"{line} end"])
        first, dash, other = line.partition("-")
        return ((self.corners[first], 0.0), (self.corners[other], 0.0)) if dash else None

    def staked(self, cells):
        """Where a stake comes to stand; None where it has coordinates only."""
        ends = self.ends(cells[0])
        if ends is not None:
            offset, _, side = (
                cells[-1].rpartition(" ") if " " in cells[-1] else (cells[-1], "", "L")
            )
            return set_off(ends, self.read(cells[1]), self.read(offset), side)
        return self.taped(cells) if cells[0] in self.corners or " " in cells[0] else None


def cells_of(table):
    """What stands in the columns of how each stake is set out, by its name."""
    columns = [k for k, column in enumerate(table.columns)
               if column.name.startswith(("set-out", "side-of"))]  # fmt: skip
    return {row[0]: [row[k] for k in columns] for row in table.rows}


def staked_and_judged(tmp_path, content):
    """The audit of what a crew staked from the tables, how far each stake stands off, the noise."""
    site = content.site
    foot = site.unit.metres
    noise_m = min(NOISE_FT * 0.3048, SHARE * site.exchanger.allowance_m)
    crew = Crew(content, noise_m / foot)
    printed = cells_of(crew.table)
    rows, off = [], {}
    for element in content.layout.elements:
        lines = content.layout.loop.lines
        deep = 0.0 if lines else getattr(element, "depth_m", 0.0) / foot
        for stake, at in zip(stake_names(element), tie_targets(element), strict=True):
            spot = crew.staked(printed[stake])
            planned = (at[0] / foot, at[1] / foot)
            if spot:
                off[stake] = math.dist(spot, planned) * foot
            rows.append([element.id, *(spot or planned), deep])
    path = tmp_path / "as-built.csv"
    path.write_text(text_of(rows), encoding="utf-8")
    ties = record_ties(site, content.layout)
    built = as_built(path.name, site, content.layout, read_measured(path, site, ties), ties)
    return built, off, noise_m


@pytest.mark.parametrize(
    "name",
    [
        thorough(name) if name in ("school", "farm-pond", "mill-pond", "shared-aquifer") else name
        for name in SAMPLE_NAMES
    ],
)
def test_a_sample_staked_from_its_printed_tables_keeps_every_rule(tmp_path, name) -> None:
    plan = plan_of(name)[1]
    built, off, noise_m = staked_and_judged(tmp_path, plan.content())
    # a lot that is too small for what it needs was so before it was staked
    known = {finding.code for finding in plan.drawn.findings if finding.severity == "error"}
    assert {f.code for f in built.audit.findings if f.severity == "error"} <= known - {"separation"}
    # the tapes were noisy: the stakes do stand off their places, and none beside its own
    assert 0.2 * noise_m < max(off.values()) < 5 * noise_m


LONG = LOT.replace("[200, 0], [200, 200], [0, 200]]", "[700, 0], [700, 100], [0, 100]]")
LONG = LONG.replace("[20, 180]", "[20, 90]").replace('"0 ft"', '"0.5 ft"')
"""The small lot 700 ft long and 100 ft deep: in its middle no two corners are within 150 ft."""


WIDE = LONG.replace("[700, 100], [0, 100]]", "[700, 400], [0, 400]]")
"""The same lot 400 ft deep: in its middle no line of the lot is near either."""


@cache
def far_bores(lot=LONG, north=80):
    """Three bores in the middle of a long lot, 20.5 ft apart; of LONG 20 ft from its north line."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "site.toml"
        path.write_text(lot + BORES, encoding="utf-8")
        site = read_site(path)
    bores = tuple(Bore(f"B{k}", (300 + 20.5 * k) * FOOT, north * FOOT, 0.15, 300 * FOOT)
                  for k in (1, 2, 3))  # fmt: skip
    return PlanContent(
        site=site, layout=Layout("vertical", bores, None, 20 * FOOT, 600 * FOOT), keep_outs=(),
        separations=(), fits=True, verdict="",
        required=Required(600 * FOOT, "given", reason("length-not-known")),
    )  # fmt: skip


def test_bores_set_off_from_a_lot_line_keep_every_rule(tmp_path) -> None:
    content = far_bores()
    # the north line runs from (0, 100) to (700, 100): by hand
    for stake, station in zip(content.setting_out.stakes, (320.5, 341.0, 361.5), strict=True):
        assert corners_named(stake.line)
        assert stake.station_m == pytest.approx(station * FOOT)
        assert stake.offset_m == pytest.approx(-20.0 * FOOT)
    built, off, noise_m = staked_and_judged(tmp_path, content)
    errors = {finding.code for finding in built.audit.findings if finding.severity == "error"}
    assert errors == {"no-header"}
    # corners stand where they stand: a stake is off by what was read along and across alone
    assert 0.2 * noise_m < max(off.values()) < 1.6 * noise_m


def test_bores_far_from_all_corners_are_taped_in_steps(tmp_path) -> None:
    content = far_bores(WIDE, 200)
    out = content.setting_out
    assert out.halfway
    assert not any(tape.is_long for stake in (*out.stakes, *out.pegs) for tape in stake.tapes)
    built, off, noise_m = staked_and_judged(tmp_path, content)
    errors = {finding.code for finding in built.audit.findings if finding.severity == "error"}
    assert errors == {"no-header"}
    # errors of the steps add up, and stay within the usual staking allowance of 0.5 ft
    assert 0.2 * noise_m < max(off.values()) < 5 * noise_m


@pytest.mark.parametrize(("printed", "other"), [("3+20.5", "3+21.5"), ("20.0' R", "20.0' L")])
def test_a_changed_station_or_offset_of_a_lot_line_is_told(tmp_path, printed, other) -> None:
    content = far_bores()
    path = tmp_path / "plan.dxf"
    write_dxf(compose(content), path)

    def told():
        # hand-made content has neither a header nor distances measured
        return [
            in_words(finding)
            for finding in audit_drawing(path, content.site).findings
            if finding.severity == "error" and finding.code != "no-header"
            and "separations" not in in_words(finding)
        ]  # fmt: skip

    assert not told()
    doc = opened_again(path)
    cell = next(one for one in sheet_texts(doc) if one.dxf.text == printed)
    cell.dxf.text = other
    doc.saveas(path)
    assert any(printed in sentence and other in sentence for sentence in told())


@pytest.mark.parametrize("lot", ["bores", "far"])
def test_the_table_of_stakes_says_what_the_sheet_says(lot) -> None:
    content = far_bores() if lot == "far" else plan_of(lot)[1].content()
    site = content.site
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(stakes_csv(content)))}
    for stake, cells in cells_of(
        element_table(content.layout, site.unit, content.setting_out)
    ).items():
        row = rows[stake]
        if cells[0].startswith("BL") or "-" in cells[0]:
            assert row["base_line"] == cells[0]
            assert float(row["station_ft"]) == pytest.approx(number(cells[1]), abs=0.051)
        else:
            assert [row["tie_1"], row["tie_2"]] == [cell.split()[0] for cell in cells[:2]]
            assert float(row["tape_1_ft"]) == pytest.approx(number(cells[0].split()[1]), abs=0.051)
            assert row["side"] == cells[-1]


def test_what_is_set_off_from_a_lot_line_is_read_back(tmp_path) -> None:
    content = far_bores()
    out = content.setting_out
    set_off = {stake.name: stake for stake in out.stakes if "-" in stake.line}
    assert set_off
    rows = [row for row in csv.DictReader(io.StringIO(stakes_csv(content))) if row["id"] in set_off]
    path = tmp_path / "stakes.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        titles = ("id", "base_line", "station_ft", "offset_ft")
        writer = csv.DictWriter(file, titles, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)
    for point in read_measured(path, content.site, out.ties, out.lines):
        assert point.at == pytest.approx(set_off[point.id].at, abs=0.001)


@pytest.mark.parametrize("cleared", [False, True])
@pytest.mark.parametrize("name", ["rural-acre", "tight-lot", "good-aquifer", "bores"])
def test_a_copy_of_the_list_of_stakes_is_a_list_of_what_was_built(tmp_path, name, cleared) -> None:
    site, plan, _ = plan_of(name)
    content = plan.content()
    rows = list(csv.DictReader(io.StringIO(stakes_csv(content))))
    for row in rows:
        # a crew that taped or set off from a base line clears what it did not measure
        measured = (
            ("tape_2_m", "station_m") if str(site.unit) == "m" else ("tape_2_ft", "station_ft")
        )
        if cleared and any(row[title] for title in measured):
            for title in row:
                if title.startswith(("easting", "northing", "latitude", "longitude")):
                    row[title] = ""
    path = tmp_path / "stakes.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    ties, out = record_ties(site, content.layout), setting_out(site, content.layout)
    points = read_measured(path, site, (*ties, *out.marks), out.lines)
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


@pytest.mark.parametrize("name", ["mill-pond", "farm-pond"])
def test_a_coil_sunk_as_far_off_as_the_allowance_has_its_water_all_the_same(name: str) -> None:
    site, plan, _ = plan_of(name)
    wanted, layout = site.exchanger, plan.drawn.layout
    assert wanted.allowance_m > 0
    for number, coil in enumerate(layout.elements):
        # three ways from each, others than from the one before
        for turn in range(30 * number % 120, 360, 120):
            off = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
            x, y = (
                at + wanted.allowance_m * way for at, way in zip(coil.ends[0], off, strict=True)
            )
            # by the check's own triangles, not by those of the engine
            deep = water_over(Point(x, y), coil.diameter_m / 2, site)[1]
            assert deep >= wanted.pond.water_depth_m - 1e-3, coil.id
