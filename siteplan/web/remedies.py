"""Remedies as changes of the site file that a click tries, and why some are nothing to click."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from siteplan.alternatives.backup_heat import CARRIED
from siteplan.alternatives.smaller_machine import SMALL_BOOM_M
from siteplan.alternatives.stating import BELOW
from siteplan.findings.model import Reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.site.model import Site, System
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.lengths import FLOWS
from siteplan.vocabulary.loop_types import made_of

Json = dict[str, Any]
Changes = list[Json]
TRENCHES: Final = made_of("trench").name
BORES: Final = made_of("bore").name
DAILY: Final = "gpd"

OWN_DECISION: Final = (
    "Owner and designer have to decide that, and write it as a rule of their own with who says so; "
    "a click decides nothing."
)
WAY_IN: Final = "Draw the driveway, gate or culvert by which the machine comes in."
BY_HAND: Final = {
    "below-common-practice": OWN_DECISION,
    "several-below-common-practice": OWN_DECISION,
    "by-variance": "The authority has to agree first; then its number is left out and what it "
    "agreed to is written as a rule of your own.",
    "way-for-machine": WAY_IN,
    "way-in-besides": WAY_IN,
    "backup-heat-scaled": "Whoever gave the length has to calculate it again for the smaller load.",
}
"""Changes that are no value of the site file to try, and what has to happen instead."""


OWN_RULES: Final = ("below-common-practice", "several-below-common-practice", "by-variance")
"""Changes that are written as rules of one's own once they are decided."""


def by_hand(change: Reason) -> str:
    """Why a remedy is not tried by a click; empty where it is."""
    if change.code == "both-changes":
        return next(filter(None, (by_hand(part) for part in _both(change))), "")
    return BY_HAND.get(change.code, "")


def by_own_rule(change: Reason) -> bool:
    """Whether what a person has to do first ends as a rule of their own."""
    if change.code == "both-changes":
        return any(by_own_rule(part) for part in _both(change))
    return change.code in OWN_RULES


def changes_of(system: System, change: Reason, site: Site) -> Changes:
    """Changes of the site file that try a remedy; none where a person must act."""
    if change.code == "both-changes":
        found = [changes_of(system, part, site) for part in _both(change)]
        return [op for ops in found for op in ops] if all(found) else []
    does = CHANGES.get(change.code)
    return [] if does is None else does(system, change, site)


def _both(change: Reason) -> list[Reason]:
    parts = (change.values["first"], change.values["second"])
    return [part for part in parts if isinstance(part, Reason)]


def _set(path: list[str], value: Any) -> Json:
    return {"op": "set", "path": path, "value": value}


def _size(metres: Any, site: Site) -> str:
    return f"{round(float(metres) / site.unit.metres, 2):g} {site.unit.name}"


# --- sizes


def _nearer(system: System, change: Reason, site: Site) -> Changes:
    return [_set([system, "spacing"], _size(change.values["spacing_m"], site))]


def _by_plan(system: System, _: Reason, site: Site) -> Changes:
    if system == BORES and not site.exchanger.vertical.places:
        return [_set([BORES, "grid", key], None) for key in ("corner", "along")]
    return [_set([system, "runs" if system == TRENCHES else "places"], None)]


def _deeper_bores(_: System, change: Reason, site: Site) -> Changes:
    ops = [_set([BORES, "depth", "most"], _size(change.values["depth_m"], site))]
    pipe = change.values.get("pipe")
    if isinstance(pipe, Reason):
        ops.append(_set(["loop", "pipe"], pipe.values["pipe"]))
    return ops


def _deeper_trenches(_: System, change: Reason, site: Site) -> Changes:
    return [_set([TRENCHES, "depth"], _size(change.values["depth_m"], site))]


def _denser(_: System, change: Reason, site: Site) -> Changes:
    kind, now_m = trench_kinds()[str(change.values["kind"])], site.exchanger.horizontal.depth_m
    ops = [_set([TRENCHES, key], None) for key in ("pipes", "width", "depth")]
    # where pipe lay deeper than the kind's own depth it was tried as deep
    if now_m > kind.depth_m + TOLERANCE:
        ops[-1] = _set([TRENCHES, "depth"], _size(now_m, site))
    return [*ops, _set([TRENCHES, "kind"], kind.name)]


def _leaning(_: System, change: Reason, __: Site) -> Changes:
    return [_set([BORES, "pad", "tilt"], f"{change.values['tilt_deg']} deg")]


# --- machines, fluid, heat


def _smaller(_: System, change: Reason, site: Site) -> Changes:
    told, turns = change.values, change.values["turns"]
    machine = str(told["machine"])
    turning_m = turns.values.get("turning_m", 0.0) if isinstance(turns, Reason) else 0.0
    sizes = {"width": told["width_m"], "length": told["length_m"], "turning": turning_m}
    digger = site.exchanger.excavator
    if machine == "excavator" and digger is not None and digger.boom_m > SMALL_BOOM_M:
        sizes["boom"] = SMALL_BOOM_M
    return [_set([machine, key], _size(value, site)) for key, value in sizes.items()]


def _stronger(_: System, change: Reason, __: Site) -> Changes:
    return [_set(["fluid", "mixture"], change.values["mixture"])]


def _backup_of_loads(_: System, __: Reason, ___: Site) -> Changes:
    hours = {"op": "scale", "path": ["loads", "heating_hours"], "by": 1 / CARRIED}
    return [{"op": "scale", "path": ["loads", "heating"], "by": CARRIED}, hours]


def _backup_of_capacity(_: System, __: Reason, ___: Site) -> Changes:
    return [{"op": "scale", "path": ["exchanger", "capacity"], "by": CARRIED}]


def _other_heat(_: System, change: Reason, __: Site) -> Changes:
    return [_set(["loads", str(change.values["use"]).replace(" ", "_")], None)]


# --- statements


def _flow(_: System, change: Reason, site: Site) -> Changes:
    told = change.values
    # what a drainfield takes is told by the day
    word = DAILY if told["key"] == "daily_flow" else site.unit.flow.label
    below = BELOW * float(str(told["below_m3s"])) / FLOWS[word.lower()]
    return [
        {"op": "say", "id": told["feature"], "key": told["key"], "value": f"{below:.4g} {word}"}
    ]


def _flows(system: System, change: Reason, site: Site) -> Changes:
    flows = change.values["flows"]
    each = [one for one in flows if isinstance(one, Reason)] if isinstance(flows, tuple) else []
    return [op for one in each for op in _flow(system, one, site)]


def _another_entry(_: System, __: Reason, ___: Site) -> Changes:
    return [{"op": "any wall"}]


CHANGES: Final[dict[str, Callable[[System, Reason, Site], Changes]]] = {
    "laid-out-by-plan": _by_plan,
    "nearer-together": _nearer,
    "deeper-bores": _deeper_bores,
    "deeper-trenches": _deeper_trenches,
    "denser-trench": _denser,
    "denser-trench-calculated": _denser,
    "leaning-bores": _leaning,
    "smaller-machine": _smaller,
    "stronger-mixture": _stronger,
    "backup-heat": _backup_of_loads,
    "backup-heat-screened": _backup_of_capacity,
    "use-by-other-heat": _other_heat,
    "state-a-flow": _flow,
    "flows-stated": _flows,
    "another-entry": _another_entry,
}
