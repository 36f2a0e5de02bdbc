"""Prices as they are read: one figure or two, here or in a file beside, and every fault named."""

from __future__ import annotations

from pathlib import Path

import pytest
from priced import PRICES, priced_values

from siteplan.errors import InputError
from siteplan.site.prices import Price
from siteplan.site.readers.site_file import site_from


def test_a_single_figure_is_low_and_high() -> None:
    prices = site_from(priced_values()).prices
    assert prices is not None
    assert dict(prices.goods)["bore"] == Price(10, 20)
    assert dict(prices.goods)["sand"] == Price(30, 30)
    # feet of the file, 0.3048 m each
    assert [round(depth / 0.3048) for depth, _ in prices.trench] == [4, 6]


def test_a_file_beside_the_site_file_holds_the_same(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(PRICES, encoding="utf-8")
    values = priced_values(prices="")
    values["prices"] = {"file": "mine.toml"}
    assert site_from(values, folder=tmp_path).prices == site_from(priced_values()).prices


@pytest.mark.parametrize(
    ("prices", "fault"),
    [
        ({"currency": "USD", "bore": [20, 10]}, r"bore: \[20, 10\] is not a price"),
        ({"currency": "USD", "bore": 0}, "bore: 0 is not a price"),
        ({"currency": "USD", "bore": "10 USD"}, "bore: '10 USD' is not a price"),
        ({"bore": 10}, "currency: is missing"),
        ({"currency": "USD"}, "has no price"),
        ({"currency": "USD", "pipe": {"7/8 in": 1}}, "7/8 in: is not a size of pipe"),
        ({"currency": "USD", "trench": {"deep": 1}}, r"\[prices.trench\], deep: "),
        ({"currency": "USD", "trench": {"4 ft": 1, "48 in": 2}}, "48 in: stands twice"),
        ({"currency": "USD", "mobilization": {"crane": 1}}, "crane: is not a machine"),
        ({"file": "mine.toml", "currency": "USD"}, "file: stands beside other keys"),
        ({"file": "none.toml"}, "no such file"),
    ],
)
def test_what_is_no_price_is_refused_where_it_stands(
    tmp_path: Path, prices: dict[str, object], fault: str
) -> None:
    values = priced_values(prices="")
    values["prices"] = prices
    with pytest.raises(InputError, match=fault):
        site_from(values, folder=tmp_path)


def test_faults_of_the_file_name_the_file(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text('currency = "USD"\nboar = 3\n', encoding="utf-8")
    values = priced_values(prices="")
    values["prices"] = {"file": "mine.toml"}
    with pytest.raises(
        InputError, match=r"mine.toml, boar: is not a key here; did you mean 'bore'"
    ):
        site_from(values, folder=tmp_path)
