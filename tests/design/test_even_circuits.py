"""Other trenches are dug where circuits would be uneven otherwise, and never at a loss."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from test_random_lots import random_lot
from wording import in_words

from siteplan.advisories.pipes import pipe_remarks
from siteplan.available.prepared import lot_of
from siteplan.demand.required import required_of
from siteplan.design.converge import settled
from siteplan.design.evaluate import try_system
from siteplan.design.even_circuits import UNEVEN, Settled, evened
from siteplan.site.readers.site_file import read_site


def laid_first(path: Path, seed: int) -> Settled:
    # no staking allowance and one book: room is what makes circuits even, and lots were looked for
    text = random_lot(seed).replace('["minnesota", "laporte-county-in"]', '["minnesota"]')
    path.write_text(text + '\n[staking]\nallowance = "0 ft"\n', encoding="utf-8")
    site = read_site(path)
    lot = lot_of(site)
    required = required_of(site.exchanger, "horizontal")
    assert required is not None
    return Settled(lot, *settled(lot, required, "horizontal"))


@pytest.fixture(scope="module")
def uneven(tmp_path_factory: pytest.TempPathFactory) -> Settled:
    """A lot whose cheapest trenches make uneven circuits, as first laid out."""
    return laid_first(tmp_path_factory.mktemp("uneven") / "site.toml", 207)


def codes_of(laid: Settled) -> set[str]:
    return {one.code for one in pipe_remarks(laid.site, laid.piped())}


def test_more_trench_cut_to_length_makes_circuits_even_that_were_not(uneven: Settled) -> None:
    first = uneven
    assert UNEVEN in codes_of(first)
    even = evened(first.lot, first.required, first.made)
    assert UNEVEN not in codes_of(even)
    lengths = [one.length_m for one in even.piped().circuits]
    assert min(lengths) >= 0.95 * max(lengths)
    assert even.made.layout.evened


def test_evened_trenches_hold_what_is_required_and_the_lot_takes_no_less(uneven: Settled) -> None:
    first = uneven
    even = evened(first.lot, first.required, first.made)
    assert even.made.layout.length_m >= even.required.length_m - 1e-6
    assert even.made.layout.capacity_m >= first.made.layout.capacity_m


def test_the_plan_says_that_trenches_were_cut_for_even_circuits(uneven: Settled) -> None:
    first = uneven
    trial = try_system(first.lot, "horizontal")
    assert trial.fits
    [said] = [one for one in trial.findings if one.code == "trenches-evened"]
    assert "so that all circuits are within 5 %" in in_words(said)
    assert UNEVEN not in {one.code for one in trial.findings}


@pytest.mark.thorough
def test_circuits_stay_uneven_where_evening_them_takes_three_times_the_header(
    tmp_path: Path,
) -> None:
    first = laid_first(tmp_path / "site.toml", 17)
    assert UNEVEN in codes_of(first)
    assert evened(first.lot, first.required, first.made).made is first.made


def test_trenches_whose_circuits_are_even_stay_as_they_are(write_site: Callable[..., Path]) -> None:
    site = read_site(write_site(random_lot(2)))
    lot = lot_of(site)
    required = required_of(site.exchanger, "horizontal")
    assert required is not None
    _, made = settled(lot, required, "horizontal")
    assert evened(lot, required, made).made is made
