"""End to end: circuits, flow and take-off of the samples, in the report and in the files."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import re
from collections import Counter

import pytest
from places import SAMPLES
from planned import written_quickly

from siteplan.cli import main


def run(site, folder):
    """Report, summary and folder of a planned site."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), pytest.MonkeyPatch.context() as patch:
        written_quickly(patch)
        main(["plan", str(site), "--out", str(folder)])
    text = (folder / "summary.json").read_text(encoding="utf-8")
    return out.getvalue(), json.loads(text), folder


@pytest.fixture(scope="module")
def acre(tmp_path_factory):
    return run(SAMPLES / "rural-acre", tmp_path_factory.mktemp("acre") / "p")


@pytest.fixture
def planned(tmp_path):
    return lambda site: run(site, tmp_path / "p")


def test_the_report_has_a_line_of_circuits_and_a_line_of_flow(acre):
    out, summary, _ = acre
    lines = [line.strip() for line in out.splitlines()]
    count = len(summary["circuits"])
    assert any(line.startswith(f"{count} circuits of 3/4 in, ") for line in lines)
    flow = " ".join(lines).partition("12.0 gpm")[2]
    told = r"Reynolds number [\d,]+ at [\d.]+ °F with methanol 15 %, \d+ ft of head \(circuit "
    told += r"[\d.]+ ft, header [\d.]+ ft, fittings [\d.]+ ft, heat pump not stated\); purge with"
    assert re.search(told, flow)


def test_every_trench_is_in_a_circuit_as_often_as_it_has_loops(acre):
    _, summary, _ = acre
    found = Counter(name for one in summary["circuits"] for name in one["elements"])
    assert found == {one["id"]: one["pipes"] // 2 for one in summary["elements"]}
    assert sum(one["passes"] for one in summary["circuits"]) == 2 * len(summary["elements"])


def test_flow_is_conserved_along_the_header(acre):
    _, summary, _ = acre
    flow = summary["flow"]
    starts = {tuple(piece["from_m"]): 0.0 for piece in flow["pieces"]}
    assert starts
    entry = tuple(flow["pieces"][0]["from_m"])
    supply = [
        pipe["flow_l_s"]
        for piece in flow["pieces"]
        if tuple(piece["from_m"]) == entry
        for pipe in piece["pipes"]
        if pipe["role"] == "supply"
    ]
    pairs = [pipe for piece in flow["pieces"] for pipe in piece["pipes"] if pipe["role"] == "pair"]
    if not pairs:
        assert sum(supply) == pytest.approx(flow["total_l_s"], abs=1e-3)
    assert flow["circuit_l_s"] * len(summary["circuits"]) == pytest.approx(
        flow["total_l_s"], abs=1e-3
    )


def test_the_table_and_the_summary_say_the_same(acre):
    _, summary, folder = acre
    with (folder / "takeoff.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["item"], row["size"], float(row["quantity"]), row["unit"]) for row in rows] == [
        (one["item"], one["size"], one["quantity"], one["unit"]) for one in summary["take_off"]
    ]
    pipe = sum(float(row["quantity"]) for row in rows if row["item"] == "circuit pipe")
    assert pipe >= sum(one["length_m"] for one in summary["circuits"]) / 0.3048 - 0.01


def test_where_no_flow_is_stated_a_note_says_what_to_add(planned, tmp_path):
    text = (SAMPLES / "small-suburban" / "site.toml").read_text(encoding="utf-8")
    given = '\nlength = { given = "820 ft", by = "A. Body" }\n\n'
    site = tmp_path / "site.toml"
    site.write_text(text[: text.index("[loads]")].rstrip() + given, encoding="utf-8")
    out, summary, _ = planned(site)
    assert "give [circuits] flow or [exchanger] capacity" in " ".join(out.split())
    assert summary["flow"]["total_l_s"] is None
    assert all(row["item"] != "fluid" for row in summary["take_off"])


def test_wells_get_a_pipe_each_and_no_circuit(planned):
    _, summary, _ = planned(SAMPLES / "good-aquifer")
    assert summary["circuits"] == []
    (size,) = summary["flow"]["header_pipe_m"]
    assert size.endswith(" in")


def test_a_layout_of_the_header_asked_for_is_kept(planned, lot_text, write_site):
    tables = '\n[circuits]\nflow = "6 gpm"\n[header]\nlayout = "direct return"\n'
    out, summary, _ = planned(write_site(lot_text + tables))
    assert summary["flow"]["layout"] == "direct return"
    assert "; direct return" in out
