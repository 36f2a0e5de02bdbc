"""Reasons in words: units, rounding, clauses that come and go."""

from __future__ import annotations

import pytest

from siteplan.findings.model import Finding, reason
from siteplan.findings.words import words_of
from siteplan.units.systems import METRIC, US

FOOT = 0.3048


def test_the_same_reason_is_told_in_feet_and_in_metres() -> None:
    deep = reason("bores-too-deep", bores=2, share_m=100.0, most_m=90.0)
    # 100 m are 328.08 ft, rounded up; 90 m are 295.28 ft
    assert words_of(deep, US).startswith("2 bores would have to be 328.1 ft deep each")
    assert words_of(deep, US).endswith("the limit is 295.3 ft")
    assert words_of(deep, METRIC).startswith("2 bores would have to be 100 m deep each")


def test_a_distance_provided_is_rounded_down_and_one_required_up() -> None:
    short = Finding(
        "length", measured_m=99.99 * FOOT, required_m=100.01 * FOOT, values={"short_m": 0.02 * FOOT}
    )
    assert words_of(short, US) == "Required 101 ft, provided 99 ft: 1 ft short."


def test_one_of_a_thing_is_told_in_the_singular() -> None:
    room = {"spacing_m": 20 * FOOT}
    assert "room for 1 bore at" in words_of(reason("room-for-bores", held=1, **room), US)
    assert "room for 2 bores at" in words_of(reason("room-for-bores", held=2, **room), US)


def test_a_clause_is_left_out_where_there_is_none() -> None:
    room = reason("room-for-bores", held=3, spacing_m=20 * FOOT)
    assert words_of(room, US).endswith("no arrangement holds more")
    bound = reason(
        "room-for-bores", held=3, spacing_m=20 * FOOT, bound=reason("than-bound", most=5)
    )
    assert words_of(bound, US).endswith("no arrangement holds more than 5")


def test_a_sentence_without_a_value_it_needs_is_refused() -> None:
    with pytest.raises(KeyError, match="wells-fit: no value for"):
        words_of(reason("wells-fit"), US)


def test_a_code_that_is_not_in_the_catalogue_is_refused() -> None:
    with pytest.raises(KeyError, match="no-such-code"):
        reason("no-such-code")


def test_a_phrase_has_no_severity() -> None:
    with pytest.raises(KeyError, match="phrase"):
        _ = Finding("no-pond").severity


def test_series_end_with_their_word() -> None:
    stopped = reason(
        "machine-cannot-pass",
        machine="rig",
        things=("house", "garage", "well-1"),
        size=reason("machine-size", width_m=8 * FOOT, length_m=25 * FOOT),
    )
    assert words_of(stopped, US) == (
        "a rig 8 ft wide and 25 ft long cannot pass between house, garage and well-1"
    )
