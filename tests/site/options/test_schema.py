"""The JSON Schema of the site file: the samples pass, what is wrong does not."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from places import SAMPLES
from site_values import plain_json, small_lot

from siteplan.site.options.declared import Option, catalogue
from siteplan.site.options.quantities import quantities
from siteplan.site.options.schema import site_schema
from siteplan.units.written import UnitError
from siteplan.vocabulary.kinds import kinds

SCHEMA = site_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
SITE_FILES = sorted(SAMPLES.rglob("*.toml"))

WRITTEN = {
    "length": [
        "12 ft 6 in",
        "6.1m",
        "12' 6\"",
        "1,100 FT",
        "0 ft 6 in",
        "10",
        "150 mm",
        "ten ft",
        "12'-6 1/2\"",
        "12’ 6”",
        "12' 6''",
        "12 ft. 6 in.",
        "3/4 in",
        "12,5 m",
        "12'6",
        "5'-",
    ],
    "angle": ["20 deg", "20", "20 F"],
    "flow": ["12 gpm", "0.8 L/s", "12", "3 m3/h", "0 m3/h", "12 gal"],
    "power": [
        "4 ton",
        "48,000 Btu/h",
        "14 kW",
        "36 mbh",
        "14",
        "14 kWh",
        "36 kBtu/h",
        "36,000 BTUH",
        "2,5 ton",
    ],
    "volume": ["20.4 gal", "77 L", "0.08 m3", "2.5 ft3", "77", "0 gal", "3 gpm"],
    "mass": ["200 lb", "90 kg", "50 lbs", "90", "90 g"],
    "voltage": ["13.8 kV", "240 V", "240"],
    "temperature": ["52 F", "-1.5 °C", "11 C", "52", "52 K", "52 f"],
    "difference": ["6 F", "3 K", "6", "6 m"],
    "conductivity": [
        "1.2 Btu/h.ft.F",
        "2.0 W/m.K",
        "2 W/(m.K)",
        "1.2 Btu/h ft °F",
        "1.2",
        "2 W/m2",
    ],
    "diffusivity": ["0.9 ft2/day", "1e-6 m2/s", "0.08 m²/day", "0.9 ft/day"],
    "permeability": ["100 ft/day", "1e-3 m/s", "30 m/d", "100", "30 m2/day"],
    "transmissivity": ["3,000 ft2/day", "0.003 m²/s", "24,000 gpd/ft", "3 m/day"],
    "flux": ["125 Btu/h.ft2", "400 W/m2", "400 W/m²", "400 W"],
    "pressure": ["100 psi", "7 bar", "690 kPa", "1e5 Pa", "100", "100 ft"],
    "energy": ["900 kWh", "15 GJ", "14 MMBtu", "14 million Btu", "14 kW"],
    "bearing": [
        "N 90 E",
        "n 45°30' w",
        "S 10 E",
        "N 45°30'15\" E",
        "45 N E",
        "east",
        "Due North-West",
        "s.s.e.",
        "NEN",
        "northern",
        "N 45-30-15 E",
        "N45°30’15”E",
        "N 45°30'15'' E",
        "N 45°75' E",
        "N 45' E",
        "S 10 30 E",
    ],
    "day": ["3 February", "1 Mar", "February", "3", "Feb 3", "3-Feb", "2/3"],
}
"""Spellings of each quantity; the parsers of the package say which are right."""


def faulty(values: dict[str, Any]) -> list[str]:
    """Where the schema finds a fault."""
    errors = VALIDATOR.iter_errors(plain_json(values))
    return [".".join(str(key) for key in error.absolute_path) for error in errors]


def test_the_schema_is_one_of_draft_2020_12() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", SITE_FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_site_file_of_the_samples_passes(path: Path) -> None:
    assert faulty(tomllib.loads(path.read_text(encoding="utf-8"))) == []


def test_there_are_samples_to_pass() -> None:
    assert len([path for path in SITE_FILES if path.name == "site.toml"]) == 8


@pytest.mark.parametrize(
    ("kind", "text"), [(kind, text) for kind, texts in WRITTEN.items() for text in texts]
)
def test_schema_and_reader_agree_on_how_a_quantity_is_written(kind: str, text: str) -> None:
    schemas = SCHEMA["$defs"] | {
        "bearing": SCHEMA["properties"]["vertical"]["properties"]["grid"]["properties"]["along"],
        "day": SCHEMA["properties"]["ground"]["properties"]["coldest_day"],
    }
    try:
        quantities()[kind].parse(text, "ft")
        right = True
    except UnitError:
        right = False
    assert Draft202012Validator(schemas[kind]).is_valid(text) is right


def test_no_load_needs_no_unit() -> None:
    for nothing in (0, "0", "0.0"):
        assert quantities()["power"].parse(nothing, "ft") == 0
    for value, right in ((0, True), ("0", True), ("0 kW", True), (7, False), ("7", False)):
        assert faulty({"loads": {"cooling": value}}).count("loads.cooling") == (not right)


@pytest.mark.parametrize("text", ["0 m3/h", "-3 gpm", "0.0 gpm"])
def test_nothing_is_no_flow_above_zero(text: str) -> None:
    assert faulty({**small_lot(), "open": {"flow": text}}) == ["open.flow"]


@pytest.mark.parametrize(
    ("feature", "at_fault"),
    [
        ({"kind": "building", "at": [1, 2]}, ["feature.3.at"]),
        ({"kind": "tree", "at": [1, 2], "use": "private"}, ["feature.3.use"]),
        ({"kind": "potable well", "at": [1, 2], "use": "main"}, ["feature.3.use"]),
        ({"kind": "tree", "at": [1, 2], "depth": "3 ft"}, ["feature.3.depth"]),
        ({"kind": "tree"}, ["feature.3"]),
        ({"kind": "tree", "at": [1, 2], "area": [[1, 2], [3, 2], [3, 4]]}, ["feature.3"]),
        ({"kind": "entry", "at": [1, 2], "width": 3}, ["feature.3.width"]),
        ({"kind": "tree", "at": [1, 2], "canopy": "30 ft"}, []),
        ({"kind": "potable well", "at": [1, 2], "use": "public municipal"}, []),
        ({"kind": "pond", "area": [[1, 2], [3, 2], [3, 4]], "depth": "unknown"}, []),
    ],
)
def test_a_feature_is_held_to_its_kind(feature: dict[str, Any], at_fault: list[str]) -> None:
    values = small_lot()
    values["feature"].append(feature)
    assert faulty(values) == at_fault


def test_every_kind_of_feature_can_be_completed() -> None:
    words = SCHEMA["properties"]["feature"]["items"]["properties"]["kind"]["enum"]
    beside = ["entry", "depth contour", "sounding", "shore entry", "adjoining parcel", "parcel"]
    assert words == [*kinds(), *beside]


def test_an_editor_is_told_what_each_key_is_for_and_its_default() -> None:
    def hold(option: Option, schema: dict[str, Any]) -> None:
        assert schema["description"] == option.help
        assert schema.get("default") == option.default
        table = schema.get("items", schema)
        table = next((one for one in table.get("anyOf", ()) if "properties" in one), table)
        for key, inner in option.options.items():
            hold(inner, table["properties"][key])

    for key, option in catalogue().options.items():
        hold(option, SCHEMA["properties"][key])
