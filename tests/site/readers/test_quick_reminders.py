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
BTU_H = 0.29307107  # W, by the international table
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


LOADS = '[loads]\nheating = "36 MBH"\ncooling = "2 ton"\n'
DESCRIBED = '[ground]\ntemperature = "50 F"\nsoil = "clay"\n'
HOURS, SCREENED = "hours-not-stated", "ground-not-described"


# A contractor knows the load of a house before anything else; of its hours and its ground he says
# nothing at first: common practice, no source.
@pytest.mark.parametrize(
    ("more", "codes", "capacity_w"),
    [
        (LOADS, {SCREENED}, 36_000 * BTU_H),
        ('[loads]\ncooling = "4 ton"\nheating = "36 MBH"\n', {SCREENED}, 48_000 * BTU_H),
        (LOADS + DESCRIBED, {HOURS}, None),
        (LOADS + "heating_hours = 1900\ncooling_hours = 500\n" + DESCRIBED, set(), None),
    ],
    ids=["nothing said of the ground", "more cooling", "no hours", "all said"],
)
def test_loads_alone_are_enough_for_a_first_look(tmp_path, more, codes, capacity_w):
    (tmp_path / "site.toml").write_text(LOT + more, encoding="utf-8")
    site = read_site(tmp_path, quick=True)
    assert {each.code for each in site.granted} & {HOURS, SCREENED} == codes
    assert (site.exchanger.energy is None) == (capacity_w is not None)
    if capacity_w is not None:
        assert site.exchanger.capacity_w == pytest.approx(capacity_w, rel=1e-6)


def test_a_plan_still_asks_for_hours_and_ground(tmp_path):
    (tmp_path / "site.toml").write_text(LOT + LOADS, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_site(tmp_path)
    assert {"heating_hours", "temperature"} <= {
        fault.where.split(", ")[-1] for fault in caught.value.faults
    }


def test_a_load_that_cannot_be_read_is_a_fault_of_its_own(tmp_path):
    text = LOT + LOADS.replace("36 MBH", "36 horses")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="36 horses"):
        read_site(tmp_path, quick=True)


@pytest.mark.parametrize(
    "more",
    [
        LOADS + "[loads.hot_water]\npeople = 4\n",
        LOADS + "heating_hour = 2000\n",
        LOADS + "heating_hours = 9999\n",
        LOADS + 'heating_hours = "many"\n',
        LOADS + 'cop = "good"\n',
        LOADS.replace("2 ton", "-2 ton"),
        LOADS + '[exchanger]\ncapacity = "3 ton"\n',
        LOADS + '[exchanger]\nlength = { given = "800 ft", by = "a designer" }\n',
    ],
    ids=[
        "uses",
        "misspelt",
        "beyond a year",
        "no number",
        "no figure",
        "negative",
        "size",
        "length",
    ],
)
def test_nothing_that_is_said_of_loads_is_left_out_in_silence(tmp_path, more):
    (tmp_path / "site.toml").write_text(LOT + more, encoding="utf-8")
    with pytest.raises(InputError):
        read_site(tmp_path, quick=True)
