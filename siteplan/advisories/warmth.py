"""What books bind of temperatures: of the fluid, and of the ground at the property line."""

from __future__ import annotations

from siteplan.demand.at_the_line import change_at_line
from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import design_balances
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Bound
from siteplan.site.model import Site

Answer = tuple[Reason, bool | None]
"""What the plan has, and whether the book is satisfied; None: its authority has to say."""


def fluid_temperatures(site: Site, layout: Layout | None, bound: Bound) -> Answer | None:
    """Coldest and warmest of the fluid at the design hours; None where no heat is known."""
    piping = layout.piping if layout is not None else None
    flow = piping.hydraulics if piping is not None else None
    balances = flow.balances if flow is not None else design_balances(site.exchanger)
    if not balances or bound.temperatures is None:
        return None
    ends = [end for balance in balances for end in (balance.entering_c, balance.leaving_c)]
    kept = all(bound.temperatures.holds(end) for end in ends)
    return reason("fluid-between", low_c=min(ends), high_c=max(ends)), kept


def heat_at_the_line(site: Site, layout: Layout | None) -> Answer:
    """Greatest change of the ground at the property line, as far as it can be calculated."""
    energy = site.exchanger.energy
    bores = () if layout is None else layout.of(Bore)
    if energy is None or layout is None or not bores or layout.leans:
        return reason("line-not-calculated"), None
    change = change_at_line(energy, bores, site.parcel.exterior)
    code = "line-colder" if change < 0 else "line-warmer"
    return reason(code, change_k=abs(change), years=energy.years), None
