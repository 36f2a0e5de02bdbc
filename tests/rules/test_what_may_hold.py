"""A condition binds where some way to fill in what is not stated makes it hold, and surely in all.

What is filled in is written out here: every use, both words of each pair, and flows on, just beside
and far from the bounds. Unstated voltages are left out: they have a row of their own.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from priced import priced_site
from shapely import Point

from siteplan.rule_books.when import Condition, Range
from siteplan.rules.conditions import Plant, binds, certain, plant_of, unstated
from siteplan.site.model import Feature

WHOLE_USES = ("public municipal", "public community", "private domestic")
USES = ("", "public", *WHOLE_USES)
FLUIDS = ("water", "methanol", "propylene glycol")
RANGES = (None, Range(2.0, 5.0), Range(2.0, 5.0, low_in=False, high_in=False), Range(5.0))
FLOWS = (0.0, 1.999, 2.0, 2.001, 4.999, 5.0, 5.001, 80.0)
STATED = (None, 2.0, 3.0, 5.0, 9.0)
THING = Feature("t", "potable well", Point(0, 0))


def inside(wanted, value):
    """Whether a flow falls in a class, by its words: over, from, to, below."""
    if wanted is None:
        return True
    above = value >= wanted.low if wanted.low_in else value > wanted.low
    return above and (value <= wanted.high if wanted.high_in else value < wanted.high)


def outcomes(stated, possible, holds):
    """Whether a condition holds, for each way of filling in."""
    return [holds(value) for value in (possible if stated in (None, "") else (stated,))]


def agrees(condition, thing, plant, found):
    """Whether it binds and surely binds as its outcomes say."""
    assert binds(condition, thing, plant) == any(found)
    if any(found):
        assert certain(condition, thing, plant) == all(found)


@pytest.mark.parametrize("wanted", USES)
@pytest.mark.parametrize("said", USES)
def test_uses(wanted, said):
    whole = [use for use in WHOLE_USES if use.startswith(said)]
    found = [use.startswith(wanted) for use in whole]
    agrees(Condition(use=wanted), replace(THING, use=said), Plant(), found)


@pytest.mark.parametrize(
    ("key", "pair"),
    [
        ("pipe", ("watertight", "not watertight")),
        ("owner", ("own", "other")),
        ("lies", ("uphill", "downhill")),
    ],
)
def test_words(key, pair):
    for wanted, said in product(("", *pair), repeat=2):
        found = outcomes(said, pair, lambda word, wanted=wanted: wanted in ("", word))
        thing, condition = replace(THING, **{key: said}), Condition(**{key: wanted})
        agrees(condition, thing, Plant(), found)
        assert unstated(condition, thing) == ((key,) if len(set(found)) > 1 else ())


@pytest.mark.parametrize("key", ["pump_rate", "daily_flow"])
def test_flows_of_a_well_and_of_a_sewage_field(key):
    for wanted, said in product(RANGES, STATED):
        found = outcomes(said, FLOWS, lambda flow, wanted=wanted: inside(wanted, flow))
        thing = replace(THING, **{f"{key}_m3s": said})
        agrees(Condition(**{key: wanted}), thing, Plant(), found)
        open_ = (key,) if len(set(found)) > 1 else ()
        assert unstated(Condition(**{key: wanted}), thing) == open_


@pytest.mark.parametrize(
    ("key", "of_plant"), [("loop_flow", "loop_flow_m3s"), ("power", "power_w")]
)
def test_flow_and_power_of_the_plant(key, of_plant):
    for wanted, said in product(RANGES, STATED):
        found = outcomes(said, FLOWS, lambda size, wanted=wanted: inside(wanted, size))
        plant = Plant(**{of_plant: said})
        assert binds(Condition(**{key: wanted}), THING, plant) == any(found)
        assert plant.meets(Condition(**{key: wanted})) == any(found)


def test_fluids_named_and_fluids_excepted():
    for names, said in product(((), FLUIDS[:1], FLUIDS[1:]), ("", *FLUIDS)):
        named = outcomes(said, FLUIDS, lambda fluid, names=names: not names or fluid in names)
        agrees(Condition(fluid=names), THING, Plant(antifreeze=said), named)
        excepted = outcomes(said, FLUIDS, lambda fluid, names=names: fluid not in names)
        agrees(Condition(other_fluid=names), THING, Plant(antifreeze=said), excepted)


def test_a_depth_that_is_left_a_choice_meets_a_class_that_part_of_it_falls_in():
    for wanted, (low, high) in product(RANGES, product(FLOWS, repeat=2)):
        if low > high:
            continue
        of_it = [depth for depth in FLOWS if low <= depth <= high]
        plant = Plant(depths=(("bore", Range(low, high)),))
        met = any(inside(wanted, depth) for depth in of_it)
        assert plant.meets(Condition(depth=wanted), "bore") == met
        # of another part nothing is known
        assert plant.meets(Condition(depth=wanted), "trench")
        assert plant.meets(Condition(depth=wanted))


def test_a_stated_voltage_falls_in_its_class_or_not():
    for wanted, said in product(RANGES, STATED):
        thing = replace(THING, voltage_v=said)
        holds = wanted is None if said is None else inside(wanted, said)
        assert binds(Condition(voltage=wanted), thing) == holds
        assert binds(Condition(voltage_unknown=True), thing) == (said is None)


def test_of_several_conditions_each_has_to_hold():
    thing = replace(THING, use="public", pump_rate_m3s=3.0, pipe="watertight", owner="own")
    one_by_one = {
        "use": ("public", "private domestic"), "pump_rate": (Range(2.0), Range(5.0)),
        "pipe": ("watertight", "not watertight"), "owner": ("own", "other"),
    }  # fmt: skip
    for picks in product((0, 1), repeat=len(one_by_one)):
        wanted = {
            key: both[pick] for pick, (key, both) in zip(picks, one_by_one.items(), strict=True)
        }
        assert binds(Condition(**wanted), thing) == (not any(picks))


@pytest.mark.parametrize(
    ("mixture", "said"),
    [("propylene glycol 25 %", "propylene glycol"), ("water", "water"), ("", "")],
)
def test_the_plant_says_of_its_fluid_what_the_site_file_does(mixture, said):
    # what the calculation assumes where nobody has said anything binds by no rule
    fluid = f'[fluid]\nmixture = "{mixture}"\n' if mixture else ""
    heat = '[exchanger]\nentry = [[80, 70]]\ncapacity = "2 ton"\n'
    assert plant_of(priced_site("", heat + fluid)).antifreeze == said
