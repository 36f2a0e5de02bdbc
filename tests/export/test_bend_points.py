import csv
import io
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import LineString, box

from siteplan import read_site
from siteplan.export.tables import elements_csv
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout


def test_the_table_lists_every_point_at_which_a_trench_turns(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    bent = LineString([(0, 0), (3.048, 0), (3.048, 6.096), (6.096, 6.096)])
    lines = [bent, LineString([(0, 9), (9, 9)])]
    trenches = tuple(Trench(f"T{n}", line, 0.6, 1.5, 2) for n, line in enumerate(lines, start=1))
    text = elements_csv(site, Layout("horizontal", trenches, None, 3.0, 0.0))
    first, second = csv.DictReader(io.StringIO(text))
    assert first["bends_ft"] == "10.000 0.000; 10.000 20.000"
    assert second["bends_ft"] == ""


def test_a_ring_opens_ground_on_both_sides_all_round_and_has_no_ends() -> None:
    ring = Trench("T1", LineString(box(0, 0, 20, 10).exterior.coords), 0.6, 1.5, 2)
    assert ring.is_ring
    # 20.6 x 10.6 less 19.4 x 9.4 m, and less what its outer corners are round: 4 x 0.3² (1 - pi/4)
    corners = 4 * 0.3**2 * (1 - math.pi / 4)
    area = 20.6 * 10.6 - 19.4 * 9.4 - corners
    assert ring.footprint.area == pytest.approx(area, abs=2e-3)
    assert len(ring.footprint.interiors) == 1
    assert len(ring.bends) == 3
