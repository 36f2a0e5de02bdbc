"""A lot with all that is prepared for it once, handed on from stage to stage."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from shapely.geometry.base import BaseGeometry

from siteplan.available.access import MachineGround, machine_ground
from siteplan.available.area import AvailableArea, area_below, available_area, header_area
from siteplan.geometry.memory import Memory
from siteplan.pond_year import with_pond_year
from siteplan.rule_books.model import Part
from siteplan.rules.limits import within_limits
from siteplan.rules.ruleset import RuleSet, rules_of
from siteplan.site.loop_options import options_of
from siteplan.site.model import Exchanger, Feature, Site, System
from siteplan.vocabulary.loop_types import that_binds


@dataclass(frozen=True, slots=True)
class PreparedLot:
    """A site and its rules, with what was worked out for them.

    What is asked of it is worked out on first use. A lot that was changed shares what it knows:
    another rule or another machine changes little.

    Parameters
    ----------
    site
        The lot, as read.
    rules
        What holds on it.
    memory
        What is known already: keep-outs, where machines get to, what engines found.
    draft
        Whether fields are only compared with one another on it: then no ground is spared.
    drafted_m
        Trench that was needed as it was laid out in comparing kinds of trench; 0: not known [m].
    """

    site: Site
    rules: RuleSet
    memory: Memory = field(default_factory=Memory, compare=False, repr=False)
    draft: bool = False
    drafted_m: float = 0.0

    def with_rules(self, rules: RuleSet) -> PreparedLot:
        """The same lot under other rules."""
        return replace(self, rules=rules)

    def with_exchanger(self, exchanger: Exchanger) -> PreparedLot:
        """The same lot and rules where something else is wanted."""
        return replace(self, site=replace(self.site, exchanger=exchanger), drafted_m=0.0)

    def asked_for(self, exchanger: Exchanger) -> PreparedLot:
        """The same lot and rules where something else is asked for, in sizes that rules leave."""
        site = within_limits(replace(self.site, exchanger=exchanger), self.rules)
        return replace(self, site=site, drafted_m=0.0)

    def area(self, part: Part, *, reach_m: float) -> AvailableArea:
        """Where a part may lie that reaches so far around its centre or centre line [m]."""
        return available_area(self.site, self.rules, part, reach_m=reach_m, memory=self.memory)

    def area_below(self, *, reach_m: float) -> BaseGeometry:
        """Where an inclined bore of such a radius [m] may pass, seen from above."""
        return area_below(self.site, self.rules, reach_m=reach_m, memory=self.memory)

    def header_area(self, through: tuple[Feature, ...] = ()) -> BaseGeometry:
        """Where the header may run, which enters the features told all the same."""
        return header_area(self.site, self.rules, through=through, memory=self.memory)

    def machine_ground(self, system: System) -> MachineGround | None:
        """Ground that the machine of a loop type gets to; None where that is not known."""
        return machine_ground(self.site, system, self.memory)


def lot_of(site: Site, *, earlier: Memory | None = None) -> PreparedLot:
    """The lot under its own rules; what an earlier memory knows is taken over.

    Raises
    ------
    RuleError
        A rule book that does not exist or has faults.
    """
    memory = Memory(earlier)
    site = with_pond_year(site, memory)
    rules = rules_of(site)
    return PreparedLot(within_limits(site, rules), rules, memory)


def reach_of(part: Part, wanted: Exchanger) -> float:
    """How far a part of an exchanger reaches around its centre or centre line [m]."""
    loop = that_binds(part)
    options = options_of(wanted, loop.name) if loop is not None else None
    return options.reach_m if options is not None else 0.0
