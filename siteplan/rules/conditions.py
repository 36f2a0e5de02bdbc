"""Whether a rule binds a feature: what is not stated counts as holding."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.hydraulics.fluids import antifreeze_of
from siteplan.rule_books.model import Part
from siteplan.rule_books.when import Condition, Range
from siteplan.site.model import Feature, Site

WORDS = ("pipe", "owner", "lies")
"""What a feature says in a word and on which the class of a rule turns."""


@dataclass(frozen=True, slots=True)
class Plant:
    """What rules ask of the exchanger itself.

    Parameters
    ----------
    loop_flow_m3s
        Flow of the open loop, None where not stated [m3/s].
    antifreeze
        What the loop is filled with, ``"water"`` or an antifreeze; empty: not stated.
    power_w
        Capacity of the heat pump, None where not stated [W].
    depths
        Range of the depth of each part [m]; what is missing is not known.
    """

    loop_flow_m3s: float | None = None
    antifreeze: str = ""
    power_w: float | None = None
    depths: tuple[tuple[Part, Range], ...] = ()

    def meets(self, condition: Condition, part: Part | None = None) -> bool:
        """Whether a condition holds for the exchanger, or might."""
        depth = self.depth_of(part)
        return (
            (not self.antifreeze or self.has_fluid(condition))
            and _falls(condition.loop_flow, self.loop_flow_m3s)
            and _falls(condition.power, self.power_w)
            and (condition.depth is None or depth is None or condition.depth.meets(depth))
        )

    def depth_of(self, part: Part | None) -> Range | None:
        """Range of the depth of a part [m]; None where it is not known."""
        return dict(self.depths).get(part) if part is not None else None

    def has_fluid(self, condition: Condition) -> bool:
        """Whether its fluid is one with which a condition holds."""
        named = not condition.fluid or self.antifreeze in condition.fluid
        return named and self.antifreeze not in condition.other_fluid


def plant_of(site: Site) -> Plant:
    """What a site file states of its exchanger."""
    wanted = site.exchanger
    fluid, vertical = wanted.piping.fluid, wanted.vertical
    mixture = "" if fluid is None or "fluid.mixture" in wanted.unsaid else fluid.mixture
    trench, well, header = wanted.horizontal.depth_m, wanted.open.depth_m, wanted.piping.header
    return Plant(
        wanted.open.flow_m3s,
        antifreeze_of(mixture) if mixture else "",
        wanted.capacity_w,
        (
            ("bore", Range(vertical.depth_least_m, vertical.depth_most_m)),
            ("trench", Range(trench, trench)),
            ("supply well", Range(well, well)),
            ("return well", Range(well, well)),
            ("header", Range(header.depth_m, header.depth_m)),
        ),
    )


def _falls(wanted: Range | None, value: float | None) -> bool:
    return wanted is None or value is None or wanted.holds(value)


def binds(
    condition: Condition, feature: Feature, plant: Plant = Plant(), part: Part | None = None
) -> bool:
    """Whether a condition holds for a feature, or might: what is not stated counts as holding.

    Only an unstated voltage does not, because the safety rules have a row for it.
    """
    if not uses_meet(condition.use, feature.use) or not plant.meets(condition, part):
        return False
    said = [(getattr(condition, key), getattr(feature, key)) for key in WORDS]
    if any(wanted and stated and wanted != stated for wanted, stated in said):
        return False
    if condition.voltage_unknown:
        return feature.voltage_v is None
    if condition.voltage is not None and feature.voltage_v is None:
        return False
    stated = (
        (condition.pump_rate, feature.pump_rate_m3s),
        (condition.daily_flow, feature.daily_flow_m3s),
        (condition.voltage, feature.voltage_v),
    )
    return all(_falls(wanted, value) for wanted, value in stated)


def certain(condition: Condition, feature: Feature, plant: Plant = Plant()) -> bool:
    """Whether a condition holds by what the feature states, not only because it might."""
    wanted = condition.use.split()
    said = feature.use.split()[: len(wanted)] == wanted and not unstated(condition, feature)
    open_ = (condition.fluid or condition.other_fluid) and not plant.antifreeze
    return said and not open_


def unstated(condition: Condition, feature: Feature) -> tuple[str, ...]:
    """Keys that a feature does not state and on which the class of a rule turns."""
    turns_on = {
        "pump_rate": (condition.pump_rate, feature.pump_rate_m3s),
        "daily_flow": (condition.daily_flow, feature.daily_flow_m3s),
    }
    words = {key: getattr(condition, key) for key in WORDS}
    return (
        *(key for key, (wanted, value) in turns_on.items() if wanted and value is None),
        *(key for key, wanted in words.items() if wanted and not getattr(feature, key)),
    )


def uses_meet(first: str, second: str) -> bool:
    """Whether two uses can mean the same thing: one begins with the words of the other.

    Examples
    --------
    >>> uses_meet("public", "public municipal"), uses_meet("private", "public")
    (True, False)
    >>> uses_meet("", "private"), uses_meet("public municipal", "public community")
    (True, False)
    """
    words_here, other = first.split(), second.split()
    shared = min(len(words_here), len(other))
    return words_here[:shared] == other[:shared]
