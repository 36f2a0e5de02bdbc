"""Flat mats and frames of plates: read, laid out, counted, and called what they are."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from planned import planned_once
from pypdf import PdfReader

from siteplan.audit.audit import audit_drawing
from siteplan.demand.calculated_water import required_pond
from siteplan.demand.required import required_of
from siteplan.errors import InputError
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Coil
from siteplan.plan import SitePlan
from siteplan.quantities.cost import cost_of
from siteplan.quantities.take_off import fluid_volume, take_off
from siteplan.site.pond_bodies import FlatMat, PlateFrame, across, laid_to_and_fro
from siteplan.site.readers.site_file import site_from
from siteplan.specification.clauses import specification
from siteplan.units.lengths import FOOT, INCH

pytestmark = pytest.mark.usefixtures("coarse")

LOT = """
[project]
title = "Lot with a pond"
owner = "A. Owner"
date = 2026-03-14

[geometry]
parcel = [[0, 0], [260, 0], [260, 280], [0, 280]]

[[feature]]
id = "house"
kind = "building"
area = [[80, 20], [120, 20], [120, 50], [80, 50]]

[[feature]]
id = "pond"
kind = "pond"
area = [[20, 80], [240, 80], [240, 260], [20, 260]]
depth = "14 ft"
side_slope = 2

[exchanger]
system = "pond"
entry = [100, 50]

[loads]
heating = "24 MBH"
heating_hours = 2000

[ground]
temperature = "48 F"
soil = "loam"

[fluid]
coldest = "28 F"
mixture = "propylene glycol 30 %"

[prices]
currency = "USD"
coil = 100
plate_frame = 2500
pipe = { "3/4 in" = 1, "1 in" = 1, "1-1/4 in" = 1, "1-1/2 in" = 1, "2 in" = 1 }
trench = { "9 ft" = 5 }
"""
MAT = """
[pond]
body = "flat mat"
[pond.mat]
length = "12 ft"
width = "9 ft"
spacing = "6 in"
"""
FRAME = """
[pond]
body = "plate frame"
height = "3 ft"
[pond.plates]
length = "4 ft"
width = "3 ft"
number = 6
plate_length = "3 ft"
plate_height = "2 ft"
spacing = "5 in"
channel = "0.15 in"
wall = "0.04 in"
conductivity = "8.6 Btu/h.ft.F"
manifold = "8 ft"
"""
BODIES = {"flat mat": MAT, "plate frame": FRAME}


def values(text: str) -> dict[str, Any]:
    return tomllib.loads(LOT + text)


@cache
def laid(body: str) -> SitePlan:
    return planned_once(site_from(values(BODIES[body])))


def coils_of(plan: SitePlan) -> tuple[Coil, ...]:
    assert plan.drawn.layout is not None
    return plan.drawn.layout.of(Coil)


@pytest.mark.parametrize("body", BODIES)
def test_as_many_are_laid_as_carry_the_length(body: str) -> None:
    plan = laid(body)
    assert plan.drawn.fits
    required, coils = plan.drawn.required, coils_of(plan)
    assert required is not None
    assert sum(one.length_m for one in coils) >= required.length_m
    assert sum(one.length_m for one in coils[1:]) < required.length_m
    letter = {"flat mat": "M", "plate frame": "F"}[body]
    assert [one.id for one in coils] == [f"{letter}{k}" for k in range(1, len(coils) + 1)]
    # 12 by 9 ft: 15 ft across; 4 by 3 ft: 5 ft
    feet = {"flat mat": 15, "plate frame": 5}[body]
    assert {round(one.diameter_m / FOOT, 6) for one in coils} == {feet}
    assert plan.drawn.layout.loop.noun == body  # type: ignore[union-attr]


def test_a_rectangle_however_turned_lies_in_its_circle() -> None:
    mat = FlatMat(12 * FOOT, 9 * FOOT, 0.5 * FOOT, 1.0)
    assert across(mat) == pytest.approx(15 * FOOT)
    # 9 ft / 6 in + 1 = 19 runs of 11.5 ft, 18 half circles of 6 in across
    runs = laid_to_and_fro(12 * FOOT, 9 * FOOT, 0.5 * FOOT) / FOOT
    assert runs == pytest.approx(19 * 11.5 + 18 * math.pi * 0.25)
    assert coils_of(laid("flat mat"))[0].pipe_m == pytest.approx(runs * FOOT)


def test_a_mat_is_pipe_in_water_as_a_coil_is() -> None:
    mats, coils = site_from(values(MAT)).exchanger, site_from(values("")).exchanger
    assert mats.energy is not None
    assert coils.energy is not None
    pipe = pipes()["3/4 in"]
    found = required_pond(mats.energy, mats.pond, pipe)
    assert found.length_m == required_pond(coils.energy, coils.pond, pipe).length_m


def test_fluid_and_ballast_of_frames_count_their_plates() -> None:
    plan = laid("plate frame")
    layout, frame = plan.drawn.layout, plan.site.exchanger.pond.body
    assert layout is not None
    assert isinstance(frame, PlateFrame)
    # 6 plates of 3 by 2 ft, 0.15 in between their walls, and 0.23 in over all
    held = 6 * 6 * FOOT**2 * 0.15 * INCH
    assert frame.fluid_m3 == pytest.approx(held)
    assert frame.displaced_m3 == pytest.approx(6 * 6 * FOOT**2 * 0.23 * INCH)
    bare = sum(each.fluid_m3 for each in layout.of(Coil))
    volume = fluid_volume(layout)
    assert volume is not None
    assert volume > bare == pytest.approx(held * len(layout.elements))
    told = {one.code: one.values for one in specification(plan.site, layout, ())}
    assert told["spec-ballast"]["ballast_kg"] > 1000 * frame.displaced_m3  # type: ignore[operator]
    assert told["spec-plates"]["number"] == 6


def test_frames_are_bought_by_their_own_price_and_mats_by_that_of_coils() -> None:
    for body, each in (("plate frame", 2500), ("flat mat", 100)):
        plan = laid(body)
        assert plan.drawn.layout is not None
        cost = cost_of(plan.site, plan.drawn.layout)
        assert cost is not None
        (line,) = (one for one in cost.lines if one.item.what == body)
        assert (line.price.low, line.amount) == (each, len(coils_of(plan)))
    (item,) = (
        one
        for one in take_off(laid("plate frame").site, laid("plate frame").drawn.layout)  # type: ignore[arg-type]
        if one.ware == "plate frame"
    )
    assert item.size == "6 plates 3 ft × 2 ft"


def test_pipe_a_ton_is_no_screening_of_plates() -> None:
    stated = {"system": "pond", "entry": [100, 50], "capacity": "2 ton"}
    wanted = {}
    for name, text in (("coil", ""), *BODIES.items()):
        read = values(text) | {"exchanger": stated}
        del read["loads"], read["ground"], read["fluid"]
        wanted[name] = required_of(site_from(read).exchanger, "pond")
    assert wanted["plate frame"] is None
    assert wanted["flat mat"] == wanted["coil"]
    assert wanted["coil"] is not None


@pytest.mark.parametrize("body", BODIES)
def test_every_paper_calls_it_what_it_is_and_the_audit_reads_it(body: str, tmp_path: Path) -> None:
    plan = laid(body)
    plan.write(tmp_path)
    for name in ("plan.pdf", "owner.pdf"):
        text = " ".join(page.extract_text() for page in PdfReader(tmp_path / name).pages)
        assert body in text.lower().replace("\n", " ")
        # of the water authority all notes ask alike
        assert "coil" not in " ".join(text.lower().split()).replace("placing coils, mats", "")
    for name in ("elements.csv", "takeoff.csv", "stakes.csv"):
        assert "coil" not in (tmp_path / name).read_text(encoding="utf-8")
    row = plan.summary()["elements"][0]
    assert (row["kind"], row["body"]) == ("coil", body)
    assert ("plate_m" in row) is (body == "plate frame")
    audit = audit_drawing(tmp_path / "plan.dxf", plan.site)
    assert audit.passes
    assert not [one for one in audit.findings if one.severity == "error"]
    assert {each.body for each in audit.layout.of(Coil)} == {body}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[pond]\nbody = "flat mat"', "nobody states its sizes"),
        (MAT.replace('spacing = "6 in"', ""), "spacing: is missing"),
        (MAT + 'pipe = "300 ft"', "is more than lies in the mat"),
        (
            MAT.replace('"6 in"', '"9 ft"').replace('"12 ft"', '"9 ft"'),
            "leaves no room for pipe",
        ),
        (
            MAT.replace('"flat mat"', '"flat mat"\npipe_per_coil = "300 ft"'),
            "pipe_per_coil: has no",
        ),
        (FRAME.replace('"plate frame"', '"coil"'), 'plates: has no effect with body = "coil"'),
        (FRAME.replace('height = "3 ft"', ""), "height: is less than that of the plates"),
        (FRAME.replace("number = 6", "number = 12"), "width: is less than the plates take"),
        (FRAME.replace('"5 in"', '"0.2 in"'), "spacing: is no more than a plate is thick"),
        (FRAME.replace('plate_length = "3 ft"', 'plate_length = "5 ft"'), "length: is less than"),
        (FRAME.replace("8.6 Btu/h.ft.F", "900 Btu/h.ft.F"), "conductivity: "),
        (MAT.replace("flat mat", "slinky"), "body"),
    ],
)
def test_sizes_that_cannot_be_are_refused(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        site_from(values(text))
    assert message in str(caught.value)
