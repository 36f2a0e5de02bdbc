"""Sheets, findings and the terminal's report speak in one unit system and its spelling."""

import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

import pytest
from campaign import thorough
from drawn_once import compose_set
from places import SAMPLES
from planned import full_set, in_full, planned
from rich.console import Console
from wording import in_words

from siteplan.cli.report import plan_report
from siteplan.export.takeoff import takeoff_csv
from siteplan.findings.words import figure_words, words_of
from siteplan.hydraulics.pipes import pipes
from siteplan.plan import SitePlan, plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.sheet.model import Sheet, Text
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import METRIC, US

FOREIGN = {
    US: re.compile(
        r"\d\)? ?(m|cm|mm|km|ha|L|L/s|kW|kWh|K|°?C)\b|m²|m³|W/m|m·K|mm²"
        r"|\b([Mm]et(re|er)s?|METRES?|[Cc]entred?s?|CENTRES?|[Ll]itres?|grey|colour)\b"
    ),
    METRIC: re.compile(
        r"\d\)? ?(ft|in(?! the\b)|°?F|gal|gpm|gpd|MBH|MMBtu|sq ft|cu yd|ac|miles?)\b"
        r"|Btu|ft²|\btons?\b"
        r"|\b([Ff]eet|FEET|[Ff]oot|[Ii]nch|[Ii]nches|[Cc]enters?|CENTERS?)\b|\d'(?!')|\d\"(?!\w)"
    ),
}
"""Units and spellings that a sheet of a system does not have."""
AS_PRINTED = re.compile(
    r"\d+°(\d+'(\d+(\.\d+)?\")?)?"  # bearings and angles
    r"|\(0\.3048 m\)"  # what an international foot is
    r"|own rule asks \S+ \w+"  # a rule of the site file, as its writer has it
    rf"|(?<![\d/-])(?:{'|'.join(map(re.escape, reversed(pipes())))})(?=$|[,;.:]| pipe| PIPE| \()"
)
SWAPPED = {
    "farm-pond": "pond", "mill-pond": "pond", "good-aquifer": None,
    "small-suburban": "vertical", "tight-lot": None,
    "rural-acre": "horizontal",
}  # fmt: skip
"""Samples that are planned in the other system too, and for which loop type: two for all, so that
what is said where several are compared, and where none fits, is among the words."""
QUICK = ("good-aquifer",)
SEEN = [name if name in QUICK else thorough(name) for name in SWAPPED]


def foreign(texts: Iterable[str], unit, quoted: str = "") -> list[str]:
    """Texts with a unit or spelling of another system, apart from what their source prints."""
    return [
        text
        for text in texts
        if FOREIGN[unit].search(AS_PRINTED.sub("", text))
        # a quotation may stand in brackets behind a sentence of the sheet
        and all(part.strip(" .()") not in quoted for part in (text, text.rpartition("(")[2]))
    ]


def quotations(plan: SitePlan) -> str:
    """What the sources of the rules print, as the sheet and the terminal quote it."""
    rules = rules_of(plan.site).rules
    own = (f"A rule of this design asks {rule.printed} between" for rule in rules)
    return "\n".join((*own, *(f"{rule.book}: {rule.source}\n{rule.note}" for rule in rules)))


def sheet_texts(sheets: Iterable[Sheet]) -> Iterator[str]:
    for sheet in sheets:
        yield from (one.text for one in sheet.primitives if isinstance(one, Text))


def told(plan: SitePlan) -> Iterator[str]:
    """All that the terminal, the findings, the reasoning and the take-off say."""
    console = Console(width=400, file=io.StringIO())
    console.print(plan_report(plan))
    # what a rule costs is told beside the rule, as printed
    lines = console.file.getvalue().splitlines()  # type: ignore[attr-defined]
    yield from (line for line in lines if "common practice, no source)" not in line)
    for trial in plan.trials:
        yield in_words(trial.why, plan.site.unit)
        yield from (in_words(one, plan.site.unit) for one in trial.findings)
        if trial.required is not None:
            yield words_of(trial.required.reason, plan.site.unit)
            for figure in trial.required.figures:
                yield " ".join(figure_words(figure, plan.site.unit))
    layout = plan.content().layout
    if layout is not None:
        yield from (line.replace(",", ", ") for line in takeoff_csv(plan.site, layout).splitlines())


def test_the_search_finds_what_is_foreign_and_nothing_else() -> None:
    metric = ["dig 5 ft", "3 in below", "at 32 °F", "12.5' wide", "4 tons", "bore centers", '6" up']
    assert foreign(metric, METRIC) == metric
    assert foreign(["3/4 in pipe", "N 01°42'35\" W  40.86 m", "811 in the US"], METRIC) == []
    american = ["1.5 m deep", "at 0.0 °C", "10 kW", "one-call centre", "GRAPHIC SCALE IN METRES"]
    assert foreign(american, US) == american
    assert foreign(["10 ft", "50.0 °F", "own rule asks 5 m", "1 in = 20 ft"], US) == []


def test_a_sample_speaks_in_its_own_system(sample) -> None:
    plan = planned(sample.name)
    unit, quoted = plan.site.unit, quotations(plan)
    assert foreign(sheet_texts(full_set(sample.name)), unit, quoted) == []
    assert foreign(told(plan), unit, quoted) == []


@pytest.mark.parametrize("name", SEEN)
def test_a_sample_planned_in_the_other_system_speaks_in_that(name: str) -> None:
    site = read_site(SAMPLES / name)
    unit = US if site.unit == METRIC else METRIC
    open_to_all = replace(site.exchanger, system=None)
    plan = plan_site(replace(site, unit=unit, exchanger=open_to_all), system=SWAPPED[name])
    quoted = quotations(plan)
    texts = list(sheet_texts(compose_set(in_full(plan).content())))
    assert foreign(texts, unit, quoted) == []
    assert foreign(told(plan), unit, quoted) == []
    # the spelling is there, and not only the other absent
    assert any(unit.center in text.lower() for text in texts)
