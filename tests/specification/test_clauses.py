"""The specification: only what a loop type needs, each clause with who says so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from sheet_lots import pond_farm, rural, suburban, well_pair

from siteplan.advisories.bounds import conditions_on
from siteplan.findings.words import figure_words
from siteplan.layout.elements import Bore, Coil
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import Circuit
from siteplan.rule_books.loader import load_book
from siteplan.sheet.content.content import PlanContent
from siteplan.site.energy import Fluid
from siteplan.site.model import Site
from siteplan.site.specification import SpecificationOptions
from siteplan.specification.clauses import specification
from siteplan.units.lengths import FOOT
from siteplan.units.pressures import PSI
from siteplan.units.systems import METRIC

Lot = Callable[[], PlanContent]


def with_fluid(site: Site, mixture: str, **stated: object) -> Site:
    """The site with a fluid, and with what is said for the specification."""
    fluid = replace(site.exchanger.piping.fluid or Fluid(0.0, 30.0), mixture=mixture)
    piping = replace(site.exchanger.piping, fluid=fluid)
    exchanger = replace(site.exchanger, piping=piping)
    options = SpecificationOptions(**stated, stated=tuple(stated))  # type: ignore[arg-type]
    return replace(site, exchanger=exchanger, specification=options)


def said(site: Site, layout: Layout, books: tuple[str, ...] = ()) -> dict[str, tuple[str, str]]:
    """What is asked, and who asks it, by what it is about."""
    conditions = conditions_on(site, [load_book(book) for book in books], layout.system, layout)
    told = (
        figure_words(clause, site.unit, on_paper=True)
        for clause in specification(site, layout, conditions)
    )
    return {about: (asked, source) for about, asked, source in told}


def clauses(
    lot: Lot, mixture: str = "methanol 15 %", **stated: object
) -> dict[str, tuple[str, str]]:
    content = lot()
    assert content.layout is not None
    return said(with_fluid(content.site, mixture, **stated), content.layout)


ALL_LOOPS = {"fusion", "pressure test"}
CLOSED = ALL_LOOPS | {"fluid", "filling"}


@pytest.mark.parametrize(("lot", "needed", "never"), [
    (suburban, CLOSED | {"casing", "grout", "grouting", "abandoned bores"}, {"ballast", "wells"}),
    (rural, CLOSED, {"casing", "grout", "grouting", "abandoned bores", "ballast", "wells"}),
    (pond_farm, CLOSED, {"casing", "grout", "grouting", "wells", "abandoned bores"}),
    (well_pair, ALL_LOOPS | {"wells", "annular seal", "abandoned wells"},
     {"grout", "grouting", "filling", "purge", "ballast"}),
])  # fmt: skip
def test_a_loop_type_has_the_clauses_that_it_needs_alone(
    lot: Lot, needed: set[str], never: set[str]
) -> None:
    told = set(clauses(lot))
    assert needed <= told
    assert not never & told


def test_every_clause_says_who_asks_it() -> None:
    for lot in (suburban, rural, pond_farm, well_pair):
        assert all(asked and source for asked, source in clauses(lot).values())


def test_a_mixture_is_told_with_its_freezing_point() -> None:
    # Lange's Handbook of Chemistry, 15th ed., Table 5.13: methanol 15 % by volume freezes at -8.3 C
    asked, source = clauses(suburban)["fluid"]
    assert "freezes at 17.1 °F" in asked
    assert "Lange's Handbook" in source
    assert "Water without antifreeze, freezes at 32.0 °F" in clauses(rural_us, "water")["fluid"][0]


def rural_us() -> PlanContent:
    """The rural lot, told in feet."""
    content = rural()
    return replace(content, site=replace(content.site, unit=suburban().site.unit))


def test_a_test_that_nobody_asks_is_that_of_a_citys_code_and_defers() -> None:
    # City of Mission Hills (Kansas) code 5-130.1(E)(1): water, 100 psi for at least 1 h
    asked, source = clauses(suburban)["pressure test"]
    assert "With water, 100 psi or more, held for 60 min" in asked
    assert "Never above what the pipe's maker allows" in asked
    assert source.startswith("assumed")
    assert "local code and the pipe's maker come first" in source


def test_an_assumed_test_asks_no_more_than_the_pipe_bears_at_the_toe() -> None:
    content = suburban()
    layout = content.layout
    assert layout is not None
    deep = tuple(replace(bore, depth_m=580 * FOOT) for bore in layout.of(Bore))
    asked, source = said(content.site, replace(layout, elements=deep))["pressure test"]
    # PPI: PE4710 of DR 11 bears 200 psi, and 1.5 times that in recurring surges: 300 psi;
    # 580 ft of water are 251.4 psi (0.4335 psi a foot), which leaves 48.6 psi at the top
    assert "48 psi or more" in asked
    assert "lowered" in source


def test_no_test_is_printed_that_asks_less_than_the_loop_is_filled_to() -> None:
    # 1,000 ft of water are 433 psi, more than the 300 psi of the pipe; 600 ft leave 39.9 psi, less
    # than the 40 psi of the filled loop: a test below its working pressure tells nothing
    content = suburban()
    layout = content.layout
    assert layout is not None
    for feet, borne in ((1000, "0 psi"), (600, "39 psi")):
        deep = tuple(replace(bore, depth_m=feet * FOOT) for bore in layout.of(Bore))
        asked, _ = said(content.site, replace(layout, elements=deep))["pressure test"]
        assert asked.startswith("NOT SETTLED")
        assert f"bears {borne} beside" in asked
        assert "or more, held" not in asked


def test_the_greater_of_what_book_and_designer_ask_is_printed() -> None:
    content = suburban()
    layout = content.layout
    assert layout is not None
    circuits = replace(content.site.exchanger.piping.circuits, test_pa=90 * PSI)
    piping = replace(content.site.exchanger.piping, circuits=circuits)
    site = replace(content.site, exchanger=replace(content.site.exchanger, piping=piping))
    alone = said(site, layout)["pressure test"]
    assert "90 psi or more, held for 60 min" in alone[0]
    assert "pressure as stated; time assumed" in alone[1]
    # Minn. R. 4725.7050 (old text): 15 min at 1.5 x operating or 75 psi, whichever is greater
    booked = said(site, layout, ("minnesota",))["pressure test"]
    assert "90 psi or more, and at 1.5 x the operating pressure where that is more" in booked[0]
    assert "held for 15 min" in booked[0]
    assert "State of Minnesota: Minn. R., 4725.7050" in booked[1]
    longer = with_fluid(site, "methanol 15 %", test_minutes=120.0)
    assert "held for 120 min" in said(longer, layout, ("minnesota",))["pressure test"][0]


def test_what_is_stated_stands_in_the_place_of_common_practice() -> None:
    words = {
        "fusion": "butt fusion", "casing": "6 in steel to rock", "abandoned": "neat cement",
    }  # fmt: skip
    told = clauses(suburban, fill_pa=60 * PSI, **words)
    assert told["fusion"] == ("butt fusion", "as stated")
    assert told["casing"] == ("6 in steel to rock", "as stated")
    assert told["abandoned bores"] == ("neat cement", "as stated")
    assert clauses(well_pair, abandoned="by the driller")["abandoned wells"][0] == "by the driller"
    assert clauses(suburban)["casing"][1] == "assumed; common practice"


def test_ballast_is_the_water_that_a_coil_full_of_air_takes_the_place_of() -> None:
    content = pond_farm()
    layout = content.layout
    assert layout is not None
    coils = layout.of(Coil)
    circuits = tuple(
        Circuit(f"CIR-{k}", (c.id,), "3/4 in", c.pipe_m, 2) for k, c in enumerate(coils)
    )
    asked = said(content.site, replace(layout, circuits=circuits))["ballast"][0]
    # 3/4 in of ASTM D3035 is 1.050 in across: pi/4 x (1.05/12 ft)^2 x 62.4 lb/ft3 = 0.375 lb a foot
    feet = max(coil.pipe_m for coil in coils) / FOOT
    assert f"{math.ceil(0.3752 * feet):,.0f} lb" in asked


@pytest.mark.parametrize(("depth", "soil", "way", "words"), [
    (4.0, None, "shield", "none unless cave-in threatens"),
    (6.0, None, "shield", "shield or shoring"),
    (6.0, "stable rock", "shield", "none in stable rock alone"),
    # 29 CFR 1926 Subpart P App. B, Table B-1: soil C 1-1/2 to 1
    (6.0, "C", "slope", "sides sloped 1.50 to 1 (soil C"),
])  # fmt: skip
def test_protection_of_trenches_is_that_of_the_design(
    depth: float, soil: str | None, way: str, words: str
) -> None:
    content = rural_us()
    options = replace(
        content.site.exchanger.horizontal, depth_m=depth * FOOT, soil=soil, protection=way
    )  # type: ignore[arg-type]
    exchanger = replace(content.site.exchanger, horizontal=options)
    assert content.layout is not None
    asked, source = said(replace(content.site, exchanger=exchanger), content.layout)[
        "trench protection"
    ]
    assert words in asked
    assert "competent person" in asked
    assert "29 CFR 1926.652" in source


def test_nobody_goes_into_a_narrow_trench_unprotected() -> None:
    content = rural_us()
    options = replace(content.site.exchanger.horizontal, depth_m=6 * FOOT, width_m=0.3)
    exchanger = replace(content.site.exchanger, horizontal=options)
    assert content.layout is not None
    asked = said(replace(content.site, exchanger=exchanger), content.layout)["trench protection"][0]
    assert "too narrow to enter" in asked


def test_a_metric_sheet_has_a_metric_specification() -> None:
    content = suburban()
    assert content.layout is not None
    told = said(replace(with_fluid(content.site, "methanol 15 %"), unit=METRIC), content.layout)
    # 100 psi = 689.5 kPa
    assert "689 kPa or more" in told["pressure test"][0]
    assert "-8.3 °C" in told["fluid"][0]
    assert not any(" psi" in asked or "°F" in asked for asked, _ in told.values())
