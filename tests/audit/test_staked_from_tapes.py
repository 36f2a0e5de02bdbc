"""Every sample staked from the tapes printed on its sheet, as a crew does, and judged as built."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from as_built_lists import text_of
from audit_lots import plan_of
from together import SAMPLE_NAMES

from siteplan.audit.as_built import as_built
from siteplan.audit.measured import read_measured
from siteplan.sheet.content.ties import crosses_well, tie_targets
from siteplan.sheet.tables.elements import tapes

NOISE_FT = 0.1
"""How far a tape is read or held off, common practice, no source [ft]."""
SHARE = 0.2
"""Of the staking allowance, where that is less: then a surveyor stakes."""


def crossing(first, other, tapes_m, near):
    """Where two taped arcs cross, on the side where the stake is planned."""
    (ax, ay), (bx, by) = first, other
    apart = math.dist(first, other)
    along = (tapes_m[0] ** 2 - tapes_m[1] ** 2 + apart**2) / (2 * apart)
    aside = math.sqrt(max(tapes_m[0] ** 2 - along**2, 0.0))
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    spots = [(ax + along * ux - s * aside * uy, ay + along * uy + s * aside * ux) for s in (-1, 1)]
    return min(spots, key=lambda spot: math.dist(spot, near))


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_a_sample_staked_from_its_printed_tapes_keeps_every_rule(tmp_path, name) -> None:
    site, plan, _ = plan_of(name)
    layout, ties = plan.drawn.layout, plan.content().tie_points
    rng = np.random.default_rng(1)
    foot = site.unit.metres
    noise_m = min(NOISE_FT * 0.3048, SHARE * site.exchanger.allowance_m)
    rows, off = [], []
    for element in layout.elements:
        deep = getattr(element, "depth_m", 0.0) / foot if not layout.loop.lines else 0.0
        for at in tie_targets(element):
            printed = [float(text.strip("*' m")) for text in tapes(at, ties, site.unit)]
            pairs = [p for p in combinations(range(len(ties)), 2)
                     if crosses_well(ties[p[0]], ties[p[1]], at)]  # fmt: skip
            spot = at  # where no two tapes cross well the sheet says: by coordinates
            if pairs:
                first, other = pairs[0]
                read = [printed[k] * foot + rng.uniform(-noise_m, noise_m) for k in (first, other)]
                spot = crossing(ties[first].at, ties[other].at, read, at)
                off.append(math.dist(spot, at))
            rows.append([element.id, spot[0] / foot, spot[1] / foot, deep])
    path = tmp_path / "as-built.csv"
    path.write_text(text_of(rows), encoding="utf-8")
    built = as_built(path.name, site, layout, read_measured(path, site, ties), ties)
    # a lot that is too small for what it needs was so before it was staked
    known = {finding.code for finding in plan.drawn.findings if finding.severity == "error"}
    assert {f.code for f in built.audit.findings if f.severity == "error"} <= known - {"separation"}
    if off:  # the tapes were noisy: the stakes do stand off their places
        assert max(off) > 0.2 * noise_m > 0
