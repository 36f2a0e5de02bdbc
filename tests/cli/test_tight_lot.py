"""The commands on a lot that holds nothing: what is short, what rules cost, what would help."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from places import SAMPLES
from planned import planned_once

from siteplan.cli import main

pytestmark = pytest.mark.usefixtures("coarse")

TIGHT = str(SAMPLES / "tight-lot")


@pytest.fixture(autouse=True)
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The commands take over the plan of the lot that another test has had planned."""
    monkeypatch.setattr("siteplan.plan.plan_site", planned_once)


def test_a_lot_that_holds_nothing_says_what_is_short(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", TIGHT, "--out", str(tmp_path / "p")]) == 1
    out = capsys.readouterr().out
    assert "DOES NOT FIT" in out
    assert "ft short" in out
    assert (tmp_path / "p" / "plan.png").exists()


def test_fit_compares_all_four_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["fit", TIGHT, "--json"]) == 1
    assert set(json.loads(capsys.readouterr().out)["systems"]) == {
        "horizontal",
        "vertical",
        "pond",
        "open",
    }
    assert list(tmp_path.iterdir()) == []


def test_fit_ranks_what_each_rule_costs_and_what_would_help(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["fit", TIGHT]) == 1
    out = capsys.readouterr().out
    assert "what each rule costs, bore" in out
    assert "What would make it fit:" in out
    assert "2 bores 364.0 ft deep instead of the 300.0 ft limit, U-bends of 1-1/4 in pipe" in out
