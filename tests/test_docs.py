"""What the documents say is so: their Python runs, their links lead somewhere, their keys exist."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from places import ROOT, SAMPLES
from planned import planned, planned_once
from wording import in_words

import siteplan
from siteplan.cli.options import parser
from siteplan.plan import plan_site
from siteplan.report.comparison_words import comparison_heads, comparison_lines
from siteplan.site.options.declared import catalogue
from siteplan.site.options.tables import with_tables
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import format_length, rough
from siteplan.vocabulary.kinds import kinds

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^ *```{language}\n(.*?)^ *```$", text, flags=re.MULTILINE | re.DOTALL)


@pytest.mark.thorough
def test_the_recipes_of_the_inputs_are_a_lot_that_can_be_planned(tmp_path: Path) -> None:
    # a typed deed and a tape sketch, as the page has them, are all that there is
    told = blocks((ROOT / "docs/inputs.md").read_text(encoding="utf-8"), "toml")
    deed = next(text for text in told if "[geometry.deed]" in text)
    tape = next(text for text in told if "walls = " in text)
    head = '[project]\ntitle = "t"\nowner = "o"\ndate = 2026-03-14\n'
    wanted = '[exchanger]\nentry = "any wall"\ncapacity = "3 ton"\n'
    (tmp_path / "site.toml").write_text(f"{head}{deed}\n{wanted}\n{tape}", encoding="utf-8")
    plan = siteplan.plan_site(siteplan.read_site(tmp_path))
    # 150 ft by 200 ft, square: 30,000 sq ft
    assert plan.site.parcel.area == pytest.approx(30_000 * 0.3048**2, rel=1e-6)
    assert plan.fits


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_the_python_of_the_readme_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("siteplan.plan.plan_site", planned_once)
    found = blocks(README, "python")
    assert found
    for block in found:
        exec(compile(block, "README.md", "exec"), {})


def test_the_python_of_its_page_runs_and_names_all_there_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("siteplan.plan.plan_site", planned_once)
    text = (ROOT / "docs/python.md").read_text(encoding="utf-8")
    names: dict[str, object] = {}
    for block in blocks(text, "python"):
        exec(compile(block, "docs/python.md", "exec"), names)
    for name in siteplan.__all__:
        assert f"`{name}" in text, name


def test_the_lot_of_the_first_plan_fits(tmp_path: Path) -> None:
    (text,) = blocks((ROOT / "docs/first-plan.md").read_text(encoding="utf-8"), "toml")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    plan = plan_site(read_site(tmp_path))
    assert plan.fits, in_words(plan.drawn.why)


@pytest.mark.parametrize(
    ("sample", "rows"),
    [
        pytest.param("rural-acre", 6, marks=pytest.mark.thorough),
        ("tight-lot", 0),
    ],
)
def test_the_figures_of_rule_costs_are_those_of_the_samples(sample: str, rows: int) -> None:
    text = (ROOT / "docs/rule-costs.md").read_text(encoding="utf-8")
    site = read_site(SAMPLES / sample)
    # where nothing fits all is weighed that the page tells of the lot
    weighing = planned_once(site, costs=rows > 0).weighing
    for cost in weighing.costs[:rows]:
        gain = format_length(cost.gain_m, site.unit, rough(site.unit), rounding="down")
        assert f"| {cost.rule.subject}, {cost.rule.printed} | {gain} |" in text
        assert (cost.header_m, cost.crossings) == (0.0, 0)  # as the page says
    for remedy in weighing.remedies:
        assert f"- {in_words(remedy.change, site.unit)}\n" in text


@pytest.mark.parametrize("sample", ["farm-pond"])
def test_the_decision_of_the_gallery_is_that_of_the_sample(sample: str) -> None:
    page = (ROOT / "docs/gallery.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```\n(FITS.*?)```", page, re.DOTALL)
    shown = [re.split(r"  +", line) for line in block.splitlines()[1:]]
    plan = planned(sample)
    lines = {line.title: line.cells for line in comparison_lines(plan.compared, plan.site.unit)}
    assert tuple(shown[0][1:]) == comparison_heads(plan.compared)
    assert len(shown) > 3
    for title, *cells in shown[1:]:
        assert tuple(cells) == lines[title]


def test_every_page_stands_in_the_index() -> None:
    index = (ROOT / "docs/index.md").read_text(encoding="utf-8")
    for page in (ROOT / "docs").glob("*.md"):
        assert page.name == "index.md" or f"]({page.name})" in index, page.name


def test_the_two_commands_of_the_readme_are_one_line_each() -> None:
    commands = blocks(README, "sh")
    assert [command.count("\n") for command in commands] == [1, 1]
    words = shlex.split(commands[0].split("&&")[-1])
    assert words[0].endswith("/siteplan")
    arguments = parser().parse_args(words[1:])
    assert (ROOT / arguments.site).is_dir()


def test_the_quickstarts_toml_is_a_site_file(tmp_path: Path) -> None:
    text = (ROOT / "docs/quickstart.md").read_text(encoding="utf-8")
    lot = '[project]\ntitle = "x"\nowner = "y"\ndate = 2026-01-31\n[geometry]\n'
    lot += "parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]\n"
    pieces = [re.sub(r"^   ", "", block, flags=re.MULTILINE) for block in blocks(text, "toml")]
    assert len(pieces) == 2
    path = tmp_path / "site.toml"
    path.write_text(lot + "\n".join(pieces), encoding="utf-8")
    assert len(read_site(path).own_rules) == 1


def test_every_kind_stands_in_the_reference() -> None:
    text = (ROOT / "docs/site-file.md").read_text(encoding="utf-8")
    for kind in kinds():
        assert f"`{kind}`" in text, kind


def test_the_tables_of_options_in_the_reference_are_those_declared() -> None:
    text = (ROOT / "docs/site-file.md").read_text(encoding="utf-8")
    assert with_tables(text) == text
    shown = re.findall(r"<!-- options of (\S+) -->", text)
    assert shown == [option.path for option in catalogue().options.values()]


def test_every_sample_has_five_lines_of_readme_and_its_command() -> None:
    for folder in (path for path in (ROOT / "samples").iterdir() if path.is_dir()):
        lines = (folder / "README.md").read_text(encoding="utf-8").splitlines()
        prose = [line for line in lines if line and not line.startswith("#")]
        assert 3 <= len(prose) <= 5
        assert f"`siteplan plan samples/{folder.name}`" in prose[-1]
