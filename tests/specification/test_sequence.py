"""The order of work, its holds, and the room that earth takes."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from planned import planned
from shapely import LineString, box
from sheet_lots import pond_farm, rural, suburban, well_pair
from wording import in_words

from siteplan.earthwork.excavation import SWELL
from siteplan.findings.words import figure_words
from siteplan.layout.elements import Bore
from siteplan.layout.model import Access, Layout
from siteplan.layout.piping_model import Group
from siteplan.sheet.content.content import PlanContent
from siteplan.site.model import Feature, Site
from siteplan.site.specification import SpecificationOptions
from siteplan.specification.clauses import specification
from siteplan.specification.sequence import MOST_LISTED, order_of_work, sequence

FT = 0.3048


def steps(content: PlanContent) -> list[str]:
    assert content.layout is not None
    return [in_words(step.told) for step in sequence(content.site, content.layout)]


def reached(content: PlanContent, *way: tuple[float, float]) -> tuple[Site, Layout]:
    """The lot with a way in over places in feet."""
    assert content.layout is not None
    path = LineString([(x * FT, y * FT) for x, y in way])
    machine = "excavator" if content.layout.loop.lines else "rig"
    return content.site, replace(content.layout, access=Access(path, 2.4, machine=machine))


def held(content: PlanContent) -> list[str]:
    assert content.layout is not None
    return [in_words(s.told) for s in sequence(content.site, content.layout) if s.hold]


@pytest.mark.parametrize("lot", [suburban, rural, pond_farm, well_pair])
def test_nothing_is_filled_before_it_is_tested_seen_and_measured(lot) -> None:
    told = steps(lot())
    inspected = next(k for k, step in enumerate(told) if "Inspector called" in step)
    measured = next(
        k for k, step in enumerate(told) if "measured again from the tie points" in step
    )
    filled = next(k for k, step in enumerate(told) if step.startswith("Sand, tracer wire"))
    assert inspected < filled
    assert measured < filled
    assert told[0].startswith("Utilities marked")
    assert {told[0], told[inspected], told[measured]} <= set(held(lot()))


def test_the_machine_comes_in_where_the_way_in_meets_the_property_line() -> None:
    site, layout = reached(suburban(), (58, 12), (60, 95), (70, 110))
    told = [in_words(step.told) for step in sequence(site, layout)]
    (way,) = (step for step in told if "comes in at" in step)
    assert "Drill rig comes in at E 58.00 N 12.00" in way
    assert "from Drive" in way
    # 2.4 m are 7.874 ft; 83.02 ft to (60, 95) and 18.03 ft on to (70, 110): 101.05 ft; both up
    assert "7.88 ft clear all the way, 102 ft to where it reaches the field" in way


def test_a_machine_comes_from_the_street_and_not_from_a_parking_lot_beside_its_way() -> None:
    content = suburban()
    (x, y, right, _) = content.site.parcel.bounds
    street = Feature("street", "street", LineString([(x, y - 9), (right, y - 9)]), "ELM STREET")
    parking = Feature("lot", "driveway", box(x + 1, y + 4, x + 6, y + 9), "PARKING")
    told = []
    for beyond in (1.0, 6.0):
        # the way runs so far beside the parking lot, 4 m behind the street
        way = LineString([(x + 6 + beyond, y), (x + 6 + beyond, y + 20)])
        layout = replace(reached(content, (0, 0), (0, 9))[1], access=Access(way, 2.4))
        site = replace(content.site, features=(street, parking))
        told += [
            in_words(s.told) for s in sequence(site, layout) if "comes in at" in in_words(s.told)
        ]
    assert all("from ELM STREET" in step for step in told)
    assert len(told) == 2


@pytest.mark.parametrize(("path", "words"), [
    (None, "not checked on this plan"), (LineString(), "none was found"),
])  # fmt: skip
def test_a_way_in_that_is_not_known_is_said_to_be(path: LineString | None, words: str) -> None:
    content = suburban()
    assert content.layout is not None
    access = None if path is None else Access(path, 2.4)
    told = steps(replace(content, layout=replace(content.layout, access=access)))
    assert any("Way in of the drill rig" in step and words in step for step in told)


def test_bores_are_drilled_row_by_row_the_farthest_from_the_way_in_first() -> None:
    # three rows of four, 20 ft apart: B1 to B4 at N 150, B5 to B8 at N 130, B9 to B12 at N 110;
    # the way in ends south of their middle, at E 115
    _, layout = reached(suburban(), (115, 12), (115, 100))
    names = [bore.id for bore in order_of_work(layout)]
    rows = [set(names[:4]), set(names[4:8]), set(names[8:])]
    assert rows == [{f"B{k}" for k in range(a, a + 4)} for a in (1, 5, 9)]
    # to and fro: the second row begins where the first one ends
    ends = {bore.id: bore.x_m for bore in layout.of(Bore)}
    assert ends[names[3]] == pytest.approx(ends[names[4]])


def test_trenches_are_dug_the_farthest_first_so_that_none_is_crossed() -> None:
    content = rural()
    assert content.layout is not None
    path = LineString([(26, -3), (26, 40)])
    layout = replace(content.layout, access=Access(path, 2.4, machine="excavator"))
    # eight trenches, 5 m apart, the first one at N 46 m
    assert [trench.id for trench in order_of_work(layout)] == [f"T{k}" for k in range(8, 0, -1)]
    told = " ".join(in_words(step.told) for step in sequence(content.site, layout))
    assert "Dig in this order: T8, T7, T6, T5, T4, T3, T2, T1." in told
    assert "the excavator backs out, and crosses nothing that is dug" in told


def test_without_a_way_in_the_farthest_from_the_entry_is_made_first() -> None:
    told = " ".join(steps(rural()))
    assert "Farthest from the entry first, as no way in is known" in told


def test_of_a_well_pair_the_supply_well_comes_first() -> None:
    content = well_pair()
    layout = content.layout
    assert layout is not None
    turned = replace(layout, elements=layout.elements[::-1])
    assert [well.id for well in order_of_work(turned)] == ["W1", "W2"]
    told = " ".join(steps(content))
    assert "Drill in this order: W1, W2." in told
    assert "pumping test" in told
    flow = replace(content.site.exchanger, open=replace(content.site.exchanger.open, flow_m3s=1e-3))
    stated = replace(content, site=replace(content.site, exchanger=flow))
    # 1 L/s is 15.85 gpm
    assert any("15.9 gpm or more" in step for step in steps(stated))


def test_of_very_many_bores_the_first_and_the_last_are_named() -> None:
    content = suburban()
    assert content.layout is not None
    many = tuple(
        Bore(f"B{k + 1}", (k % 20) * 2.0, 30.0 + (k // 20) * 2.0, 0.15, 90.0)
        for k in range(MOST_LISTED + 10)
    )
    layout = replace(content.layout, elements=many, spacing_m=2.0)
    told = steps(replace(content, layout=layout))
    names = [bore.id for bore in order_of_work(layout)]
    assert any(f"{names[0]} first and {names[-1]} last" in step for step in told)


def test_cuttings_take_the_volume_of_the_bores_loosened() -> None:
    content = suburban()
    (room,) = (step for step in steps(content) if step.startswith("Cuttings and mud"))
    # 12 bores of 6 in, 300 ft deep: pi/4 x 0.25 sq ft x 300 ft = 58.9 cu ft = 2.182 cu yd each;
    # 26.18 cu yd in all, 1.25 times that loose: 32.73
    assert "32.8 cu yd loose from all holes, 2.8 cu yd from the deepest" in room
    # three times the deepest bore: 6.54 cu yd
    assert "6.6 cu yd or more" in room
    assert math.isclose(SWELL, 1.25)


def test_spoil_is_that_of_the_take_off_and_says_where_it_has_no_room() -> None:
    plan = planned("rural-acre")
    content = plan.content()
    (spoil,) = (step for step in steps(content) if step.startswith("Spoil"))
    dug = [row for row in plan.summary()["take_off"] if row["item"].endswith("trench dug")]
    bank = sum(row["quantity"] for row in dug)
    said = float(spoil.split("Spoil: ")[1].split(" cu yd")[0].replace(",", ""))
    # rows are rounded up one by one
    assert said - 1e-9 <= bank <= said + 0.1 * len(dug)
    # 29 CFR 1926.651(j)(2): 2 ft from the edge
    assert "behind 2 ft kept free at the edge" in spoil
    # 2 ft of trench, 2 ft kept free and a heap of 8.7 ft are more than the 10 ft between trenches
    assert "The next trench is nearer than that" in spoil


def test_the_purge_flow_of_the_specification_is_that_of_the_design() -> None:
    plan = planned("rural-acre")
    layout = plan.drawn.layout
    assert layout is not None
    assert layout.piping is not None
    assert layout.piping.hydraulics is not None
    told = specification(plan.site, layout, ())
    (purge,) = (clause for clause in told if clause.code == "spec-purge")
    assert purge.values["flow_m3s"] == layout.piping.hydraulics.purge_m3s
    unknown = replace(layout, piping=replace(layout.piping, hydraulics=None))
    (each,) = (c for c in specification(plan.site, unknown, ()) if c.code == "spec-purge-each")
    # 2 ft/s in 3/4 in DR 11 pipe: 3.62 gpm, the inside 0.859 in across
    gpm = float(str(each.values["flow_m3s"])) / (0.003785411784 / 60)
    assert gpm == pytest.approx(3.62, abs=0.01)


def test_tape_wire_and_backfill_may_be_stated() -> None:
    plan = planned("small-suburban")
    layout = plan.drawn.layout
    assert layout is not None
    options = SpecificationOptions(tracer="12 AWG, copper-clad", backfill="flowable fill")
    told = specification(replace(plan.site, specification=options), layout, ())
    words = {clause.values["words"] for clause in told if clause.code == "spec-own-words"}
    assert words == {"12 AWG, copper-clad", "flowable fill"}


def test_pipe_is_told_as_the_design_has_it() -> None:
    plan = planned("small-suburban")
    layout, energy = plan.drawn.layout, plan.site.exchanger.energy
    assert layout is not None
    assert layout.piping is not None
    assert energy is not None
    thick = replace(energy, loop=replace(energy.loop, dimension_ratio=9.0))
    site = replace(plan.site, exchanger=replace(plan.site.exchanger, energy=thick))
    pieces = tuple(
        replace(piece, pipes=tuple(replace(pipe, size="") for pipe in piece.pipes))
        for piece in layout.piping.pieces
    )
    group = Group("G1", ("CIR-1",), "", 10.0, 5.0)
    unsized = replace(layout, piping=replace(layout.piping, pieces=pieces, groups=(group,)))
    options = SpecificationOptions(purge_minutes=30.0, stated=("purge_minutes",))
    told = {
        clause.code: figure_words(clause, site.unit)
        for clause in specification(replace(site, specification=options), unsized, ())
    }
    # PPI: PE4710 of DR 11 bears 200 psi
    assert "DR 11, 200 psi at 73 °F" in told["spec-pipe"][1]
    assert "U-bends: DR 9.0, assumed" in told["spec-pipe"][1]
    assert "header: sized once the flow is stated" in told["spec-pipe"][1]
    assert "one group at a time" in told["spec-purge"][1]
    assert "30 min longer" in told["spec-purge"][1]
    assert "minutes as stated" in told["spec-purge"][2]
