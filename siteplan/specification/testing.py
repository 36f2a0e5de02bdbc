"""How the loop is pressure-tested: as books or the designer ask, else as a city's code has it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from siteplan.advisories.bounds import USUAL_RATIO, Condition, test_pressure
from siteplan.advisories.pressure import WATER_PA_M
from siteplan.findings.model import Reason, reason
from siteplan.hydraulics.pipes import borne_with_surge
from siteplan.layout.elements import Bore, Coil, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Site
from siteplan.units.pressures import PSI

ASSUMED_PA: Final = 100 * PSI
"""Test pressure where nobody asks one: City of Mission Hills (Kansas) code 5-130.1(E)(1) [Pa]."""
ASSUMED_MINUTES: Final = 60.0
"""How long it is held: the same [min]."""
STEP_PA: Final = PSI
"""Step in which a lowered test pressure is told [Pa]."""


def test_clause(site: Site, layout: Layout, conditions: Sequence[Condition]) -> Reason:
    """Pressure and time of the test, when it is made, and who says so."""
    pressure, by = _pressure(site, layout, conditions)
    if by.code == "spec-test-lowered" and pressure < site.specification.fill_pa:
        # less than the loop is filled to is no test
        return _unborne(site, layout, pressure)
    asked = [condition.bound for condition in conditions if condition.bound.of == "test pressure"]
    operating = max((bound.operating for bound in asked), default=0.0)
    return reason(
        "spec-test",
        pressure_pa=pressure,
        operating=reason("test-operating", times=operating) if operating else None,
        minutes=_minutes(site, conditions) or ASSUMED_MINUTES,
        when=reason(_when(layout), thing=layout.loop.short),
        by=by,
    )


def _minutes(site: Site, conditions: Sequence[Condition]) -> float | None:
    """The longest time that books or the designer ask; None where nobody does [min]."""
    bounds = (condition.bound for condition in conditions)
    asked = [bound.minutes for bound in bounds if bound.of == "test pressure"]
    return max((*asked, site.specification.test_minutes or 0.0)) or None


def _pressure(
    site: Site, layout: Layout, conditions: Sequence[Condition]
) -> tuple[float, Reason]:  # fmt: skip
    """Pressure of the test [Pa], and who says so."""
    tested = None if layout.loop.flow else test_pressure(site, conditions)
    sources = [
        f"{condition.book.authority}: {condition.bound.source}{condition.bound.standing.words}"
        for condition in conditions
        if condition.bound.of == "test pressure"
    ]
    if tested is not None and sources:
        return tested, reason("spec-test-asked", sources=tuple(dict.fromkeys(sources)))
    if tested is not None:
        known = _minutes(site, conditions)
        minutes = None if known else reason("spec-test-minutes-assumed")
        return tested, reason("spec-test-by-designer", minutes=minutes)
    return _assumed(site, layout)


def _assumed(site: Site, layout: Layout) -> tuple[float, Reason]:
    """The pressure that is assumed, no more than the pipe bears at the toe of the deepest bore."""
    energy = site.exchanger.energy
    deepest = max(layout.of(Bore), key=lambda bore: bore.toe[2], default=None)
    if deepest is None:
        return ASSUMED_PA, reason("spec-test-assumed")
    ratio = energy.loop.dimension_ratio if energy is not None else USUAL_RATIO
    most = borne_with_surge(ratio, "recurring") - WATER_PA_M * deepest.toe[2]
    if most >= ASSUMED_PA:
        return ASSUMED_PA, reason("spec-test-assumed")
    whole = max(most // STEP_PA, 0.0) * STEP_PA
    return whole, reason("spec-test-lowered", bore=deepest.id, deep_m=deepest.toe[2])


def _unborne(site: Site, layout: Layout, most_pa: float) -> Reason:
    """That the pipe bears no test at the toe of the deepest bore, with what it bears [Pa]."""
    deepest = max(layout.of(Bore), key=lambda bore: bore.toe[2])
    return reason(
        "spec-test-unborne",
        bore=deepest.id,
        deep_m=deepest.toe[2],
        most_pa=most_pa,
        fill_pa=site.specification.fill_pa,
    )


def _when(layout: Layout) -> str:
    """Code of when the test is made."""
    kinds = {
        Outfall: "spec-test-outfall",
        Bore: "spec-test-bores",
        Coil: "spec-test-coils",
        Well: "spec-test-wells",
    }
    return next((code for kind, code in kinds.items() if layout.of(kind)), "spec-test-trenches")
