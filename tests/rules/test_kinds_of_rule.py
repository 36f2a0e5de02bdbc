"""Each kind of rule at work on a lot whose distances anybody can work out by hand.

The rules are a town's own book beside the site file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Point, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry
from wording import in_words

from siteplan.alternatives.sizes import deeper_bores, leaning_bores, nearer_together
from siteplan.available.prepared import lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.errors import InputError, RuleError
from siteplan.findings.model import Reason
from siteplan.layout.elements import Bore, Well
from siteplan.layout.model import Header, Layout
from siteplan.plan import lay_out
from siteplan.rules.limits import within_limits
from siteplan.rules.ruleset import rules_of
from siteplan.rules.yards import ground_before, rear_line
from siteplan.site.model import Entry, Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
BOOK = """\
id = "town"
title = "Town"
authority = "Town"
document = "Town code"
read_on = 2026-01-31
"""
LOT = """\
[project]
title = "Kinds of rule"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[staking]
allowance = "0 ft"

[geometry]
parcel = [[0, 0], [200, 0], [200, 260], [0, 260]]

[rules]
books = ["town.toml"]

[[feature]]
id = "street"
kind = "street"
line = [[-50, -20], [250, -20]]

[[feature]]
id = "house"
kind = "building"
area = [[80, 60], [120, 60], [120, 90], [80, 90]]

[exchanger]
system = "{system}"
length = {{ given = "600 ft", by = "test" }}
capacity = "2 ton"
entry = [100, 90]

{more}
"""
Read = Callable[..., Site]


@pytest.fixture
def lot(tmp_path: Path) -> Read:
    def read(rows: str, *, more: str = "", system: str = "vertical", head: str = "") -> Site:
        (tmp_path / "town.toml").write_text(f"{head}{BOOK}{rows}", encoding="utf-8")
        text = LOT.format(system=system, more=more)
        (tmp_path / "site.toml").write_text(text, encoding="utf-8")
        return read_site(tmp_path / "site.toml")

    return read


def rule(text: str, **keys: str) -> str:
    """A rule of the town's book: keys as TOML writes them."""
    lines = "".join(f"{key.rstrip('_')} = {value}\n" for key, value in keys.items())
    return f'[[rule]]\n{text}\nsource = "s. 1"\n{lines}'


def feature(kind: str, where: str, **keys: str) -> str:
    lines = "".join(f'{key} = "{value}"\n' for key, value in keys.items())
    return f'[[feature]]\nid = "thing"\nkind = "{kind}"\n{where}\n{lines}'


def printed(site: Site, part: str = "bore") -> list[str]:
    """Distances of the town that hold between a part and the one thing on the lot."""
    (thing,) = (each for each in site.features if each.id == "thing")
    return sorted(r.printed for r in rules_of(site).holding(part, thing) if r.book == "town")  # type: ignore[arg-type]


def bore(x: float, y: float, depth: float = 200.0, name: str = "B1") -> Bore:
    return Bore(name, x * FT, y * FT, 0.5 * FT, depth * FT)


def judged(site: Site, *elements: Bore | Well) -> dict[str, str]:
    """Codes of what is broken by elements at places given in feet, with what breaks it."""
    entry = Entry("E", Point(100 * FT, 90 * FT))
    layout = Layout(
        "open" if isinstance(elements[0], Well) else "vertical", elements, None, 6.0, 0.0
    )
    layout = replace(layout, header=Header((), entry))
    found = check_layout(site, layout, separations(site, layout, rules_of(site)), 0.0)
    return {each.code: each.rule for each in found}


SEWER = "line = [[150, 0], [150, 260]]"


@pytest.mark.parametrize(
    ("pipe", "asked"),
    # Nebraska, 134 NAC ch. 4 Chart 1: 10 ft of a watertight sewer, 50 ft of another; what nobody
    # states may be either, and both hold
    [("watertight", ["10 ft"]), ("not watertight", ["50 ft"]), ("", ["10 ft", "50 ft"])],
)
def test_a_distance_turns_on_what_a_sewer_is_made_of(
    lot: Read, pipe: str, asked: list[str]
) -> None:
    rows = "".join(
        rule('from = "sewer line"', id=f'"{number}"', distance=f'"{feet} ft"', when=when)
        for number, (feet, when) in enumerate(
            ((10, '{ pipe = "watertight" }'), (50, '{ pipe = "not watertight" }'))
        )
    )
    stated = {"pipe": pipe} if pipe else {}
    assert printed(lot(rows, more=feature("sewer line", SEWER, **stated))) == asked


@pytest.mark.parametrize(
    ("lies", "asked"),
    # West Virginia, 64-46 Table A: 50 (100), the bracketed number where the well is lower
    [("downhill", ["50 ft"]), ("uphill", ["100 ft"]), ("", ["100 ft", "50 ft"])],
)
def test_a_distance_turns_on_which_lies_lower(lot: Read, lies: str, asked: list[str]) -> None:
    rows = "".join(
        rule(
            'from = "septic tank"',
            id=f'"{way}"',
            distance=f'"{feet} ft"',
            when=f'{{ lies = "{way}" }}',
        )
        for feet, way in ((50, "downhill"), (100, "uphill"))
    )
    stated = {"lies": lies} if lies else {}
    assert printed(lot(rows, more=feature("septic tank", "at = [20, 20]", **stated))) == asked


@pytest.mark.parametrize(
    ("fluid", "asked"),
    # Denmark, BEK 240/2017 s. 9: 300 m, and 50 m with one of the antifreezes listed
    [
        ("propylene glycol 20 %", ["50 m"]),
        ("ethanol 20 %", ["300 m"]),
        ("", ["300 m", "50 m"]),
    ],
)
def test_a_distance_turns_on_the_fluid(lot: Read, fluid: str, asked: list[str]) -> None:
    listed = '["propylene glycol", "ethylene glycol", "isopropanol"]'
    rows = rule(
        'from = "potable well"', id='"a"', distance='"300 m"', when=f"{{ other_fluid = {listed} }}"
    )
    rows += rule(
        'from = "potable well"', id='"b"', distance='"50 m"', when=f"{{ fluid = {listed} }}"
    )
    more = feature("potable well", "at = [20, 20]")
    more += f'[fluid]\nmixture = "{fluid}"\n' if fluid else ""
    assert printed(lot(rows, more=more)) == asked


def test_a_distance_turns_on_who_owns_the_well(lot: Read) -> None:
    rows = rule('from = "potable well"', distance='"1,000 ft"', when='{ owner = "other" }')
    own, other = (
        lot(rows, more=feature("potable well", "at = [20, 20]", owner=owner))
        for owner in ("own", "other")
    )
    assert (printed(own), printed(other)) == ([], ["1,000 ft"])


@pytest.mark.parametrize(("depth", "asked"), [("30 ft", ["5 m"]), ("10 ft", ["1 m"])])
def test_a_distance_turns_on_how_deep_the_part_goes(
    lot: Read, depth: str, asked: list[str]
) -> None:
    rows = "".join(
        rule(
            'from = "energy well"',
            id=f'"{key}"',
            distance=f'"{metres} m"',
            when=f'{{ depth = {{ {key} = "5 m" }} }}',
        )
        for metres, key in ((1, "to"), (5, "over"))
    )  # 10 ft are 3.05 m, 30 ft 9.14 m
    more = f'[vertical]\ndepth = "{depth}"\n' + feature("energy well", "at = [20, 20]")
    assert printed(lot(rows, more=more)) == asked


EASEMENT = """\
[[feature]]
id = "strip"
kind = "easement"
area = [[146, 0], [154, 0], [154, 260], [146, 260]]
"""


def test_ten_feet_or_outside_the_easement(lot: Read) -> None:
    # the sewer at 150 ft lies in an easement from 146 to 154 ft: a bore at 145 ft, 3 in in radius,
    # is 4.75 ft from the sewer, and outside; at 146 ft it is in the easement
    rows = rule('from = "sewer line"', distance='"10 ft"', unless_outside='"easement"')
    own = '[[rules.own]]\nfrom = "{}"\ndistance = "0 ft"\nsource = "none here"\n'
    more = (
        EASEMENT + feature("sewer line", SEWER) + own.format("easement") + own.format("sewer line")
    )
    site = lot(rows, more=more)
    assert "separation" not in judged(site, bore(145, 150))
    assert judged(site, bore(146, 150))["separation"] == "town/sewer-line"
    # without the easement the distance holds: 9 ft are too near, 10.25 ft to the center enough
    bare = lot(rows, more=feature("sewer line", SEWER) + own.format("sewer line"))
    assert judged(bare, bore(141, 150))["separation"] == "town/sewer-line"
    assert "separation" not in judged(bare, bore(139.7, 150))


def test_a_line_of_an_easement_is_no_ground_to_be_outside_of(lot: Read) -> None:
    # another easement, drawn as a line without a width, crosses the sewer and the bore at 145 ft:
    # what has no area holds nothing, and the bore is outside of the easement that has one
    rows = rule('from = "sewer line"', distance='"10 ft"', unless_outside='"easement"')
    own = '[[rules.own]]\nfrom = "{}"\ndistance = "0 ft"\nsource = "none here"\n'
    crossing = feature("easement", "line = [[100, 150], [190, 150]]").replace("thing", "crossing")
    more = EASEMENT + crossing + feature("sewer line", SEWER)
    more += own.format("easement") + own.format("sewer line")
    found = judged(lot(rows, more=more), bore(145, 150))
    assert "town/sewer-line" not in found.values()


def test_a_sewer_that_leaves_its_easement_is_kept_off_all_along(lot: Read) -> None:
    rows = rule('from = "sewer line"', distance='"10 ft"', unless_outside='"easement"')
    own = '[[rules.own]]\nfrom = "{}"\ndistance = "0 ft"\nsource = "none here"\n'
    bent = "line = [[150, 0], [150, 200], [190, 240]]"
    more = (
        EASEMENT + feature("sewer line", bent) + own.format("easement") + own.format("sewer line")
    )
    # 4.75 ft from the sewer and outside of the easement, which the sewer leaves farther on
    assert judged(lot(rows, more=more), bore(145, 150))["separation"] == "town/sewer-line"


def test_the_engine_uses_the_ground_outside_the_easement(lot: Read) -> None:
    from siteplan.available.area import available_area

    rows = rule('from = "sewer line"', distance='"40 ft"', unless_outside='"easement"')
    own = '[[rules.own]]\nfrom = "{}"\ndistance = "0 ft"\nsource = "none here"\n'
    more = (
        EASEMENT + feature("sewer line", SEWER) + own.format("easement") + own.format("sewer line")
    )
    site = lot(rows, more=more)
    area = available_area(site, rules_of(site), "bore").shape
    assert area.contains(Point(145 * FT, 150 * FT))
    assert not area.contains(Point(147 * FT, 150 * FT))


def test_the_rear_yard_begins_at_the_rear_of_the_house(lot: Read) -> None:
    # the street runs 20 ft south of the lot, the house from 60 to 90 ft north: behind it is north
    # of 90 ft, over the whole width
    site = lot(rule('from = "anywhere"', says='"rear yard only"'))
    line = rear_line(site)
    assert line is not None
    assert line.behind(10 * FT, 100 * FT) == pytest.approx(10 * FT)
    before = ground_before(site.parcel, line)
    assert before.equals(box(0, 0, 200 * FT, 90 * FT)) or before.area == pytest.approx(
        200 * 90 * FT * FT
    )
    assert judged(site, bore(150, 80))["not-in-rear-yard"] == "town/anywhere"
    assert "not-in-rear-yard" not in judged(site, bore(150, 91))


@pytest.mark.parametrize("turn", [30.0, 45.0, 200.0])
def test_the_rear_yard_turns_with_the_lot(lot: Read, turn: float) -> None:
    def turned(shape: BaseGeometry) -> BaseGeometry:
        return rotate(shape, turn, origin=(0, 0))

    site = lot(rule('from = "anywhere"', says='"rear yard only"'))
    features = tuple(replace(each, shape=turned(each.shape)) for each in site.features)
    parcel = turned(site.parcel)
    line = rear_line(replace(site, parcel=parcel, features=features))
    assert line is not None
    # the ground before it is 200 ft by 90 ft, wherever it lies
    assert ground_before(parcel, line).area == pytest.approx(200 * 90 * FT * FT)
    # a place 10 ft behind the house stays so, whichever way all of it is turned
    place = turned(Point(10 * FT, 100 * FT))
    assert line.behind(place.x, place.y) == pytest.approx(10 * FT)


def test_the_engine_keeps_to_the_rear_yard(lot: Read) -> None:
    trial = lay_out(lot(rule('from = "anywhere"', says='"rear yard only"')), "vertical")
    assert trial.fits, in_words(trial.why)
    assert trial.layout is not None
    assert min(each.y_m for each in trial.layout.elements) >= 90.25 * FT - 1e-6
    (row,) = [row for row in trial.separations if row.rule.says == "rear yard only"]
    assert row.meets


def test_without_a_street_nobody_can_tell_the_rear_yard(lot: Read) -> None:
    site = lot(rule('from = "anywhere"', says='"rear yard only"'))
    bare = replace(site, features=tuple(f for f in site.features if f.kind != "street"))
    assert "rear-yard-unknown" in {one.code for one in lay_out(bare, "vertical").findings}


def test_a_limit_of_depth_is_kept_by_more_bores(lot: Read) -> None:
    # 600 ft at no more than 150 ft a bore: four of them
    trial = lay_out(
        lot(
            rule('from = "anywhere"\nfor = ["bore"]', says='"no deeper than"', distance='"150 ft"')
        ),
        "vertical",
    )
    assert trial.layout is not None
    depths = [each.depth_m / FT for each in trial.layout.elements]
    assert (len(depths), max(depths)) == (4, pytest.approx(150))
    (row,) = [row for row in trial.separations if row.rule.says == "no deeper than"]
    assert (row.meets, row.provided_m / FT) == (True, pytest.approx(150))


def test_a_depth_that_is_asked_for_and_not_allowed_is_refused(lot: Read) -> None:
    row = rule('from = "anywhere"\nfor = ["bore"]', says='"no deeper than"', distance='"150 ft"')
    site = lot(row, more='[vertical]\ndepth = "200 ft"\n')
    assert in_words(lay_out(site, "vertical").why).startswith(
        "no deeper than 150.0 ft here by town"
    )
    assert judged(site, bore(150, 150, 150.1))["too-deep"] == "town/anywhere"
    assert "too-deep" not in judged(site, bore(150, 150, 150))


@pytest.mark.parametrize(
    ("x", "depth", "code"),
    # the well stands at 20 ft, its casing ends 80 ft deep: beyond 100 ft of it 85 ft are the limit
    [(121, 85.1, True), (121, 84.9, False), (119, 200, False)],
)
def test_a_ring_around_a_well_limits_depth_by_its_casing(
    lot: Read, x: float, depth: float, code: bool
) -> None:
    row = rule(
        'from = "potable well"\nfor = ["bore"]', says='"no deeper than"', distance='"5 ft"',
        measure='"below casing"', within='{ over = "100 ft" }',
    )  # fmt: skip
    well = feature("potable well", "at = [20, 150]", casing="80 ft")
    site = lot(row, more=well)
    assert ("too-deep" in judged(site, bore(x, 150, depth))) is code
    # the engine keeps the limit on all of the lot
    assert (
        within_limits(site, rules_of(site)).exchanger.vertical.depth_most_m
        == pytest.approx(85 * FT)
        or site.exchanger.vertical.depth_least_m > 85 * FT
    )
    bare = lot(row, more=feature("potable well", "at = [20, 150]"))
    assert "casing-not-stated" in {one.code for one in lay_out(bare, "vertical").findings}


def test_bores_keep_off_each_other_what_a_book_asks(lot: Read) -> None:
    # 30 ft instead of the usual 20 ft
    site = lot(
        rule('from = "each other"\nfor = ["bore"]', distance='"30 ft"'),
        more='[vertical]\nspacing = "20 ft"\n',
    )
    trial = lay_out(site, "vertical")
    assert trial.fits, in_words(trial.why)
    (row,) = [row for row in trial.separations if row.rule.subject == "each other"]
    assert row.provided_m >= 30 * FT - 1e-6
    # 30 ft is what the rule asks; the site file asked for 20 ft
    (own,) = [row for row in trial.separations if row.rule.subject == "bore"]
    assert own.rule.source == "spacing that a rule asks, center to center"
    near = judged(site, bore(150, 150), bore(179, 150, name="B2"))
    assert near["separation"] == "town/each-other"
    assert "separation" not in judged(site, bore(140, 150), bore(170, 150, name="B2"))


def test_a_grid_without_a_place_is_as_wide_as_a_book_asks(lot: Read) -> None:
    row = rule('from = "each other"\nfor = ["bore"]', distance='"30 ft"')
    grid = '[vertical]\nspacing = "20 ft"\n[vertical.grid]\nrows = 2\ncolumns = 2\n'
    trial = lay_out(lot(row, more=grid), "vertical")
    assert trial.fits, in_words(trial.why)
    assert trial.layout is not None
    places = [Point(one.x_m, one.y_m) for one in trial.layout.of(Bore)]
    least = min(a.distance(b) for k, a in enumerate(places) for b in places[:k])
    assert least == pytest.approx(30 * FT)


@pytest.mark.parametrize(("feet", "told"), [(14_000, True), (24_000, False)])
def test_no_remedy_sets_bores_nearer_than_a_book_asks(lot: Read, feet: int, *, told: bool) -> None:
    row = rule('from = "each other"\nfor = ["bore"]', distance='"28 ft"')
    site = lot(row, more='[vertical]\nspacing = "40 ft"\ndepth = "300 ft"\n')
    found = list(nearer_together(lot_of(site), "vertical", feet * FT))
    assert bool(found) is told
    assert all(28 * FT - 1e-6 <= each.values["spacing_m"] < 40 * FT for each in found)


@pytest.mark.parametrize("remedy", [leaning_bores, deeper_bores])
def test_no_remedy_leaves_another_row_of_a_book(
    lot: Read, remedy: Callable[..., Iterator[Reason]]
) -> None:
    """Collars 28 ft apart are no pad, and 360 ft is the deepest; either would end the run."""
    rows = rule('from = "each other"\nfor = ["bore"]', distance='"28 ft"') + rule(
        'from = "anywhere"\nfor = ["bore"]', says='"no deeper than"', distance='"360 ft"'
    )
    site = lot(rows, more='[vertical]\nspacing = "40 ft"\ndepth = "350 ft"\n')
    for bores in (2, 4, 6, 40):
        found = list(remedy(lot_of(site), "vertical", bores * 365 * FT))
        assert all(each.values.get("depth_m", 0.0) <= 360 * FT + 1e-6 for each in found)


def test_the_two_wells_keep_off_each_other_what_a_book_asks(lot: Read) -> None:
    # Brevard County 62-3774(e)(1): 50 ft, here from edge to edge of casings 0.5 ft wide
    row = rule('from = "supply well"\nfor = ["return well"]', distance='"120 ft"')
    site = lot(
        row, system="open", more='[open]\nflow = "6 gpm"\nyield = "15 gpm"\nseparation = "50 ft"\n'
    )
    trial = lay_out(site, "open")
    assert trial.fits, in_words(trial.why)
    (found,) = [one for one in trial.separations if one.rule.book == "town"]
    assert found.provided_m >= 120 * FT - 1e-6
    wells = [
        Well(role, 150 * FT, y * FT, 0.5 * FT, 30.0, role)
        for role, y in (("supply", 120), ("return", 240))
    ]  # type: ignore[arg-type]
    assert judged(site, *wells)["separation"] == "town/supply-well"


def test_a_number_of_another_document_has_to_be_stated(lot: Read) -> None:
    row = rule('from = "property line"', says='"as stated"', note='"the setback of the district"')
    told = [one for one in lay_out(lot(row), "vertical").findings if one.code == "state-it"]
    assert "the setback of the district" in in_words(told[0])
    own = '[[rules.own]]\nfrom = "property line"\ndistance = "15 ft"\nsource = "district R-1"\n'
    trial = lay_out(lot(row, more=own), "vertical")
    assert "state-it" not in {one.code for one in trial.findings}
    assert trial.layout is not None
    nearest = min(
        min(e.x_m, e.y_m, 200 * FT - e.x_m, 260 * FT - e.y_m) for e in trial.layout.elements
    )
    assert nearest >= 15.25 * FT - 1e-6


def test_coils_keep_out_of_public_water(lot: Read) -> None:
    row = rule('from = "pond"\nfor = ["coil"]', says='"not allowed"', when='{ use = "public" }')
    pond = 'area = [[10, 110], [190, 110], [190, 250], [10, 250]]\ndepth = "12 ft"'
    length = '[pond]\nlength = { given = "600 ft", by = "test" }\n'
    for use, fits in (("private", True), ("public", False)):
        site = lot(row, system="pond", more=length + feature("pond", pond, use=use))
        assert lay_out(site, "pond").fits is fits, use


def test_a_superseded_book_warns(lot: Read) -> None:
    # the plan is of 14 March 2026
    head = 'superseded_on = 2026-01-28\nsuperseded_by = "134 NAC ch. 4"\n'
    site = lot(rule('from = "property line"', distance='"10 ft"'), head=head)
    (told,) = [one for one in lay_out(site, "vertical").findings if one.code == "superseded"]
    assert told.severity == "warning"
    assert in_words(told) == (
        "Town: all of it is of a text superseded on 2026-01-28 by 134 NAC ch. 4. Read the text in "
        "force before use."
    )
    head = head.replace("2026-01-28", "2099-01-01")
    site = lot(rule('from = "property line"', distance='"10 ft"'), head=head)
    (told,) = [one for one in lay_out(site, "vertical").findings if one.code == "superseded"]
    assert "of a text to be superseded on 2099-01-01 by 134 NAC ch. 4" in in_words(told)
    row = rule('from = "property line"', distance='"10 ft"', superseded_on="2021-03-22")
    (told,) = [one for one in lay_out(lot(row), "vertical").findings if one.code == "superseded"]
    assert "of its rows 1 (Town code, s. 1) are of a text superseded on 2021-03-22" in in_words(
        told
    )


def test_the_stricter_of_state_county_and_town_holds_and_all_are_named(
    lot: Read, tmp_path: Path
) -> None:
    # 10, 25 and 15 ft from the property line: 25 ft hold, and the table names the others
    for name, feet in (("state", 10), ("county", 25)):
        row = rule('from = "property line"', distance=f'"{feet} ft"')
        text = BOOK.replace("town", name).replace("Town", name.title()) + row
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    lot(rule('from = "property line"', distance='"15 ft"'))
    path = tmp_path / "site.toml"
    names = '["state.toml", "county.toml", "town.toml"]'
    path.write_text(
        path.read_text(encoding="utf-8").replace('["town.toml"]', names), encoding="utf-8"
    )
    trial = lay_out(read_site(path), "vertical")
    (row,) = [row for row in trial.separations if (row.part, row.feature) == ("bore", "parcel")]
    assert (row.rule.book, [one.book for one in row.others]) == ("county", ["town", "state"])
    assert row.provided_m >= 25 * FT - 1e-6


def test_a_book_beside_the_site_file_that_is_not_there_is_told(lot: Read, tmp_path: Path) -> None:
    site = lot("")
    (tmp_path / "town.toml").unlink()
    with pytest.raises(InputError, match=r"town\.toml: no such file"):
        rules_of(site)


def test_all_faults_of_the_new_kinds_come_together(lot: Read) -> None:
    street, feet, near = 'from = "street"', '"5 ft"', '{ to = "9 ft" }'
    tight = '{ pipe = "tight", depth = {} }'
    rows = (
        rule('from = "street"', id='"a"', says='"rear yard only"')
        + rule('from = "street"', id='"b"', distance='"5 ft"', measure='"below casing"')
        + rule(street, id='"c"', distance=feet, within=near, unless_outside='"easment"')
        + rule(street, id='"d"', distance=feet, status='"recomended"', superseded_on='"June"')
        + rule('from = "sewer line"', id='"e"', distance=feet, when=tight)
    )  # fmt: skip
    with pytest.raises(RuleError) as caught:
        rules_of(lot(rows))
    told = "\n".join(map(str, caught.value.faults))
    for words in (
        "of 'rear yard only' is about the lot", "from a casing is from a well",
        "goes with a limit of depth", "'easment' is not known; did you mean 'easement'?",
        "'recomended' is not known; did you mean 'recommended'?", "'June' is not a day",
        "'tight' is not known; did you mean 'watertight'?", "depth]: has no bound",
    ):  # fmt: skip
        assert words in told, words
