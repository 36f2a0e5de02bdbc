"""Which loop type is drawn where the cheapest is wanted, and the word where one takes far more."""

from __future__ import annotations

import pytest
from planned import planned_once
from priced import PRICES, priced_site, priced_values
from wording import in_words

from siteplan.errors import InputError
from siteplan.plan import SitePlan
from siteplan.site.readers.site_file import site_from

LOOPS = ("horizontal", "vertical")


def codes(plan: SitePlan) -> list[str]:
    return [finding.code for finding in plan.findings]


def costs(plan: SitePlan) -> dict[str, float]:
    return {each.system: each.cost.middle for each in plan.compared if each.cost is not None}


def test_without_a_word_trenches_come_first() -> None:
    plan = planned_once(priced_site())
    assert plan.drawn.system == "horizontal"


def test_the_cheapest_is_drawn() -> None:
    # drilled for next to nothing, so that bores undercut 300 ft of trench at 30 to 40
    cheap = PRICES.replace("bore = [10, 20]", "bore = 0.1").replace("[3, 4]", "[30, 40]")
    plan = planned_once(priced_site(cheap, order="cheapest"))
    assert costs(plan)["vertical"] < costs(plan)["horizontal"]
    assert plan.drawn.system == "vertical"
    dear = planned_once(priced_site(order="cheapest"))
    # 400 ft of bore at 10 to 20 and a rig at 1,000, against 300 ft of trench at 3 to 4
    assert costs(dear)["vertical"] > costs(dear)["horizontal"]
    assert dear.drawn.system == "horizontal"


def test_what_has_no_price_for_its_bores_cannot_be_the_cheapest_and_is_named() -> None:
    plan = planned_once(priced_site(PRICES.replace("bore = [10, 20]\n", ""), order="cheapest"))
    assert plan.drawn.system == "horizontal"
    assert "not-cheapest" in codes(plan)
    assert "takes-twice" not in codes(plan)


def test_the_cheapest_without_prices_is_a_fault_that_names_the_mend() -> None:
    values = priced_values(prices="")
    values["exchanger"]["order"] = "cheapest"
    with pytest.raises(InputError, match=r'order: is "cheapest", and there are no prices'):
        site_from(values)


def test_twice_the_cost_of_another_is_told() -> None:
    cheap = PRICES.replace("bore = [10, 20]", "bore = 0.1").replace("rig = 1000", "rig = 1")
    cheap = cheap.replace('"6 ft" = [3, 4]', '"6 ft" = [30, 40]')
    plan = planned_once(priced_site(cheap))
    assert costs(plan)["horizontal"] > 2 * costs(plan)["vertical"]
    assert "takes-twice" in codes(plan)


def test_without_prices_a_foot_of_trench_counts_as_a_foot_of_bore() -> None:
    lengths = """\
[exchanger]
entry = [[80, 70]]
[horizontal]
length = { given = "900 ft", by = "a designer" }
[vertical]
length = { given = "200 ft", by = "a designer" }
"""
    plan = planned_once(priced_site(prices="", lengths=lengths))
    work = {each.system: each.work_m for each in plan.compared}
    assert work["horizontal"] > 2 * work["vertical"]
    assert "takes-twice" in codes(plan)
    assert "vertical (less than half the work)" in plan.content().verdict
    near = planned_once(priced_site(prices="", lengths=lengths.replace("900 ft", "300 ft")))
    assert "takes-twice" not in codes(near)
    assert "less than half" not in near.content().verdict


def test_all_are_compared_but_the_plan_is_for_the_loop_type_asked_for() -> None:
    from siteplan.plan import plan_site

    plan = plan_site(priced_site(prices="", system="open"), everything=True)
    assert [trial.system for trial in plan.trials] == ["horizontal", "pond", "vertical", "open"]
    assert plan.drawn.system == plan.system == "open"
    assert not plan.fits
    assert len(plan.compared) == 2


FIELDS = """\
[exchanger]
entry = [[80, 70]]
[horizontal]
length = { given = "%d ft", by = "a designer" }
[vertical]
length = { given = "%d ft", by = "a designer" }
"""


def told(plan: SitePlan) -> str:
    (finding,) = [each for each in plan.findings if each.code == "takes-twice"]
    return in_words(finding)


def test_far_more_soil_is_far_more_work_where_as_much_is_dug_as_drilled() -> None:
    # 800 ft of trench 2 ft wide and 5 ft deep are 8,000 cubic feet, 296 cu yd: two days of digging
    plan = planned_once(priced_site(prices="", lengths=FIELDS % (800, 700)))
    horizontal, vertical = (each for each in plan.compared if each.system in LOOPS)
    assert horizontal.amount("soil") > 2 * vertical.amount("soil")
    assert horizontal.work_m < 2 * vertical.work_m
    assert "by the soil dug: " in told(plan)
    assert told(plan).count("of soil") == 2


def test_soil_is_no_measure_where_fewer_feet_are_dug_than_drilled() -> None:
    plan = planned_once(priced_site(prices="", lengths=FIELDS % (800, 1100)))
    assert plan.drawn.system == "horizontal"
    assert "takes-twice" not in codes(plan)


def test_the_word_says_by_which_measure() -> None:
    lengths = planned_once(priced_site(prices="", lengths=FIELDS % (900, 200)))
    # 900 ft and a header against 200 ft and one: by its feet; by its soil it would be more still
    assert "of trench dug and bore drilled with" in told(lengths)
    cheap = PRICES.replace("bore = [10, 20]", "bore = 0.1").replace("rig = 1000", "rig = 1")
    cheap = cheap.replace('"6 ft" = [3, 4]', '"6 ft" = [30, 40]')
    assert "by what they cost: USD" in told(planned_once(priced_site(cheap)))
