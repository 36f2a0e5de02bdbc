"""The report in the designer's words, and kinds of trench with more pipe where trench is short."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.available.prepared import lot_of
from siteplan.design.denser_trench import denser_kind
from siteplan.plan import SitePlan, plan_site
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
Make = Callable[..., Site]


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Make:
    """Bare square of 100 ft.

    10 ft from the property line and trenches 2 ft wide: centre lines from 11 to 89 ft, 8 straight
    rows of 78 ft 10 ft apart, 624 ft; no more than (78 + 10)^2 / 10 = 774 ft in any way.
    """

    def built(length_ft: float, *tables: str) -> Site:
        bare = lot_text.partition("[[feature]]")[0].replace("200", "100")
        own = f'length = {{ given = "{length_ft} ft", by = "test" }}'
        text = f"{bare}[exchanger]\n{own}\nentry = [[50, 20]]\n"
        return read_site(write_site("\n".join([text, *tables])))

    return built


def planned(site: Site) -> SitePlan:
    return plan_site(site, system="horizontal")


def test_what_fits_is_told_in_the_words_of_the_designer(make: Make) -> None:
    why = in_words(planned(make(500)).drawn.why)
    # 624 to 774 ft hold 500: 24 to 54 % to spare
    told = re.fullmatch(
        r"two-pipe trench: capacity (\d+) ft, required 500 ft \((\d+) % spare\)", why
    )
    assert told is not None
    held, spare = int(told[1]), int(told[2])
    assert 24 <= spare <= 54
    assert spare in (100 * held // 500 - 100, 100 * (held + 1) // 500 - 100)


def test_a_kind_named_is_the_kind_told(make: Make) -> None:
    why = in_words(planned(make(300, '[horizontal]\nkind = "flat coil"')).drawn.why)
    assert why.startswith("flat-coil trench: capacity ")
    assert "required 300 ft" in why


def test_four_pipes_are_told_where_they_would_fit(make: Make) -> None:
    # 900 ft of two pipes are 1,800 ft of pipe: 450 ft of four pipes, below 624 ft
    plan = planned(make(900))
    assert not plan.fits
    assert "short); four-pipe trenches would fit with the same length of pipe" in in_words(
        plan.drawn.why
    )
    (words,) = [in_words(one.change) for one in plan.weighing.remedies if one.kind == "pipes"]
    assert words.startswith('four-pipe trenches ([horizontal] kind = "four pipes"): 450 ft')
    assert "screening only" in words


def test_six_pipes_are_told_where_four_are_not_enough(make: Make) -> None:
    # 1,800 ft of two pipes: 900 ft of four pipes, above 774 ft; 600 ft of six pipes, whose
    # trenches are 3 ft wide: 8 rows of 77 ft, 616 ft
    site = make(1800)
    found = denser_kind(lot_of(site), 1800 * FT, 640 * FT)
    assert found is not None
    assert found.kind.name == "six pipes"
    assert found.length_m == pytest.approx(600 * FT)


def test_no_kind_is_told_where_none_would_fit(make: Make) -> None:
    # 3,000 ft of two pipes are 6,000 ft of pipe; an upright coil holds 7.28 ft a foot: 824 ft
    site = make(3000)
    assert denser_kind(lot_of(site), 3000 * FT, 774 * FT) is None
    assert "would fit" not in in_words(planned(site).drawn.why)


def test_a_kind_as_wide_as_the_spacing_is_not_told(make: Make) -> None:
    # at 3 ft spacing neither six pipes nor a flat coil, both 3 ft wide, nor a wide pit
    site = make(9000, '[horizontal]\nspacing = "3 ft"')
    found = denser_kind(lot_of(site), 3500 * FT, 2000 * FT)
    assert found is not None
    assert found.kind.name == "four pipes"
    narrow = denser_kind(lot_of(site), 5800 * FT, 2000 * FT)
    assert narrow is not None
    assert narrow.kind.name == "upright coil"
