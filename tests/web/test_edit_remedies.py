"""Remedies tried by a click: what each writes into the site file is what the remedy says."""

from __future__ import annotations

import shutil

import places
import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from test_edit_server import LOT

from siteplan.errors import InputError
from siteplan.findings.entries import entries
from siteplan.findings.model import reason
from siteplan.site.readers.site_file import read_site
from siteplan.web.remedies import BY_HAND, CHANGES, by_hand, changes_of
from siteplan.web.session import Session

FOOT, GALLON = 0.3048, 0.003785411784
PARTS = {"with-larger-pipe", "turning-on", "turning-on-the-spot", "wall-place", "wall-place-of",
         "screened-in-rows",
         "rule-note", "flow-below", "shorter-distance", "nothing-helps", "fault-alone",
         "few-rigs-so-deep", "then-required", "to-be-calculated-again"}  # fmt: skip
"""Codes of the chapter that only complete the sentence of another, or tell that nothing helps."""
MORE = """
[[feature]]
id = "field"
kind = "drainfield"
area = [[90, 120], [110, 120], [110, 140], [90, 140]]

[[feature]]
id = "door"
kind = "entry"
at = [40, 50]

[loads]
heating = "36 MBH"
heating_hours = 2000

[ground]
temperature = "52 F"
soil = "limestone"
"""


@pytest.fixture
def lot(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(LOT.replace("[exchanger]", MORE + "\n[exchanger]"), encoding="utf-8")
    return Session(file)


def tried(lot, system, change):
    """The site once a remedy was clicked."""
    ops = changes_of(system, change, lot.scene.site)
    assert ops
    lot.change(lot.store.digest, ops)
    return read_site(lot.store.path, quick=True)


def test_every_remedy_is_tried_or_says_why_a_click_cannot():
    chapter = {code for code, entry in entries().items() if entry.chapter == "remedies"}
    tried_or_told = {*CHANGES, *BY_HAND, "both-changes"}
    # a stronger mixture stands with what is said of fluids
    assert tried_or_told - {"stronger-mixture"} == chapter - PARTS


@pytest.mark.parametrize(
    ("system", "code", "values", "where", "feet"),
    [
        ("vertical", "nearer-together", {"spacing_m": 15 * FOOT}, "vertical.spacing_m", 15),
        ("horizontal", "nearer-together", {"spacing_m": 8 * FOOT}, "horizontal.spacing_m", 8),
        ("vertical", "deeper-bores", {"depth_m": 350 * FOOT}, "vertical.depth_most_m", 350),
        ("horizontal", "deeper-trenches", {"depth_m": 6.5 * FOOT}, "horizontal.depth_m", 6.5),
    ],
)
def test_a_size_is_written_as_the_remedy_has_it(lot, system, code, values, where, feet):
    site = tried(lot, system, reason(code, **values))
    table, key = where.split(".")
    assert getattr(getattr(site.exchanger, table), key) == pytest.approx(feet * FOOT)


def test_a_denser_trench_takes_the_sizes_of_its_kind(lot):
    site = tried(lot, "horizontal", reason("denser-trench-calculated", kind="four pipes"))
    assert site.exchanger.horizontal.kind == "four pipes"


def test_bores_lean_from_a_pad(lot):
    site = tried(lot, "vertical", reason("leaning-bores", tilt_deg=15))
    assert site.exchanger.vertical.pad.tilt_deg == 15


def test_a_smaller_machine_has_the_sizes_said(lot):
    sizes = {"width_m": 5 * FOOT, "length_m": 12 * FOOT}
    change = reason("smaller-machine", machine="rig", **sizes, turns=reason("turning-on-the-spot"))
    rig = tried(lot, "vertical", change).exchanger.rig
    assert (rig.width_m, rig.length_m, rig.turning_m) == pytest.approx((5 * FOOT, 12 * FOOT, 0))


def test_a_stronger_mixture_is_written_as_it_is_sold(lot):
    change = reason("stronger-mixture", mixture="propylene glycol 30 %")
    tried(lot, "vertical", change)
    assert 'mixture = "propylene glycol 30 %"' in lot.store.path.read_text()


def test_a_flow_is_stated_just_below_the_bound_of_its_class(lot):
    bound = 600 * GALLON / 86_400
    told = {"feature": "field", "key": "daily_flow", "when": "", "below_m3s": bound}
    site = tried(lot, "vertical", reason("flows-stated", flows=(reason("flow-below", **told),)))
    field = next(each for each in site.features if each.id == "field")
    assert 0.99 * bound < field.daily_flow_m3s < bound


def test_backup_heat_leaves_the_heat_of_the_year_as_it_is(lot):
    tried(lot, "vertical", reason("backup-heat", carried=0.8))
    text = lot.store.path.read_text()
    # 0.8 of 36 MBH, and 2,000 hours over 0.8: 36 x 2000 = 28.8 x 2500
    assert 'heating = "28.8 MBH"' in text
    assert "heating_hours = 2500" in text


def test_a_use_left_to_other_heat_goes_from_the_loads(lot):
    water = [{"op": "set", "path": ["loads", "hot_water", "people"], "value": 4}]
    lot.change(lot.store.digest, water)
    assert read_site(lot.store.path, quick=True).exchanger.energy.loads.sides
    site = tried(lot, "vertical", reason("use-by-other-heat", use="hot water"))
    assert site.exchanger.energy.loads.sides == ()
    assert site.exchanger.energy.loads.heating_w > 0


def test_a_figure_that_is_not_stated_is_not_scaled(lot):
    with pytest.raises(InputError, match=r"loads\.cooling is not stated"):
        lot.change(lot.store.digest, [{"op": "scale", "path": ["loads", "cooling"], "by": 0.8}])


def test_any_wall_takes_out_the_entries_that_were_stated(lot):
    site = tried(lot, "vertical", reason("another-entry"))
    assert site.any_wall
    assert "door" not in lot.store.path.read_text()


def test_two_changes_are_made_together_and_what_nobody_can_click_says_why(lot):
    site = lot.scene.site
    nearer = reason("nearer-together", spacing_m=15 * FOOT)
    flows = reason("flows-stated", flows=())
    lax = reason("by-variance", distance_m=1.0)
    stated = reason("state-a-flow", feature="field", key="daily_flow", below_m3s=0.001)
    both = reason("both-changes", first=stated, second=nearer)
    assert len(changes_of("vertical", both, site)) == 2
    for change in (lax, reason("both-changes", first=stated, second=lax)):
        assert changes_of("vertical", change, site) == []
        assert "authority" in by_hand(change)
    assert by_hand(flows) == ""


def test_what_is_known_of_a_thing_of_the_lots_file_is_changed_there(tmp_path):
    shutil.copytree(places.ROOT / "samples/rural-acre", tmp_path / "lot")
    lot = Session(tmp_path / "lot" / "site.toml")
    before = (tmp_path / "lot" / "lot.geojson").read_text()
    well = next(each for each in lot.told()["things"] if each["ref"].startswith("file:"))
    ops = [{"op": "say", "ref": well["ref"], "key": "label", "value": "DUG BY HAND"}]
    lot.change(lot.store.digest, ops)
    after = (tmp_path / "lot" / "lot.geojson").read_text()
    changed = [b for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "DUG BY HAND" in changed[0]
    told = next(each for each in lot.told()["things"] if each["id"] == well["id"])
    assert told["says"]["label"] == "DUG BY HAND"


def test_a_thing_of_the_lots_file_placed_by_tapes_moves_into_the_site_file(tmp_path):
    shutil.copytree(places.ROOT / "samples/rural-acre", tmp_path / "lot")
    lot = Session(tmp_path / "lot" / "site.toml")
    well = next(each for each in lot.told()["things"] if each["id"] == "well")
    at = {"ties": [["house:NE", "90 ft"], ["house:NW", "90 ft"]], "side": "north"}
    lot.change(lot.store.digest, [{"op": "place", "ref": well["ref"], "key": "at", "value": at}])
    told = next(each for each in lot.told()["things"] if each["id"] == "well")
    assert told["ref"].startswith("feature:")
    assert told["says"]["at"] == at
    assert '"well"' not in (tmp_path / "lot" / "lot.geojson").read_text()


PRICES = 'currency = "USD"\nas_of = "May 2026"\nbore = [16, 21]   # a foot\n'


def test_a_price_list_is_taken_from_a_file_beside_or_as_it_was_sent_or_left_out(lot):
    (lot.store.folder / "ours.toml").write_text(PRICES, encoding="utf-8")
    assert lot.told()["price_lists"] == ["ours.toml"]
    for op in ({"file": "ours.toml"}, {"text": PRICES}, {"text": f"[prices]\n{PRICES}"}):
        lot.change(lot.store.digest, [{"op": "prices", **op}])
        prices = read_site(lot.store.path, quick=True).prices
        bore = dict(prices.goods)["bore"]
        assert (prices.currency, bore.low, bore.high) == ("USD", 16, 21)
    lot.change(lot.store.digest, [{"op": "prices"}])
    assert read_site(lot.store.path, quick=True).prices is None


@pytest.mark.parametrize("op", [{"file": "../x.toml"}, {"file": "/etc/passwd"}, {"text": "= 3"}])
def test_no_price_list_comes_from_outside_of_the_folder(lot, op):
    before = lot.store.path.read_bytes()
    with pytest.raises(InputError, match="price list"):
        lot.change(lot.store.digest, [{"op": "prices", **op}])
    assert lot.store.path.read_bytes() == before


def test_a_price_list_that_is_sent_names_no_other_file(lot):
    lot.change(lot.store.digest, [{"op": "prices", "text": f'file = "/etc/passwd"\n{PRICES}'}])
    assert "passwd" not in lot.store.path.read_text()
