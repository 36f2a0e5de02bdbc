"""The owner's page: where the loop lies, what is in it, what to leave alone, whom to call."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from legible import plot_faults
from planned import planned
from pypdf import PdfReader
from sheet_lots import pond_farm, rural, suburban, thin_lot, well_pair
from together import SAMPLE_NAMES

from siteplan.errors import ExportError
from siteplan.export import package
from siteplan.export.overwrite import OWNER_FILE, permit_package
from siteplan.sheet.content.content import Deviations, PlanContent
from siteplan.sheet.content.ties import stake_names
from siteplan.sheet.model import Sheet, Text
from siteplan.sheet.pages.owner import MOST_TIED, owner_page
from siteplan.site.energy import Fluid
from siteplan.site.specification import SpecificationOptions

pytestmark = pytest.mark.usefixtures("coarse")


def page_of(content: PlanContent) -> Sheet:
    page = owner_page(content)
    assert page is not None
    return page


def said(page: Sheet) -> str:
    told = (text.text for text in page.of_type(Text) if text.space == "paper")
    return " ".join(told).replace("\u00a0", " ")


def filled(content: PlanContent, mixture: str) -> PlanContent:
    fluid = replace(content.site.exchanger.piping.fluid or Fluid(0.0, 30.0), mixture=mixture)
    piping = replace(content.site.exchanger.piping, fluid=fluid)
    exchanger = replace(content.site.exchanger, piping=piping)
    return replace(content, site=replace(content.site, exchanger=exchanger))


def built(
    content: PlanContent, *, names: tuple[str, ...] = ("id",), fits: bool = True
) -> PlanContent:
    return replace(content, built=Deviations(names, names, ()), fits=fits)


@pytest.mark.parametrize("lot", [suburban, rural, pond_farm, well_pair, thin_lot])
def test_the_page_can_be_read(lot) -> None:
    assert plot_faults(page_of(lot())) == ()


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_page_of_a_sample_has_all_it_needs(name: str) -> None:
    content = planned(name).content()
    if content.layout is None or not content.layout.elements:
        assert owner_page(content) is None
        return
    page = page_of(content)
    text = said(page)
    assert plot_faults(page) == ()
    assert page.paper.name in ("ANSI A", "A4")
    assert "DRAFT, as planned on" in text
    assert f"Loop: {content.site.project.contractor}" in text
    assert "Do not dig" in text
    assert "one-call" in text


@pytest.mark.parametrize("name", ["small-suburban", "rural-acre", "school"])
def test_every_stake_is_tied_by_two_tapes_or_those_at_the_corners_of_a_large_field(
    name: str,
) -> None:
    content = planned(name).content()
    layout = content.layout
    assert layout is not None
    page = page_of(content)
    rows: dict[str, set[str]] = {}
    for text in page.of_type(Text):
        if text.mark is not None and text.mark.block == "element-tapes" and text.mark.row:
            rows.setdefault(text.mark.row, set()).add(text.mark.column)
    names = {stake for element in layout.elements for stake in stake_names(element)}
    if len(names) <= MOST_TIED:
        assert names <= set(rows)
    else:
        assert len(names & set(rows)) >= 4
    assert all({"set-out-1", "set-out-2"} <= columns for columns in rows.values()), rows


def test_the_fluid_is_told_with_its_strength_and_its_danger() -> None:
    # Lange's Handbook of Chemistry, 15th ed., Table 5.13: methanol 15 % by volume, -8.3 C
    methanol = said(page_of(filled(suburban(), "methanol 15 %")))
    assert "Methanol 15 %, freezes at 17.1 °F" in methanol
    assert "poisonous, and it burns" in methanol
    assert "which burns" in said(page_of(filled(suburban(), "ethanol 20 %")))
    # it does not burn when a third of it is mixed with water; sweet, and poisonous to pets: common
    # practice, no source
    glycol = said(page_of(filled(suburban(), "ethylene glycol 25 %")))
    assert "poisonous, also for animals" in glycol
    assert "burns" not in glycol
    water = said(page_of(filled(suburban(), "water")))
    assert "poisonous" not in water
    assert "40 psi" in water


def test_the_volume_is_that_of_the_take_off() -> None:
    plan = planned("small-suburban")
    (fluid,) = (row for row in plan.summary()["take_off"] if row["item"] == "fluid")
    assert f"About {fluid['quantity']:,.0f} gal" in said(page_of(plan.content()))
    assert "How much: not calculated" in said(page_of(suburban()))


def test_the_page_of_what_was_built_is_no_draft_and_leaves_room_for_what_was_filled_in() -> None:
    text = said(page_of(built(filled(suburban(), "methanol 15 %"))))
    assert "DRAFT" not in text
    assert "AS BUILT, from the record of 2026-03-14. Every rule kept" in text
    assert "As designed; what was filled in stands below" in text
    assert "AS FILLED: ____" in text
    assert "Depth as planned: the record has none" in text
    drilled = said(page_of(built(suburban(), names=("id", "depth"), fits=False)))
    assert "Depth as planned" not in drilled
    assert "Something was found that needs an answer" in drilled


def test_bores_of_several_depths_are_told_from_the_least_to_the_greatest() -> None:
    content = suburban()
    assert content.layout is not None
    first, *others = content.layout.elements
    layout = replace(content.layout, elements=(replace(first, depth_m=60.96), *others))
    assert "200 ft to 300 ft deep" in said(page_of(replace(content, layout=layout)))


def test_whoever_is_named_is_called_first() -> None:
    content = suburban()
    named = SpecificationOptions(service="Eastmarch Bore Works, 555-0142")
    stated = replace(content, site=replace(content.site, specification=named))
    text = said(page_of(stated))
    assert "Loop: Eastmarch Bore Works, 555-0142" in text
    assert "Telephone" not in text
    assert "Telephone: ____" in said(page_of(content))


def test_the_package_has_the_page_as_a_file_of_its_own(tmp_path: Path) -> None:
    plan = planned("small-suburban")
    paths = plan.write(tmp_path / "permit")
    assert tmp_path / "permit" / OWNER_FILE in paths
    (page,) = PdfReader(tmp_path / "permit" / OWNER_FILE).pages
    # letter paper, 11 by 8.5 in
    assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (792, 612)
    assert "OWNER'S PAGE" in page.extract_text()
    with pytest.raises(ExportError, match=r"owner\.pdf"):
        permit_package(tmp_path / "permit").refuse_to_overwrite(force=False)


def test_no_file_is_left_behind_where_the_page_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(package, "write_page", full)
    with pytest.raises(ExportError, match="No space left"):
        planned("small-suburban").write(tmp_path / "permit")
    assert list(tmp_path.iterdir()) == []
