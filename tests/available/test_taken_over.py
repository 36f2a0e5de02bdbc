"""What an earlier stage knows of a lot is taken over, and not worked out again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from small_lot import FIELD, GROUND

from siteplan.available.ground import ground_of_bores, prepare
from siteplan.available.prepared import lot_of
from siteplan.site.readers.site_file import read_site


@pytest.mark.usefixtures("alone")
def test_a_lot_that_did_not_change_is_prepared_only_once(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    first = lot_of(site)
    ground = prepare(first, ground_of_bores).ground
    again, anew = lot_of(site, earlier=first.memory), lot_of(site)
    assert prepare(again, ground_of_bores).ground.area is ground.area
    assert prepare(anew, ground_of_bores).ground.area is not ground.area


def test_fields_that_are_only_compared_spare_no_ground(write_site: Callable[..., Path]) -> None:
    street = '[[feature]]\nid = "road"\nkind = "street"\nline = [[-50, -20], [250, -20]]\n'
    wanted = '[exchanger]\ncapacity = "2 ton"\nentry = [[80, 70]]\n'
    lot = lot_of(read_site(write_site(GROUND + FIELD + street + wanted)))
    compared = prepare(replace(lot, draft=True), ground_of_bores).ground
    assert [each.name for each in prepare(lot, ground_of_bores).ground.spared] == ["front yard"]
    assert compared.spared == ()
