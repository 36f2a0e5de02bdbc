"""Each option of the site file is declared once: reader and schema hold it to its declaration."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from site_values import lot_with, plain_json, plain_toml, small_lot

from siteplan.errors import Fault, InputError
from siteplan.reading import Table
from siteplan.rule_books.keys import keys
from siteplan.site.options.choices import choices
from siteplan.site.options.declared import QUANTITIES, TABLES, Option, catalogue, every_option
from siteplan.site.options.quantities import BEYOND, limits_of, quantities
from siteplan.site.options.read import Read, read_option
from siteplan.site.options.schema import site_schema
from siteplan.site.readers.features import READ_BEFORE
from siteplan.site.readers.site_file import site_from
from siteplan.units.systems import METRIC, US

OPTIONS = tuple(every_option())
VALIDATOR = Draft202012Validator(site_schema())

WRONG_TYPE = {
    "text": 3,
    "text or number": [3],
    "word": 3,
    "list": 3,
    "date": "today",
    "count": 1.5,
    "number": "two",
    "number by temperature": "two",
    "twelve energies": ["900 kWh"],
    "twelve temperatures": ["9 F"],
    "twelve numbers": [1.5],
    "point": "here",
    "points": "here",
    "lines": "here",
    "place": 3,
    "places": "here",
    "point or points": "here",
    "table": 3,
    "tables": 3,
    "price": "12 USD",
    "prices": 3,
    "prices by depth": 3,
    "length or table": ["300 ft"],
    **{kind: ["3 ft"] for kind in QUANTITIES},
}


def beyond(option: Option) -> list[Any]:
    """Values just outside the limits of an option; none where it has no limits."""
    values: list[Any] = []
    if option.choices:
        values = ["no such word"]
    elif option.kind == "count":
        values = [option.least - 1, option.most + 1]
    elif option.kind in ("number", "number by temperature"):
        values = [option.least - 1e-3, option.most + 1e-3]
    elif option.kind in ("points", "places") and option.least:
        values = [plain_toml(option.example)[: option.least - 1]]
    elif option.kind in quantities():
        values = [
            f"{value:.9f} {quantities()[option.kind].measure(METRIC).label}"
            for value in numbers_beyond(option)
        ]
    return values


def numbers_beyond(option: Option) -> list[float]:
    """Numbers just outside the limits of a quantity, in the unit shown beside metres."""
    if option.most is not None:
        least, most = limits_of(option)
        return [least - (most - least) / 1000, most + (most - least) / 1000]
    return [0.0, -1.0] if option.above is not None else [-1.0] if option.least is not None else []


def more_than_any_site_has(option: Option) -> list[str]:
    """A value just above what no site has; none where the option has a limit of its own."""
    # what a rule asks is read with the rule
    if option.kind not in BEYOND or option.most is not None or option.path.startswith("rules."):
        return []
    measure = quantities()[option.kind].measure(METRIC)
    most = max(BEYOND[option.kind], limits_of(option)[1])
    return [f"{1.001 * most / measure.size:.3f} {measure.label}"]


def of_each(part: str, values_of: Callable[[Option], list[Any]]) -> Iterator[tuple[Option, Any]]:
    """Each option of a part of the file with each of its values."""
    return ((option, value) for option in in_part(part) for value in values_of(option))


def in_part(part: str) -> Iterator[Option]:
    return (option for option in OPTIONS if option.path.split(".")[0] == part)


def shown_values(option: Option) -> list[Any]:
    """Default and example of an option that is no table."""
    shown = (option.default, option.example) if option.kind not in TABLES else ()
    return [plain_toml(value) for value in shown if value is not None]


PARTS = sorted({option.path.split(".")[0] for option in OPTIONS})
each_part = pytest.mark.parametrize("part", PARTS)
"""The options of a part of the file one after the other: there are hundreds."""


def faults_of(values: dict[str, Any]) -> tuple[Fault, ...]:
    try:
        site_from(values)
    except InputError as error:
        return error.faults
    return ()


def named(option: Option, faults: tuple[Fault, ...]) -> bool:
    """Whether a fault names the file, every table and the key."""
    *tables, key = option.path.split(".")
    called = {"own": "own rule .*", "revision": "revision 1"}
    called |= {"feature": "feature .*", "entry": "entry .*", "layer": "layer 1"}
    marks: list[str] = []
    for table in tables:
        if table not in called and marks and marks[-1].endswith("\\]"):
            marks[-1] = marks[-1].removesuffix("\\]") + re.escape(f".{table}]")
        else:
            marks.append(called.get(table, re.escape(f"[{table}]")))
    pattern = ", ".join(["values", *marks, rf"{re.escape(key)}(, .*)?$"])
    return any(re.match(pattern, fault.where) for fault in faults)


def refused_by_schema(values: dict[str, Any], option: Option | None = None) -> bool:
    """Whether the schema refuses a lot; of an option: for the part of the file that has it."""
    if option is None:
        return not VALIDATOR.is_valid(plain_json(values))
    part = option.path.split(".")[0]
    of_part = VALIDATOR.evolve(schema=VALIDATOR.schema["properties"][part])
    return not of_part.is_valid(plain_json(values[part]))


def test_the_lot_that_these_tests_change_has_no_fault() -> None:
    assert faults_of(small_lot()) == ()
    assert not refused_by_schema(small_lot())


@each_part
def test_every_option_says_in_one_line_what_it_is_for(part: str) -> None:
    for option in in_part(part):
        assert option.help
        assert "\n" not in option.help
        assert not option.help.endswith(".")
        assert option.choices in ("", *choices())
        if option.kind in ("count", "number", "number by temperature"):
            assert option.least is not None
        if option.kind not in (*TABLES, "any"):
            assert shown_values(option), f"nothing shows a value of {option.path}"


@each_part
def test_default_and_example_are_read_and_pass_the_schema(part: str) -> None:
    for option, value in of_each(part, shown_values):
        faults: list[Fault] = []
        read = read_option(Table({option.key: value}, "values", faults, US), option)
        assert faults == []
        assert read is not None
        assert not refused_by_schema(lot_with(option, value))


@each_part
def test_a_value_beyond_its_limit_is_refused_where_it_stands(part: str) -> None:
    for option, value in of_each(part, beyond):
        values = lot_with(option, value)
        faults = faults_of(values)
        assert named(option, faults), faults
        # a schema cannot convert units: of quantities it knows the sign alone
        if option.kind not in quantities() or option.most is None:
            assert refused_by_schema(values, option), option.path


@each_part
def test_more_than_any_site_has_is_refused_with_the_most(part: str) -> None:
    for option, value in of_each(part, more_than_any_site_has):
        faults = faults_of(lot_with(option, value))
        told = [fault for fault in faults if "more than any site has" in fault.what]
        assert named(option, tuple(told)), (option.path, faults)
        assert all(fault.mend.startswith("Give at most ") for fault in told)


@pytest.mark.parametrize(
    "option", [one for one in OPTIONS if one.below is not None], ids=lambda one: one.path
)
def test_less_than_any_site_has_is_refused_with_the_least(option: Option) -> None:
    faults = faults_of(lot_with(option, f"{0.999 * limits_of(option)[0]:.9f} m"))
    told = [fault for fault in faults if "less than any site has" in fault.what]
    assert named(option, tuple(told)), faults
    assert all(fault.mend.startswith("Give at least ") for fault in told)
    shown = lot_with(option, option.default)
    assert not [fault for fault in faults_of(shown) if option.key in fault.where]


@pytest.mark.parametrize("option", [one for one in OPTIONS if one.name], ids=lambda one: one.path)
def test_a_name_of_thousands_of_letters_is_refused(option: Option) -> None:
    values = lot_with(option, "x" * 3000)
    assert named(option, faults_of(values)), faults_of(values)
    assert refused_by_schema(values, option)


@each_part
def test_a_value_of_the_wrong_type_is_refused_where_it_stands(part: str) -> None:
    for option in (one for one in in_part(part) if one.kind != "any"):
        values = lot_with(option, WRONG_TYPE[option.kind])
        faults = faults_of(values)
        assert named(option, faults), (option.path, faults)
        assert refused_by_schema(values, option), option.path


def misspelt(option: Option) -> dict[str, Any]:
    """The small lot with an option whose key has a letter too many."""
    values: dict[str, Any] = plain_toml(lot_with(option, next(iter(shown_values(option)), {})))
    node: Any = values
    for key in option.path.split(".")[:-1]:
        node = node[key][-1] if isinstance(node[key], list) else node[key]
    node[f"{option.key}x"] = node.pop(option.key)
    return values


@each_part
def test_a_misspelt_key_is_refused_with_the_key_meant(part: str) -> None:
    for option in (one for one in in_part(part) if "." in one.path):
        values = misspelt(option)
        faults = faults_of(values)
        hints = [fault for fault in faults if fault.where.endswith(f", {option.key}x")]
        assert [fault.what for fault in hints] == ["is not a key here;"], option.path
        assert option.key in hints[0].mend
        assert refused_by_schema(values, option), option.path


def path_of(where: str) -> str:
    """Path in the catalogue of a table that messages name."""
    called = {name: name for name in ("feature", "layer", "entry", "revision", "own")}
    parts = where.split(", ")[1:]
    return ".".join(part[1:-1] if part[0] == "[" else called[part.split()[0]] for part in parts)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Paths of the keys that something is made of, once a lot with every table is read."""
    paths: set[str] = set()

    def note(where: str, key: str) -> None:
        if where.startswith("values"):
            paths.add(f"{path_of(where)}.{key}".removeprefix("."))

    get, says, has = Read.__getitem__, Read.says, Table.has
    monkeypatch.setattr(
        Read, "__getitem__", lambda read, key: (note(read.table.where, key), get(read, key))[1]
    )
    monkeypatch.setattr(
        Read, "says", lambda read, key: (note(read.table.where, key), says(read, key))[1]
    )
    values = small_lot()
    values["feature"] += [
        {"kind": "tree", "at": [20, 30], "canopy": "9 ft", "clearance": 3, "clearance_source": "x"},
        {"kind": "pond", "id": "p", "area": [[1, 1], [9, 1], [9, 9]], "depth": "10 ft"},
        {"kind": "depth contour", "depth": 3, "pond": "p", "area": [[2, 2], [5, 2], [5, 5]]},
    ]
    values["entry"] = [{"at": [80, 70], "id": "e", "label": "x"}]
    values["project"]["revision"] = [{"text": "x"}]
    length = {"given": 100, "by": "x"}
    for system in ("exchanger", "horizontal", "pond"):
        values.setdefault(system, {})["length"] = length
    values["ground"] = {
        "freezing": {
            "index": "900 C.day", "days": 90, "mean": "5 C", "conductivity": "1.5 W/m.K",
            "density": "1600 kg/m3", "water": 15, "surface": "turf",
        }
    }  # fmt: skip
    values["weather"] = {"air": ["9 C"] * 12, "sun": [1.0] * 12, "latitude": 45, "source": "x"}
    values["heat_pump"] = {"head": "3 m", "flow": "0.5 L/s"}
    values["prices"] = {"currency": "USD", "bore": 1}
    square = ["N 90 ft", "E 90 ft", "S 90 ft", "W 90 ft"]
    faults_of({**values, "geometry": {"deed": {"calls": square}}})
    values["geometry"]["layer"] = [{"kind": "house"}]
    answers = {"by": "x"}
    values["pond"] |= {"shallow": answers, "small": answers}
    values["header"] = {"shallow": answers}
    values["open"] = {"near": answers, "drift": answers, "discharge": answers}
    values["open"]["places"] = {"supply": [1, 1], "return": [9, 9]}
    three, small = dict.fromkeys(("length", "width", "spacing"), "3 ft"), "1 in"
    plates = dict.fromkeys(("plate_length", "plate_height", "manifold"), "1 ft")
    plates |= {**three, "number": 2, "channel": small, "wall": small, "conductivity": "9 W/m.K"}
    for sizes in ({"mat": {**three, "pipe": "9 ft"}}, {"plates": plates}):
        body = "flat mat" if "mat" in sizes else "plate frame"
        faults_of({**values, "pond": {"body": body, **sizes}})
    for grid in ({"grid": {"rows": 2, "columns": 2, "corner": [1, 1]}}, {"pad": {}}):
        values["vertical"] = {"length": length, **grid}
        values["loads"] = {
            "heating": "5 kW", "cooling": "5 kW", "hot_water": {}, "radiant_floor": {},
            "snow_melt": {"cop": 3}, "heating_months": ["1 kWh"] * 12,
        }  # fmt: skip
        values["ground"] |= {"soil": "granite", "swing": "9 K", "coldest_day": 3}
        assert faults_of(values)  # it contradicts itself, but all of it is read
    bounds = {"over": "1 gpm", "to": "2 gpm"}
    monkeypatch.setattr(
        Table, "has", lambda table, key: (note(table.where, key), has(table, key))[1]
    )
    flows = {"pump_rate": bounds, "daily_flow": bounds, "loop_flow": bounds}
    own = {"from": "street", "distance": 3, "source": "x"}
    when = {**flows, "voltage": {"over": "1 kV"}, "use": "public"}
    when |= {"depth": {"over": "1 m"}, "power": {"to": "9 kW"}}
    own |= {"within": {"to": "9 m"}}
    before = set(paths)
    faults_of({"rules": {"own": [{**own, "when": when}, own]}})
    return before | {path for path in paths if path.startswith("rules.own.")}


def test_what_the_readers_ask_for_is_declared_and_what_is_declared_is_asked_for(
    asked: set[str],
) -> None:
    nobody_asks = {"feature.note"}  # for the one who writes it
    before_the_kind = {f"feature.{key}" for key in READ_BEFORE}
    declared = {option.path for option in OPTIONS} - nobody_asks - before_the_kind
    read_again = {"project.units", "entry", "geometry", "rules.own"}
    assert declared - asked - read_again == set()
    assert asked - {option.path for option in OPTIONS} == set()


def test_a_declaration_with_an_unknown_attribute_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tomllib.loads", lambda _: {"rig": {"is": "table", "hlep": "x"}})
    catalogue.cache_clear()
    with pytest.raises(ValueError, match=r"catalogue, rig: is = 'table', \['hlep'\]"):
        catalogue()
    monkeypatch.undo()
    catalogue.cache_clear()
    assert "width" in catalogue().options["rig"].options


def test_a_rule_of_ones_own_may_say_what_a_rule_of_a_book_may() -> None:
    own = catalogue().options["rules"].options["own"].options
    assert set(own) == set(keys()["rule"])
    assert set(own["when"].options) == set(keys()["when"])
