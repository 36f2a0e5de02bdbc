"""Length required: given by somebody, or screened per ton of common practice."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.demand.required import required_of
from siteplan.site.model import Exchanger
from siteplan.site.readers.site_file import read_site

FT = 0.3048
GPM = 231 * 0.0254**3 / 60


@pytest.fixture
def exchanger(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], Exchanger]:
    def read(tables: str) -> Exchanger:
        text = lot_text.replace('capacity = "2 ton"\n', "")
        return read_site(write_site(f"{text}{tables}")).exchanger

    return read


def test_a_given_length_is_taken_with_the_giver(
    exchanger: Callable[[str], Exchanger],
) -> None:
    wanted = exchanger('[vertical]\nlength = { given = "600 ft", by = "J. Doe" }\n')
    required = required_of(wanted, "vertical")
    assert required is not None
    assert required.length_m == pytest.approx(600 * FT)
    assert (required.basis, in_words(required.reason)) == ("given", "600 ft given by J. Doe")
    assert required_of(wanted, "horizontal") is None


def test_a_loop_types_own_length_comes_before_the_common_one(
    exchanger: Callable[[str], Exchanger],
) -> None:
    common = 'length = { given = "900 ft", by = "A" }\n'
    own = '[pond]\nlength = { given = "1500 ft", by = "B" }\n'
    wanted = exchanger(common + own)
    lengths = {
        system: required.length_m / FT
        for system in ("horizontal", "vertical", "pond")
        if (required := required_of(wanted, system)) is not None  # type: ignore[arg-type]
    }
    assert lengths == pytest.approx({"horizontal": 900, "vertical": 900, "pond": 1500})


@pytest.mark.parametrize(
    ("system", "length_ft"),
    # common practice, no source; the conservative end of each range, three tons
    [("horizontal", 3 * 300), ("vertical", 3 * 250), ("pond", 3 * 300)],
)
def test_screening_takes_the_conservative_end_and_says_it_is_no_permit_figure(
    exchanger: Callable[[str], Exchanger], system: str, length_ft: float
) -> None:
    required = required_of(exchanger('capacity = "3 ton"\n'), system)  # type: ignore[arg-type]
    assert required is not None
    assert required.length_m == pytest.approx(length_ft * FT)
    assert required.basis == "screening"
    assert "not for permit" in in_words(required.reason)


def test_an_open_loop_needs_water_not_length(exchanger: Callable[[str], Exchanger]) -> None:
    screened = required_of(exchanger('capacity = "3 ton"\n'), "open")
    given = required_of(exchanger('[open]\nflow = "8 gpm"\n'), "open")
    assert screened is not None
    assert given is not None
    # common practice, no source: 3 gpm a ton
    assert screened.flow_m3s == pytest.approx(9 * GPM)
    assert given.flow_m3s == pytest.approx(8 * GPM)
    assert screened.length_m == given.length_m == 0


def test_screening_of_trenches_holds_for_two_pipes_only(
    exchanger: Callable[[str], Exchanger],
) -> None:
    wanted = exchanger('capacity = "3 ton"\n[horizontal]\npipes = 4\n')
    assert required_of(wanted, "horizontal") is None
