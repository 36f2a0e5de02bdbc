"""Outlines of groups on the plan: what is in each, and nothing of another."""

import pytest
import shapely
from pipe_fields import bores, exchanger, trenches

from siteplan.layout.piping.pipes import with_pipes
from siteplan.sheet.plan_view.groups import group_areas


@pytest.mark.parametrize("field", [bores(26), bores(13), trenches([60.0] * 15, pipes=4)])
def test_an_outline_holds_the_elements_of_its_group_and_no_others(field):
    layout = with_pipes(field, exchanger())
    areas = group_areas(layout)
    assert list(areas) == [group.id for group in layout.piping.groups]
    for circuit in layout.circuits:
        for element in layout.elements:
            if element.id in circuit.elements:
                assert areas[circuit.group].covers(element.footprint)
    groups = {
        element.id: {c.group for c in layout.circuits if element.id in c.elements}
        for element in layout.elements
    }
    for name, area in areas.items():
        for element in layout.elements:
            if name not in groups[element.id]:
                assert area.disjoint(element.footprint)


def test_outlines_of_neighbours_in_a_row_do_not_overlap():
    areas = list(group_areas(with_pipes(bores(26), exchanger())).values())
    overlap = shapely.intersection_all(areas[:2]).area
    assert overlap == pytest.approx(0.0, abs=1e-6)


def test_a_field_that_is_not_divided_has_no_outlines():
    assert group_areas(with_pipes(bores(12), exchanger())) == {}
