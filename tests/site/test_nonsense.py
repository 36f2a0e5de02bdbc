"""What a person can type and nobody can mean: none of it is taken over in silence.

The limits behind it are common practice, no source; each is far above what is ever built.
"""

from __future__ import annotations

import copy
import datetime
import tomllib
from pathlib import Path
from typing import Any

import places
import pytest

from siteplan.errors import InputError
from siteplan.site.readers.site_file import read_site, site_from

SOUND: dict[str, Any] = tomllib.loads(
    (places.SAMPLES / "small-suburban" / "site.toml").read_text(encoding="utf-8")
)
POND = {"kind": "pond", "area": [[60, 100], [75, 100], [75, 115], [60, 115]], "depth": "8 ft"}
TREE = {"kind": "tree", "at": [10, 20]}
WELL = {"kind": "potable well", "at": [10, 20]}
POLE_LINE = {"kind": "overhead power line", "line": [[-20, 10], [-20, 90]]}
HOT_WATER = "loads.hot_water."
NONSENSE: tuple[tuple[str, Any], ...] = (
    ("project.date", datetime.date(2202, 4, 2)), ("project.date", datetime.date(206, 4, 2)),
    ("project.date", "04/02/2026"), ("project.date", 2026), ("project.units", "yards"),
    ("project.searched", "-200 ft"), ("project.searched", "200 km"), ("project.title", ""),
    ("project.title", 18), ("project.owner", "  "),
    ("geometry.parcel", [[0, 0], [82, 0], [91, 1e12], [-4, 134]]),
    ("geometry.parcel", [[0, 0], [0, 0], [82, 0]]),
    ("geometry.parcel", [[0, 0], [82, 0], [164, 0]]),
    ("geometry.parcel", [[0, 0], [91, 128], [82, 0], [-4, 134]]),
    ("geometry.parcel", [[0, 0], [0.8, 0], [0.8, 1.3], [0, 1.3]]),
    ("geometry.parcel", [[0, 0], [4e6, 0], [4e6, 4e6], [0, 4e6]]),
    ("geometry.parcel", [[0, 0], [float("nan"), 0], [91, 128], [-4, 134]]),
    ("geometry.crs", "EPSG:2249"), ("geometry.file", "../nothing.geojson"),
    ("entry", [{"id": "far", "at": [5000, 72]}]),
    ("exchanger.system", "diagonal"), ("exchanger.machine_reach", "-1 ft"),
    ("exchanger.machine_reach", "1 km"), ("exchanger.capacity", "-4 ton"),
    ("exchanger.capacity", "0 ton"), ("exchanger.capacity", "4 tonnes"),
    ("exchanger.capacity", "1e9 ton"), ("exchanger.capacity", 4),
    ("horizontal.spacing", "0 ft"), ("horizontal.spacing", "10 km"), ("horizontal.pipes", 1000),
    ("horizontal.pipes", 0), ("horizontal.pipes", 2.5), ("horizontal.depth", "-5 ft"),
    ("horizontal.depth", "5 km"), ("horizontal.width", "2 km"), ("horizontal.longest", "0 ft"),
    ("horizontal.longest", "1e300 ft"),
    ("vertical.spacing", "-15 ft"), ("vertical.spacing", "15 km"), ("vertical.depth", "0 ft"),
    ("vertical.depth", {"least": "300 ft", "most": "150 ft"}), ("vertical.depth", "300 km"),
    ("vertical.diameter", "6 ft 6 km"), ("vertical.diameter", "20 ft"), ("vertical.count", -3),
    ("vertical.count", 10**9), ("vertical.pad", {"collars": "middle", "tilt": "95 deg"}),
    ("vertical.grid", {"rows": 2, "columns": 3, "spacing": "20 ft", "along": 720}),
    ("vertical.grid", {"rows": 2, "columns": 3, "spacing": "20 ft", "along": "N 95 E"}),
    ("vertical.grid", {"rows": 0, "columns": 3, "spacing": "20 ft"}),
    ("pond.coldest", "39 K"), ("pond.coldest", "390 F"), ("pond.warmest", "-80 F"),
    ("pond.water_depth", "8 km"), ("pond.gap", "-3 ft"),
    ("open.flow", "-12 gpm"), ("open.flow", "1e6 gpm"), ("open.separation", "50 km"),
    ("open.depth", "0 ft"), ("open.supply", "no such well"),
    ("rig.width", "8 km"), ("rig.length", "0 ft"), ("rig.mast", "3,000 ft"),
    ("excavator.turning", "-1 ft"), ("excavator.boom", "10 km"),
    ("loads.heating", "-48 MBH"), ("loads.heating", "48"), ("loads.heating", "1e12 MBH"),
    ("loads.heating_hours", 9000), ("loads.heating_hours", -1), ("loads.eer", 0),
    ("loads.eer", 1600), ("loads.cop", 0.3), ("loads.cop", -3), ("loads.years", 0),
    ("loads.years", 1e6), ("loads.heating_month", 0), ("loads.heating_month", 12),
    ("loads.heating_months", ["900 kWh"] * 11), ("loads.heating_months", ["-1 kWh"] * 12),
    (HOT_WATER + "people", 1e23), (HOT_WATER + "people", -4), (HOT_WATER + "people", 10**23),
    (HOT_WATER + "each", "15,000 gpd"), (HOT_WATER + "rise", "700 F"),
    (HOT_WATER + "cop", 0), ("loads.snow_melt.flux", "1e9 Btu/h.ft2"),
    ("ground.temperature", "540 F"), ("ground.temperature", "-60 F"), ("ground.temperature", "54"),
    ("ground.swing", "180 F"), ("ground.swing", "-18 F"), ("ground.coldest_day", "31 February"),
    ("ground.coldest_day", "5 Febtember"), ("ground.conductivity", "0 Btu/h.ft.F"),
    ("ground.conductivity", "135 Btu/h.ft.F"), ("ground.diffusivity", "-1 ft2/day"),
    ("ground.frost", "4 km"), ("ground.frost", "-4 ft"),
    ("fluid.mixture", "methanol 150 %"), ("fluid.mixture", "methanol -15 %"),
    ("fluid.mixture", "beer"), ("fluid.coldest", "200 F"), ("fluid.heating_drop", "0 F"),
    ("loop.dimension_ratio", 0), ("loop.dimension_ratio", 1100), ("loop.gap", "1 km"),
    ("loop.grout", "90 Btu/h.ft.F"), ("circuits.bores", 0), ("circuits.longest", "600 km"),
    ("circuits.test_pressure", "1e6 psi"), ("circuits.test_pressure", "-100 psi"),
    ("header.separation", "12 km"), ("header.depth", "-4 ft"), ("header.group", 1),
    ("grout.extra", 10), ("grout.extra", -0.1), ("grout.sand", "1e9 lb"),
    ("heat_pump.head", "-12 ft"), ("heat_pump.head", "12 km"),
    ("rules.books", ["atlantis"]), ("staking.allowance", "-1 ft"), ("staking.allowance", "1 km"),
    ("sheet.scale", 0), ("sheet.scale", -240), ("sheet.paper", "napkin"),
    ("rules.own", [{"from": "building", "distance": "-10 ft", "source": "me"}]),
    ("rules.own", [{"from": "building", "distance": "10 parsecs", "source": "me"}]),
    ("rules.own", [{"from": "castle", "distance": "10 ft", "source": "me"}]),
    ("house.overhang", "2 km"), ("house.overhang", "-2 ft"), ("house.clearance", "-5 ft"),
    ("house.clearance", "35 km"), ("house.depth", "0 ft"),
    ("house.area", [[18, 34], [62, 34], [62, 1e12], [18, 72]]),
    ("house.area", [[18, 34], [62, 72], [62, 34], [18, 72]]), ("house.id", "gas"),
    ("house.id", "parcel"), ("house.kind", "castle"), ("house.canopy", "30 ft"),
    ("beech.canopy", "1 km"), ("beech.canopy", "0 ft"), ("street.width", "-20 ft"),
    ("street.width", "20 km"), ("street.line", [[0, -22], [1e9, -22]]), ("street.use", "sewage"),
    ("feature", {**WELL, "depth": "0 ft"}), ("feature", {**WELL, "pump_rate": "0 gpm"}),
    ("feature", {**WELL, "pump_rate": "1e6 gpm"}), ("feature", {**WELL, "use": "swimming"}),
    ("feature", {**WELL, "at": [20, -1e7]}), ("feature", {**WELL, "at": [20]}),
    ("feature", {**WELL, "line": [[0, 0], [1, 1]]}), ("feature", {**POLE_LINE, "voltage": "-5 kV"}),
    ("feature", {**POLE_LINE, "voltage": "1e9 kV"}), ("feature", {**POLE_LINE, "voltage": 13.8}),
    ("feature", {**POND, "depth": "-8 ft"}), ("feature", {**POND, "depth": "8 km"}),
    ("feature", {**POND, "depth": None}), ("feature", {"kind": "building"}),
    ("geometry.deed", {"calls": ["az 400 90 ft", "az 90 90 ft", "az 180 90 ft"]}),
    ("geometry.deed", {"calls": ["N 95 E 90 ft", "S 10 E 90 ft", "West 90 ft"]}),
    ("geometry.deed", {"calls": ["N 10°75' E 90 ft", "S 10 E 90 ft", "West 90 ft"]}),
    ("geometry.deed", {"calls": ["N 10 E 0 ft", "S 10 E 90 ft", "West 90 ft"]}),
    ("project.date", datetime.date(1620, 1, 1)), ("project.owner", ["A", "B"]),
    ("project.searched", "200 furlongs"), ("geometry.parcel", "200 x 150"),
    ("geometry.parcel", [["0", "0"], ["200", "0"], ["200", "150"]]),
    ("geometry.crs", "EPSG:99999999"), ("geometry.coordinates", "polar"),
    ("exchanger.order", ["up", "down"]), ("exchanger.order", ["vertical", "sideways"]),
    ("exchanger.length", "1100 ft"), ("exchanger.length", {"given": "0 ft", "by": "me"}),
    ("exchanger.length", {"given": "-1100 ft", "by": "me"}),
    ("exchanger.length", {"given": "1e9 ft", "by": "me"}), ("exchanger.length", {"given": "9 ft"}),
    ("exchanger.entry", "back door"), ("horizontal.kind", "spaghetti"), ("horizontal.pipes", 3),
    ("horizontal.width", "0 ft"), ("horizontal.width", "30 ft"), ("horizontal.shortest", "-1 ft"),
    ("horizontal.shortest", "400 ft"), ("horizontal.soil", "mud"),
    ("horizontal.protection", "prayer"), ("horizontal.protection", "slope"),
    ("vertical.spacing", {"least": "30 ft", "most": "20 ft"}), ("vertical.count", 2.5),
    ("vertical.count", 0), ("vertical.arrangement", "spiral"), ("vertical.diameter", "0 in"),
    ("vertical.grid", {"rows": 2}), ("vertical.pad", {"tilt": "-5 deg"}),
    ("vertical.pad", {"collar_spacing": "0 ft"}), ("pond.coil_diameter", "5 miles"),
    ("pond.pipe_per_coil", "0 ft"), ("pond.shore", "-10 ft"), ("open.yield", "20 ft"),
    ("open.yield", "0 gpm"), ("open.diameter", "0 in"), ("rig.turning", "-1 ft"),
    ("rig.width", "30 ft"), ("rig.from", [1000, 1000]), ("rig.access", "helicopter"),
    ("loads.heating", "36 ft"), ("loads.cop", 11), ("ground.soil", "cheese"),
    ("ground.coldest_day", 400), ("fluid.coldest", "-80 F"), ("fluid.heating_drop", "60 F"),
    ("loop.pipe", "7 in"), ("loop.gap", "-1 in"), ("circuits.pipe", "13/16 in"),
    ("circuits.flow", "-12 gpm"), ("circuits.count", -4), ("circuits.longest", "0 ft"),
    ("header.layout", "spaghetti"), ("header.group", 500), ("header.depth", "0 ft"),
    ("grout.material", "sand and hope"), ("sheet.size", "postcard"), ("sheet.scale", 12.5),
    ("sheet.north", "left"), ("specification.test_minutes", 0),
    ("specification.purge_minutes", 1e9), ("specification.fill_pressure", "0 psi"),
    ("rules.books", [""]), ("rules.own", [{"from": "tree", "distance": "5 ft"}]),
    ("rules.own", [{"from": "tree", "for": ["roots"], "distance": "5 ft", "source": "me"}]),
    ("house.clearance", float("inf")), ("house.overhang", True), ("house.kind", 5),
    ("beech.canopy", "big"), ("street.line", [[0, -22]]), ("street.line", [[0, -2], [0, -2]]),
    ("feature", {**WELL, "casing": "-80 ft"}), ("feature", {**WELL, "lies": "sideways"}),
    ("feature", {**WELL, "owner": "the county"}), ("feature", {**WELL, "at": ["east", "north"]}),
    ("feature", {**POLE_LINE, "voltage": "high"}), ("feature", {**POND, "depth": "12 lb"}),
    ("feature", {**POND, "use": "royal"}),
    ("exchanger.order", []), ("exchanger.entry", []), ("rig.from", []), ("excavator.from", []),
    ("feature", {**WELL, "voltage": "13 kV"}), ("feature", {**TREE, "casing": "80 ft"}),
    ("feature", {**TREE, "daily_flow": "600 gpd"}), ("feature", {**TREE, "well_depth": "200 ft"}),
    ("feature", {**TREE, "pump_rate": "9 gpm"}), ("feature", {**TREE, "yield": "9 gpm"}),
    ("feature", {**TREE, "static_level": "9 ft"}), ("feature", {**WELL, "pipe": "watertight"}),
    ("feature", {**WELL, "overhang": "3 ft"}), ("feature", {**TREE, "pipe": "watertight"}),
    ("feature", {**WELL, "well_depth": "100 ft", "casing": "300 ft"}),
    ("feature", {**WELL, "well_depth": "100 ft", "static_level": "300 ft"}),
    ("rules.books", ["maine", "maine"]), ("exchanger.length", {"given": "900 ft", "by": ""}),
    ("exchanger.length", {"given": "900 ft", "by": "  "}), ("excavator.boom", "0 ft"),
    ("pond.water_depth", "0 ft"), ("loop.gap", "20 in"), ("header.depth", "40 ft"),
    ("ground.soil", ""), ("feature", {**POND, "drawdown": "9 ft"}),
    ("feature", {**POND, "side_slope": -1}), ("feature", {**POND, "inflow_temperature": "90 C"}),
    ("feature", {**TREE, "canopy": "nan ft"}), ("horizontal.spacing", "nan ft"),
    ("horizontal.depth", "inf ft"),
    ("vertical.grid", {"rows": 1000, "columns": 1000, "spacing": "20 ft"}),
    ("vertical.grid", {"rows": 2, "columns": 2, "spacing": "1 ft"}),
    ("open.flow", "0 gpm"), ("open.diameter", "9 ft"), ("loads.heating", "-36 MBH"),
    ("loads.heating", "NaN MBH"), ("loads.cooling_hours", 8761), ("loads.heating_month", True),
    ("loads.cop", float("nan")), ("ground.temperature", "54 K"), ("ground.coldest_day", ""),
    ("ground.conductivity", "1.35"), ("fluid.mixture", "methanol"),
    ("fluid.mixture", "propylene glycol 99 %"), ("fluid.coldest", "90 F"),
    ("fluid.heating_drop", "-3 F"), ("loop.pipe", 1), ("loop.dimension_ratio", 2),
    ("circuits.bores", 1.5), ("circuits.count", 0), ("circuits.flow", "0 gpm"),
    ("header.group", 0), ("excavator.width", "0 ft"), ("rig.turning", "5 miles"),
    ("sheet.scale", 10**9), ("sheet.scale", "1:240"), ("sheet.size", [17, 11]),
    ("project.date", datetime.datetime(2026, 1, 1)), ("project.title", "\n"),
    ("exchanger.system", ["vertical"]), ("exchanger.length", {}), ("house.id", 5),
    ("house.use", "castle"), ("geometry.parcel", []), ("loads.hot_water.people", True),
    ("entry", [{"id": "a", "at": [50, 72]}, {"id": "a", "at": [51, 72]}]),
    ("entry", [{"id": "a", "at": [50, 72]}, {"id": "b", "at": [50, 72]}]),
    ("entry", [{"at": [50, 72]}, {"at": [50, 72]}]), ("entry", [{"id": " ", "at": [50, 72]}]),
    ("house.label", "x" * 3000), ("house.id", ""), ("house.width", "3 ft"),
    ("feature", {**WELL, "width": "3 ft"}), ("feature", {**POND, "width": "3 ft"}),
    ("rig.width", "1 in"), ("rig.mast", "1 in"), ("excavator.width", "1 ft"),
    ("vertical.diameter", "1 in"), ("open.diameter", "1 in"), ("exchanger.machine_reach", 0),
    ("loads.heating_hours", 0), ("loads.cooling_hours", 0),
)  # fmt: skip


def changed(path: str, value: Any) -> dict[str, Any]:
    """The sound site with one value that nobody can mean."""
    site = copy.deepcopy(SOUND)
    first, _, rest = path.partition(".")
    named = next((each for each in site["feature"] if each["id"] == first), None)
    if path == "feature":
        site["feature"].append({key: each for key, each in value.items() if each is not None})
        return site
    if path == "entry":
        site["entry"] = value
        return site
    table = named if named is not None else site.setdefault(first, {})
    *between, key = rest.split(".")
    for name in between:
        table = table.setdefault(name, {})
    table[key] = value
    if key in ("deed", "file"):
        del site["geometry"]["parcel"]
    if path == "exchanger.capacity":
        del site["loads"]
    return site


def test_the_site_is_sound() -> None:
    assert site_from(SOUND).entries
    for sound in (WELL, POND, POLE_LINE):
        assert site_from(changed("feature", sound)).features


def test_a_thing_typed_twice_is_told_beside_the_first() -> None:
    site = changed("feature", WELL)
    site["feature"].append(dict(WELL))
    with pytest.raises(InputError, match=r"says the same as values, feature 10\. Leave out one"):
        site_from(site)
    site["feature"][-1]["label"] = "ANOTHER"
    assert site_from(site).features


@pytest.mark.parametrize(
    ("name", "text"), [("site.toml", "a = 1\nb = -{}\n"), ("lot.geojson", "\n[{}]")]
)
def test_a_number_of_thousands_of_digits_is_told_with_its_line(
    tmp_path: Path, name: str, text: str
) -> None:
    # Python converts no more than 4,300 digits: its documentation, sys.set_int_max_str_digits
    (tmp_path / name).write_text(text.format("7" * 5000), encoding="utf-8")
    values = changed("geometry.file", "lot.geojson")
    with pytest.raises(InputError, match=r"line 2: has a number of 5,000 digits\. 1e\+15 is the"):
        read_site(tmp_path / name) if name == "site.toml" else site_from(values, folder=tmp_path)


def test_a_table_within_a_table_is_named_as_its_heading_is_written() -> None:
    with pytest.raises(InputError, match=r"values, \[pond\.plates\], length: is missing"):
        site_from(changed("pond.plates", {}))


@pytest.mark.parametrize(("path", "value"), NONSENSE, ids=[f"{p}={v!s:.40}" for p, v in NONSENSE])
def test_nobody_can_mean_it(path: str, value: Any) -> None:
    with pytest.raises(InputError) as caught:
        site_from(changed(path, value))
    owner, _, key = path.rpartition(".")
    told = [str(fault) for fault in caught.value.faults]
    # the one value is told of, by a sentence that says what to do
    assert any(key in each or (owner and owner in each) for each in told), told
    shows = ("; write ", "write ", "such as ")
    assert all(
        fault.mend or any(word in fault.what for word in shows) for fault in caught.value.faults
    ), told
    assert len(told) <= 5, told
