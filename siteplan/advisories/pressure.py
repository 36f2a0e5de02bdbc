"""Pressure that pipe has to bear: the weight of its fluid, and the test of the loop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.advisories.bounds import USUAL_RATIO, Condition, test_pressure
from siteplan.findings.model import Finding, reason
from siteplan.hydraulics.pipes import borne_with_surge, pressure_class
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.pressures import PSI

WATER_PA_M: Final = 9806.65
"""Pressure of a metre of water [Pa/m]."""


def pressure_remarks(
    site: Site, layout: Layout, conditions: Sequence[Condition]
) -> Iterator[Finding]:
    """Warnings and errors on what the pipe of a closed loop has to bear before it is grouted."""
    if layout.loop.flow or not layout.elements:
        return
    energy, bores = site.exchanger.energy, layout.of(Bore)
    deepest = max(bores, key=lambda bore: bore.depth_m, default=None)
    ratio = energy.loop.dimension_ratio if energy is not None and deepest else USUAL_RATIO
    if deepest is not None and energy is not None:
        yield from _filled(deepest, ratio, site.specification.fill_pa)
    tested = test_pressure(site, conditions)
    if tested is not None:
        yield from _tested(tested, deepest, ratio)


def _filled(deepest: Bore, ratio: float, fill_pa: float) -> Iterator[Finding]:
    """Where the fluid's own weight is more than the pipe bears by itself."""
    pressure = WATER_PA_M * deepest.toe[2] + fill_pa
    borne = pressure_class(ratio)
    if pressure <= borne:
        return
    at_times = pressure <= borne_with_surge(ratio, "occasional")
    yield Finding(
        "pipe-pressure" if at_times else "pipe-pressure-too-high",
        subject=deepest.id,
        measured_m=deepest.toe[2],
        values={
            "pressure_psi": pressure / PSI,
            "pressure_kpa": pressure / 1000,
            "borne_psi": borne / PSI,
            "borne_kpa": borne / 1000,
            "ratio": ratio,
            "briefly": reason("pipe-pressure-briefly"),
        },
    )


def _tested(tested_pa: float, deepest: Bore | None, ratio: float) -> Iterator[Finding]:
    """Where the test asks more of the pipe at its lowest place than surges may, time and again."""
    deep = 0.0 if deepest is None else deepest.toe[2]
    pressure, borne = tested_pa + WATER_PA_M * deep, borne_with_surge(ratio, "recurring")
    if pressure <= borne * (1 + 1e-9):
        return
    below = None
    if deepest is not None:
        below = reason("test-at-the-toe", bore=deepest.id, deep_m=deep, pressure_pa=pressure)
    yield Finding(
        "test-pressure-too-high",
        values={
            "tested_pa": tested_pa,
            "below": below,
            "borne_pa": borne,
            "ratio": ratio,
            "most_pa": max(borne - WATER_PA_M * deep, 0.0),
        },
    )
