"""Two people's changes of one file since one state: put together, or left to people."""

from __future__ import annotations

import random

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from test_edit_server import LOT

from siteplan.web.merge import put_together

NAME = "site.toml"
MOVED = LOT.replace("at = [15, 20]", "at = [18, 25]")
RENAMED = LOT.replace("A. Owner", "B. Owner")
BOTH = MOVED.replace("A. Owner", "B. Owner")


def states(*texts):
    return [{NAME: text} for text in texts]


@pytest.mark.parametrize(
    ("known", "theirs", "both"),
    [
        # who wrote it had the newest state before him: his is the newest
        ((LOT, MOVED), BOTH, BOTH),
        # he had an older one, and touched another table
        ((LOT, MOVED), RENAMED, BOTH),
        # he touched the same table
        ((LOT, MOVED), LOT.replace("[15, 20]", "[1, 2]"), None),
        # he put an old state back
        ((LOT, MOVED), LOT, None),
        # he is not through with writing
        ((LOT, MOVED), MOVED[:-20], None),
    ],
    ids=["newest", "another table", "same table", "put back", "half written"],
)
def test_what_somebody_else_wrote_is_put_together_where_the_tables_part(known, theirs, both):
    found = put_together(states(*known), {NAME: known[-1]}, {NAME: theirs})
    assert (found and found[NAME]) == both


def test_of_two_people_who_change_lines_of_their_own_nothing_is_lost():
    # by chance: each changes values in tables of his own, and finds all of them in the outcome
    rng = random.Random(3)
    for _ in range(100):
        base = "".join(f"[t{n}]\nx = {n}\ny = {n}\n" for n in range(8))
        tables = rng.sample(range(8), 4)
        mine, theirs = base, base
        for n in tables[:2]:
            mine = mine.replace(f"[t{n}]\nx = {n}", f"[t{n}]\nx = 100")
        for n in tables[2:]:
            theirs = theirs.replace(f"y = {n}\n", f"y = 200\nz = {n}\n")
        found = put_together(states(base, mine), {NAME: mine}, {NAME: theirs})
        assert found is not None
        assert found[NAME].count("x = 100") == 2
        assert found[NAME].count("y = 200") == 2
