"""Length and layout brought to agree: enough, and no more than a whole step over it."""

from __future__ import annotations

from pathlib import Path

import pytest
from heated_lot import heated_lot

from siteplan.available.prepared import lot_of
from siteplan.demand.required import required_of
from siteplan.design.converge import foreseen, settled
from siteplan.site.readers.site_file import read_site, site_from

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.mark.thorough
@pytest.mark.parametrize("grout", ["0.74 W/m.K", "1.6 W/m.K"])
def test_bores_are_no_longer_than_they_need_to_be_where_they_stand(
    tmp_path: Path, grout: str
) -> None:
    # 12 bores of the first estimate disturb one another: the rounds go up to 23, of which fewer
    # need less because they stand farther apart
    text = (SAMPLES / "good-aquifer/site.toml").read_text(encoding="utf-8")
    text = text.replace('system = "open"', 'system = "vertical"')
    text += f'\n[loop]\ngrout = "{grout}"\n'
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    lot = lot_of(read_site(tmp_path / "site.toml"))
    required = required_of(lot.site.exchanger, "vertical")
    assert required is not None
    required, made = settled(lot, required, "vertical")
    bores = len(made.layout.elements)
    # enough; and within the 2 % that are worth a search, and half a metre of depth for each bore
    assert required.length_m <= made.layout.length_m + 1e-6
    assert made.layout.length_m <= 1.02 * required.length_m + 0.5 * bores


@pytest.mark.parametrize(
    ("load", "room"), [("60 MBH", True), pytest.param("150 MBH", False, marks=pytest.mark.thorough)]
)
def test_what_bores_come_to_is_foreseen_without_their_header(load: str, room: bool) -> None:
    # each bore warms or cools the ground of the others: what they need where they stand is far
    # more than what bores apart from one another do, and hardly less than their drafts tell
    wanted = heated_lot("sandy clay", loads={"heating": load, "heating_hours": 2300})
    lot = lot_of(site_from(wanted))
    apart = required_of(lot.site.exchanger, "vertical")
    assert apart is not None
    least_m, held = foreseen(lot, apart, "vertical")
    needed, made = settled(lot, apart, "vertical")
    assert held is room is (made.layout.obstacle is None)
    assert 1.5 * apart.length_m < least_m < 1.02 * needed.length_m
    if room:
        assert least_m == pytest.approx(needed.length_m, rel=0.02)
