"""What the page shows of a lot while its figures are still being typed."""

from __future__ import annotations

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from test_edit_server import LOT

from siteplan.web.items import Drawing
from siteplan.web.scene import faults_of, scene_of

HALF = """
[loads]
heating = "24 MBH"
heating_hours = 1700
"""
ENTRY = """
[[entry]]
id = "door"
at = [60, 60]
"""


@pytest.mark.parametrize("entry", ["", ENTRY], ids=["any wall", "entry drawn"])
def test_the_ground_left_is_shown_while_loads_are_typed_and_the_ground_is_not_yet(tmp_path, entry):
    # the length is taken out: the loads alone say what is wanted, and want a ground temperature
    text = LOT.replace('length = { given = "300 ft", by = "a designer" }', "") + HALF + entry
    file = tmp_path / "site.toml"
    file.write_text(text, encoding="utf-8")
    scene = scene_of(Drawing({file.name: text}, file.name, None), file)
    assert any("ground" in fault.where for fault in scene.faults)
    # 10 ft from the property line by common practice, 6 in for staking and the bore's 3 in
    (bore,) = (each for each in scene.told()["parts"] if each["part"] == "bore")
    assert bore["line"][0] == pytest.approx(10.75 * 0.3048, abs=0.01)


def scene_with(tmp_path, text):
    file = tmp_path / "site.toml"
    file.write_text(text, encoding="utf-8")
    return scene_of(Drawing({file.name: text}, file.name, None), file).told()


@pytest.mark.parametrize("missing", ["", "length = "], ids=["whole", "without a length"])
@pytest.mark.parametrize(("west_ft", "told"), [(70, True), (80, False), (79.9, False)])
def test_a_garage_on_the_house_is_told_and_one_wall_to_wall_is_not(
    tmp_path, west_ft, told, missing
):
    garage = f"""
[[feature]]
id = "garage"
kind = "building"
walls = ["24", "L", "24", "L", "24"]
corner = [{west_ft}, 30]
direction = "east"
"""
    text = LOT + garage
    if missing:
        text = "\n".join(line for line in text.split("\n") if not line.startswith(missing))
    scene = scene_with(tmp_path, text)
    assert bool(scene["faults"]) == bool(missing)
    assert [each["things"] for each in scene["overlaps"]] == [["house", "garage"]] * told


def test_what_a_new_file_asks_to_fill_in_stands_in_no_field(tmp_path):
    settings = scene_with(tmp_path, LOT.replace("A. Owner", "FILL IN"))["settings"]
    assert settings["project"]["title"] == "Loop"
    assert "owner" not in settings["project"]


def test_a_fault_of_a_thing_names_it_whatever_it_is_called_and_leads_to_it(tmp_path):
    shed = '\n[[feature]]\nid = "Bob\'s shed"\nkind = "building"\n{}\n'
    area = "area = [[5, 90], [20, 90], [20, 99]]\noverhang = 'wide'"
    drawn = scene_with(tmp_path, LOT + shed.format(area))
    (told,) = (each for each in drawn["faults"] if "shed" in each["where"])
    assert told["where"] == "Bob's shed, Roof beyond the walls"
    assert told["leads"] == [
        {"called": "Show Bob's shed", "thing": "Bob's shed", "key": "overhang"}
    ]
    # nothing else is taken off the board by it
    assert {each["id"] for each in drawn["things"]} == {"house", "well", "Bob's shed"}
    assert drawn["parts"] == []  # what it is kept off by is not known
    # of one without a shape nothing can be shown; it is refused before it is saved
    text = LOT + shed.format('walls = ["10 ft", "R"]')
    file = tmp_path / "site.toml"
    drawing = Drawing({file.name: text}, file.name, None)
    assert [each.thing for each in faults_of("Bob's shed", drawing, tmp_path)] == ["Bob's shed"]
    (told,) = (each for each in scene_with(tmp_path, text)["faults"] if each["thing"])
    assert told["leads"] == []


def test_a_lot_by_its_deed_stays_on_the_board_while_a_pond_has_no_depth_yet(tmp_path):
    deed = 'deed = { calls = ["N 200 ft", "E 120 ft", "S 200 ft", "W 120 ft"] }'
    pond = '\n[[feature]]\nid = "pond"\nkind = "pond"\narea = [[20, 90], [90, 90], [50, 150]]\n'
    start, end = LOT.index("parcel ="), LOT.index("[[feature]]")
    by_deed = f"{LOT[:start]}{deed}\n\n{LOT[end:]}".replace('"vertical"', '"pond"')
    told = scene_with(tmp_path, by_deed + pond)
    assert any(each["thing"] == "pond" and "depth" in each["where"] for each in told["faults"])
    # 200 by 120 ft
    assert told["parcel"]["area"] == pytest.approx(24_000 * 0.3048**2, rel=1e-6)
    assert {each["id"] for each in told["things"]} == {"house", "well", "pond"}


def test_no_coil_may_lie_on_land_and_none_is_shown_there(tmp_path):
    pond = '\n[[feature]]\nid = "pond"\nkind = "pond"\ndepth = "9 ft"\n'
    text = LOT + pond + "area = [[20, 90], [100, 90], [100, 150], [20, 150]]\n"
    file = tmp_path / "site.toml"
    file.write_text(text, encoding="utf-8")
    ground = scene_of(Drawing({file.name: text}, file.name, None), file).ground
    assert {each["part"]: each["land"] for each in ground.parts()}["coil"] is False
    # 10 ft south of the water, and in the middle of it
    for y, because in ((80, [["pond", "10.0 ft"]]), (120, [])):
        (coil,) = (each for each in ground.why(60 * 0.3048, y * 0.3048) if each["part"] == "coil")
        told = [[each["thing"], each["away"]] for each in coil["because"]]
        assert (coil["may"], told) == (not because, because)
