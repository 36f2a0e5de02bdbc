"""How many cases a random test looks at: a few in a run of the tests, many by hand."""

from __future__ import annotations

import os
from typing import Any

import pytest

MANY = "SITEPLAN_MANY"
"""Set in the surroundings by ``tests/benchmarks/campaigns.py``."""


def several(few: int, many: int) -> int:
    """Number of cases: few, or many where a campaign is run by hand."""
    return many if os.environ.get(MANY) else few


def thorough(case: object) -> Any:
    """A case that is looked at where the thorough tests are run, and not otherwise."""
    return pytest.param(case, marks=pytest.mark.thorough)
