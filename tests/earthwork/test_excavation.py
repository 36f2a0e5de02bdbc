"""The strip that a sloped trench opens: 29 CFR 1926 Subpart P App. B Table B-1."""

from __future__ import annotations

import pytest

from siteplan.earthwork.excavation import needs_protection, strip_width
from siteplan.site.model import HorizontalOptions
from siteplan.site.sides import SoilClass

FT = 0.3048


def trench(depth_ft: float, soil: SoilClass | None, protection: str = "slope") -> HorizontalOptions:
    return HorizontalOptions(
        10.0,
        depth_ft * FT,
        3 * FT,
        2,
        0.0,
        soil=soil,
        protection=protection,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("soil", "width_ft"),
    # 3 ft bottom + 2 x slope x 6 ft, slopes 3/4, 1 and 1-1/2 to 1
    [("A", 12), ("B", 15), ("C", 21), ("stable rock", 3)],
)
def test_a_six_foot_trench_opens_what_table_b1_asks(soil: SoilClass, width_ft: float) -> None:
    assert strip_width(trench(6, soil)) == pytest.approx(width_ft * FT)


def test_shields_and_shallow_trenches_open_their_own_width() -> None:
    assert strip_width(trench(6, "C", "shield")) == pytest.approx(3 * FT)
    assert strip_width(trench(4.9, "C")) == pytest.approx(3 * FT)
    assert strip_width(trench(6, None)) == pytest.approx(3 * FT)


def test_protection_begins_at_five_feet_unless_in_stable_rock() -> None:
    # 29 CFR 1926.652(a)(1)
    depths = [needs_protection(trench(depth, "B")) for depth in (4.99, 5.0, 8.0)]
    assert depths == [False, True, True]
    assert not needs_protection(trench(8, "stable rock"))
