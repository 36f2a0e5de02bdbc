"""The quick question: parcel and house are enough for ``fit``, and it says what it assumed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from places import SAMPLES
from planned import planned_once

from siteplan.cli import main

KITCHEN = """\
[geometry]
parcel = [[0, 0], [200, 0], [200, 150], [0, 150]]
[[feature]]
kind = "building"
area = [[60, 40], [100, 40], [100, 70], [60, 70]]
"""


@pytest.fixture(autouse=True)
def _once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("siteplan.plan.plan_site", planned_once)


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    path = tmp_path / "kitchen.toml"
    path.write_text(KITCHEN, encoding="utf-8")
    return path


def test_parcel_and_house_are_enough(kitchen: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fit", str(kitchen)]) == 0
    out = capsys.readouterr().out
    # 40 x 30 ft, two floors of 20 Btu/hr a sq ft: 48 MBH, 4 tons of 12 MBH
    assert "hinges on: 4 tons of heat pump" in out
    assert "FITS: horizontal (drawn), vertical\n" in out
    assert "title block" not in out
    lines = out.splitlines()
    hinges = [number for number, line in enumerate(lines) if line.startswith("  hinges on: ")]
    findings = [
        number
        for number, line in enumerate(lines)
        if line.startswith(("  note: ", "  warning: ", "  error: "))
    ]
    assert len(hinges) == 3
    assert max(hinges) < min(findings)


def test_the_house_says_how_much_though_a_shop_beside_it_is_larger(
    kitchen: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 4 tons by the house's 1,200 sq ft, as above, and not 8 by the shop's 2,400: a heat pump
    # stands where people live, common practice, no source
    corners = [[140, 40], [180, 40], [180, 100], [140, 100]]
    shop = f'[[feature]]\nid = "shop"\nkind = "shop"\narea = {corners}\n'
    kitchen.write_text(KITCHEN + shop, encoding="utf-8")
    assert main(["fit", str(kitchen)]) == 0
    assert "hinges on: 4 tons of heat pump" in capsys.readouterr().out


def test_a_capacity_given_is_not_assumed(kitchen: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kitchen.write_text(KITCHEN + '[exchanger]\ncapacity = "2 ton"\n', encoding="utf-8")
    assert main(["fit", str(kitchen)]) == 0
    out = capsys.readouterr().out
    assert "heat pump, assumed" not in out
    # common practice 200 ft a ton at least, 1,110 ft calculated at most (tests/demand)
    assert "400 to 2,220 ft" in out


def test_a_plan_still_asks_for_all_of_it(kitchen: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(kitchen)]) == 2
    err = capsys.readouterr().err
    for missing in ("title", "owner", "date", "neither a length required nor a capacity"):
        assert missing in err


def test_without_a_house_three_tons_are_taken(
    kitchen: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kitchen.write_text(KITCHEN.partition("[[feature]]")[0], encoding="utf-8")
    assert main(["fit", str(kitchen)]) == 0
    assert "3 tons of heat pump, assumed (no house is drawn" in capsys.readouterr().out


def test_a_fault_that_is_none_of_the_quick_form_still_is_one(
    kitchen: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kitchen.write_text(KITCHEN.replace("building", "bilding"), encoding="utf-8")
    assert main(["fit", str(kitchen)]) == 2
    assert "did you mean 'building'?" in capsys.readouterr().err


def test_rules_are_weighed_only_on_request(
    kitchen: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fit", str(kitchen)]) == 0
    assert "what each rule costs" not in capsys.readouterr().out
    assert main(["fit", str(kitchen), "--costs"]) == 0
    assert "what each rule costs" in capsys.readouterr().out


def test_the_verdict_is_for_the_loop_type_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fit", str(SAMPLES / "good-aquifer"), "--json"]) == 0
    summary = json.loads(capsys.readouterr().out)
    assert (summary["system"], summary["drawn"]) == ("open", "open")
    assert list(summary["systems"]) == ["horizontal", "pond", "vertical", "open"]
