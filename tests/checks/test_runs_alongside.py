"""Pipe that runs along a line is an error of its own; pipe that crosses it squarely is none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import LineString, Point
from wording import in_words

from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.findings.model import Finding
from siteplan.layout.elements import Bore
from siteplan.layout.model import Header, Layout
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Entry, Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
LINE = '[[feature]]\nid = "{kind}"\nkind = "{kind}"\n{more}line = [[0, 100], [200, 100]]\n\n'


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Callable[..., Site]:
    def built(kind: str, more: str = "") -> Site:
        line = LINE.format(kind=kind, more=more)
        return read_site(write_site(lot_text.replace("[exchanger]", line + "[exchanger]")))

    return built


def found(site: Site, *points: tuple[float, float]) -> list[Finding]:
    """Findings about a header from (80, 70) at the wall over some points to a bore, in feet."""
    feet = [(x * FT, y * FT) for x, y in ((80, 70), *points)]
    bores = (Bore("B1", *feet[-1], 0.5 * FT, 90.0),)
    header = Header((LineString(feet),), Entry("E", Point(feet[0])))
    layout = Layout("vertical", bores, header, 6.0, 300.0)
    rows = separations(site, layout, rules_of(site))
    return [one for one in check_layout(site, layout, rows, 0.0) if one.code == "runs-alongside"]


@pytest.mark.parametrize("kind", ["gas line", "electric line", "water line", "sewer line"])
def test_a_header_beside_a_buried_line_is_an_error(make: Callable[..., Site], kind: str) -> None:
    # the middle of a trench 2 ft wide 3 ft from the line: 2 ft from its side, 3 ft are kept
    (error,) = found(make(kind), (80, 97), (150, 97), (150, 160))
    assert error.severity == "error"
    assert error.measured_m == pytest.approx(2 * FT, abs=1e-6)
    assert error.required_m == pytest.approx(3 * FT)
    assert kind in in_words(error)


def test_a_header_that_keeps_its_distance_and_crosses_squarely_is_right(
    make: Callable[..., Site],
) -> None:
    assert found(make("gas line"), (80, 95.9), (150, 95.9), (150, 160)) == []
    assert found(make("gas line"), (80, 160)) == []


def test_a_flat_crossing_counts_as_running_along(make: Callable[..., Site]) -> None:
    # 60 ft on 120 ft: atan(1/2) = 26.6 deg; 4 ft are left only after 8.9 ft, 5.7 ft are allowed
    assert len(found(make("gas line"), (200, 130))) == 1


# 29 CFR 1926.1408 Table A: volts of a line and feet to keep; the machine reaches 5 ft farther
TABLE_A = [("12 kV", 10), ("138 kV", 15), ("345 kV", 20), ("500 kV", 25), ("765 kV", 45)]


@pytest.mark.parametrize(("volts", "feet"), TABLE_A)
def test_a_header_under_a_power_line_keeps_the_clearance_of_its_class(
    make: Callable[..., Site], volts: str, feet: float
) -> None:
    site = make("overhead power line", f'voltage = "{volts}"\n')
    far = 100 + feet + 5  # of the middle of the header, north of the line
    (error,) = found(site, (80, far - 1), (190, far - 1), (190, 199))
    assert error.required_m == pytest.approx(feet * FT)
    assert error.measured_m == pytest.approx((feet - 1) * FT, abs=1e-6)
    assert found(site, (80, far + 0.1), (190, far + 0.1), (190, 199)) == []


@pytest.mark.parametrize("past_ft", [-0.001, 0.0, 0.001])
def test_pipe_that_passes_the_end_of_a_line_at_a_wall_crosses_it(
    lot_text: str, write_site: Callable[..., Path], past_ft: float
) -> None:
    # the water enters the house at the wall along which the header leaves: whether it passes a
    # hair before the end of the line drawn or behind it, the same pipe is crossed squarely
    line = '[[feature]]\nid = "w"\nkind = "water line"\nline = [[82, 70.5], [82, 160]]\n\n'
    site = read_site(write_site(lot_text.replace("[exchanger]", line + "[exchanger]")))
    at = 70.5 - past_ft
    assert found(site, (80, at), (110, at), (110, 160)) == []
