"""What a lot read for a first look is reminded of, until that very thing is drawn."""

from __future__ import annotations

import pytest

from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site

LOT = """\
[project]
units = "ft"
[geometry]
parcel = [[0, 0], [120, 0], [120, 160], [0, 160]]
[[feature]]
id = "house"
kind = "building"
area = [[40, 30], [80, 30], [80, 60], [40, 60]]
"""
WELL = '[[feature]]\nid = "well"\nkind = "potable well"\nat = [15, 20]\n'
DRIVE = '[[feature]]\nid = "drive"\nkind = "driveway"\nline = [[60, 0], [60, 30]]\n'
STREET = '[[feature]]\nid = "road"\nkind = "street"\nline = [[-20, -15], [140, -15]]\n'
POND = (
    '[[feature]]\nid = "pond"\nkind = "pond"\narea = [[80, 90], [110, 90], [110, 120], [80, 120]]\n'
)
GROUND, ACCESS, DEPTH = "nothing-buried-drawn", "no-street-drawn", "pond-depth-not-said"


# A machine comes in from the street, and buried lines, wells and septic systems take ground:
# common practice, no source.
@pytest.mark.parametrize(
    ("drawn", "reminded"),
    [
        ("", {GROUND, ACCESS}), (DRIVE, {GROUND, ACCESS}), (WELL, {ACCESS}), (STREET, {GROUND}),
        (WELL + STREET, set()),
    ],
    ids=["nothing", "a drive", "a well", "a street", "both"],
)  # fmt: skip
def test_each_reminder_goes_with_the_thing_that_it_names(tmp_path, drawn, reminded):
    (tmp_path / "site.toml").write_text(LOT + drawn, encoding="utf-8")
    told = {each.code for each in read_site(tmp_path, quick=True).granted}
    assert told & {GROUND, ACCESS} == reminded


def test_a_pond_of_unknown_depth_keeps_nobody_from_a_first_look(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(LOT + POND, encoding="utf-8")
    assert DEPTH in {each.code for each in read_site(path, quick=True).granted}
    path.write_text(LOT + POND + 'depth = "9 ft"\n', encoding="utf-8")
    assert DEPTH not in {each.code for each in read_site(path, quick=True).granted}
    path.write_text(LOT + POND + 'depth = "deep"\n', encoding="utf-8")
    with pytest.raises(InputError, match="depth"):
        read_site(path, quick=True)
