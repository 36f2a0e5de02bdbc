"""What the rule books ask on every lot, as distances by kind: worked out once for a whole run.

The distances come from the very rules that a plan is made under, asked of a site with one thing of
each kind on it. For what a lot surely holds a distance is taken a little too far, for what it can
at most hold a little too near.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from siteplan.advisories.pipes import FREEZING
from siteplan.available.area import THIN_M, WALL_GAP_M
from siteplan.available.prepared import PreparedLot, lot_of, reach_of
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import LaidOut, required_of
from siteplan.findings.model import Reason
from siteplan.findings.words import words_of
from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.counting import elements_needed
from siteplan.layout.elements import Bore
from siteplan.rule_books.model import Part
from siteplan.rules.limits import limit_by, too_deep
from siteplan.rules.ruleset import RuleSet
from siteplan.screening.asked import Asked, sample_site
from siteplan.site.loop_options import is_placed, staked
from siteplan.site.model import Exchanger, Feature, Site, System
from siteplan.vocabulary.kinds import kinds as known_kinds
from siteplan.vocabulary.loop_types import made_of

TRENCHES: Final = made_of("trench").name
BORES: Final = made_of("bore").name
LOOPS: Final[dict[System, Part]] = {TRENCHES: "trench", BORES: "bore"}
"""Loop types that are screened, with the part that rules bind."""
SLOW_M3S: Final = 1e-7
"""Flow of a circuit in which any fluid runs smoothly: slower, its film resists no more [m3/s]."""
ALL_ROUND: Final = "building"
ALWAYS: Final = (ALL_ROUND, "potable well", "drainfield", "other keep-out")
"""Kinds that may be on a lot whatever files are given."""


@dataclass(frozen=True, slots=True)
class Distances:
    """How far the centre or centre line of a part keeps from things as they are drawn.

    Parameters
    ----------
    line_m
        From the property line [m].
    things_m
        By kind [m]; a kind that no rule speaks of is missing.
    line_rule, rules
        Rule that says so, as ``book/id``, for the property line and by kind.
    lenient_m
        By kind what surely holds, where a rule has a way out [m].
    """

    line_m: float
    things_m: dict[str, float]
    line_rule: str
    rules: dict[str, str]
    lenient_m: dict[str, float]


@dataclass(frozen=True, slots=True)
class Need:
    """What one loop type must hold.

    Parameters
    ----------
    least_m, most_m
        Length that is needed at the least, and that is surely enough [m].
    basis
        How it is known: ``"given"``, ``"calculated"``, ``"screening"``.
    stopped
        Why no lot can hold it whatever its ground; empty: nothing stops it.
    unsure
        Why nothing is said of any lot without a plan; empty: nothing stands in the way.
    """

    least_m: float
    most_m: float
    basis: str
    stopped: str = ""
    unsure: str = ""


@dataclass(frozen=True, slots=True)
class Terms:
    """What holds on every lot of a run.

    Parameters
    ----------
    asked
        What every lot is asked for, as it was told.
    exchanger
        What is wanted, within the limits of its rule books, with the staking allowance.
    parts
        Distances of bore, trench and header.
    needs
        What each loop type must hold; None: the tables do not say enough.
    particular
        Kinds beside which a rule is of a form that only a plan looks at, by part.
    approved
        Kinds near which an authority must approve, by part: a plan fits there, and says so.
    """

    asked: Asked
    exchanger: Exchanger
    parts: dict[Part, Distances]
    needs: dict[System, Need | None]
    particular: dict[Part, tuple[str, ...]]
    approved: dict[Part, tuple[str, ...]]


def terms_of(asked: Asked, kinds: tuple[str, ...]) -> Terms:
    """What holds on every lot on which things of these kinds may be.

    Raises
    ------
    InputError
        All faults of the tables.
    RuleError
        A rule book that does not exist or has faults.
    """
    site = sample_site(asked, kinds)
    # limits that hold near a thing are asked of each lot: here only what holds everywhere
    bare = lot_of(replace(site, features=site.of_kind(ALL_ROUND)))
    rules, exchanger = bare.rules, bare.site.exchanger
    parts: tuple[Part, ...] = ("bore", "trench", "header")
    return Terms(
        asked=asked,
        exchanger=staked(exchanger),
        parts={part: _distances(site, rules, part) for part in parts},
        needs={system: _need(bare, asked, system) for system in LOOPS},
        particular={part: _particular(site, rules, part) for part in parts},
        approved={
            part: tuple(each.kind for each in site.features if rules.approvals(part, each))
            for part in parts
        },
    )


def trench_rows(terms: Terms) -> RowRule:
    """Spacing and lengths of trenches."""
    options = terms.exchanger.horizontal
    return RowRule(options.spacing_m, options.shortest_m, options.longest_m or math.inf)


def _distances(site: Site, rules: RuleSet, part: Part) -> Distances:
    reach, more_m = reach_of(part, site.exchanger), site.exchanger.allowance_m
    things: dict[str, float] = {}
    lenient: dict[str, float] = {}
    names: dict[str, str] = {}
    for feature in site.features:
        keeping = rules.keeping_off(part, feature)
        asked = [rules.asked(rule, part, feature, reach) + more_m for rule in keeping]
        if keeping:
            at = asked.index(max(asked))
            things[feature.kind], names[feature.kind] = asked[at], _name(keeping[at])
        surely = rules.deciding(part, feature, reach)
        if surely is not None:
            lenient[feature.kind] = rules.asked(surely, part, feature, reach) + more_m
        if part == "header":
            _solid(feature, things, names)
    rule = rules.deciding(part, None, reach)
    line_m = 0.0 if rule is None else rules.asked(rule, part, None, reach) + more_m
    return Distances(line_m, things, "" if rule is None else _name(rule), names, lenient)


def _solid(feature: Feature, things: dict[str, float], names: dict[str, str]) -> None:
    """What a header keeps from what it never crosses, though no rule speaks of it."""
    if known_kinds()[feature.kind].crossing != "never":
        return
    least = WALL_GAP_M if feature.kind == ALL_ROUND else THIN_M
    if things.get(feature.kind, -1.0) < least:
        things[feature.kind], names[feature.kind] = least, "never crossed"


def _name(rule: object) -> str:
    return f"{getattr(rule, 'book')}/{getattr(rule, 'id')}"  # noqa: B009


def _particular(site: Site, rules: RuleSet, part: Part) -> tuple[str, ...]:
    """Kinds beside which a part may not go as deep as is asked for."""
    asked = rules.plant.depth_of(part)
    deepest_m = math.inf if asked is None else asked.high
    found = []
    for feature in site.features:
        limits = [limit_by(rule, feature) for rule in rules.depth_limits(part, feature)]
        if any(limit is not None and limit < deepest_m for limit in limits):
            found.append(feature.kind)
    return tuple(found)


def _need(lot: PreparedLot, asked: Asked, system: System) -> Need | None:
    """What a loop type must hold on any lot; None where the tables do not say.

    ``lot``: an ample one with a house.
    """
    site, rules = lot.site, lot.rules
    part, wanted = LOOPS[system], site.exchanger
    try:
        required = required_of(wanted, system)
    except DemandError as error:
        return Need(0.0, 0.0, "calculated", stopped=error.reason.code)
    if required is None:
        return None
    ban = rules.ban(part)
    stopped = _name(ban) if ban is not None else ""
    if not stopped and too_deep(site, rules, system) is not None:
        stopped = "too-deep-here"
    most_m = _surely_enough(wanted, system, required)
    unsure = _unsure(site, rules, system)
    if not stopped and _says_more(asked):
        stopped, doubt = _faults(lot, system)
        unsure = unsure or doubt
    return Need(required.length_m, most_m, required.basis, stopped, unsure)


def _says_more(asked: Asked) -> bool:
    """Whether the tables say more than a capacity, books and how far bores stand apart."""
    plain = {"exchanger": {"capacity"}, "rules": {"books"}, BORES: {"spacing"}}
    return any(set(table) - plain.get(name, set()) for name, table in asked.tables.items())


def _faults(lot: PreparedLot, system: System) -> tuple[str, str]:
    """What stops a loop type on an ample lot, and so on any; or why only a plan can tell."""
    # the engines are loaded where they are asked at all
    from siteplan.design.evaluate import try_system  # noqa: PLC0415

    trial = try_system(lot, system)
    if trial.fits:
        return "", ""
    if any(finding.code == FREEZING for finding in trial.findings):
        fault = trial.why.values.get("fault")
        return words_of(fault if isinstance(fault, Reason) else trial.why, lot.site.unit), ""
    return "", "not even on an ample lot: a plan says why"


def _unsure(site: Site, rules: RuleSet, system: System) -> str:
    wanted = site.exchanger
    if rules.rear_yard(LOOPS[system]) is not None:
        return "rear yard only"
    if is_placed(wanted, system):
        return "places typed"
    if system == BORES and (wanted.vertical.pad or wanted.vertical.as_typed):
        return "grid or pad typed"
    if system == BORES and wanted.vertical.count is not None:
        return "number of bores typed"
    return "kind of trench left open" if system == TRENCHES and wanted.horizontal.choices else ""


def _surely_enough(wanted: Exchanger, system: System, required: Required) -> float:
    """Length that is enough however it is laid out; the length itself if given.

    Of trenches that with the fluid as slow as in very many circuits, where its film resists most;
    of bores that of the densest block.
    """
    if required.basis != "calculated":
        return required.length_m
    length, options = required.length_m, staked(wanted).vertical
    if system != BORES:
        return max(length, _needed(wanted, system, LaidOut(circuit_flow_m3s=SLOW_M3S)))
    for _ in range(12):
        count = elements_needed(length, options.depth_most_m)
        block = _block(count, options.spacing_m, length / count, options.diameter_m)
        needed = _needed(wanted, system, LaidOut(bores=block))
        if needed <= length:
            return length
        length = needed
    return math.inf


def _needed(wanted: Exchanger, system: System, laid: LaidOut) -> float:
    """Length required of what is laid out; infinite where none is enough [m]."""
    try:
        required = required_of(wanted, system, laid=laid)
    except DemandError:
        return math.inf
    return math.inf if required is None else required.length_m


def _block(count: int, spacing: float, depth: float, diameter: float) -> tuple[Bore, ...]:
    """So many bores in a square block."""
    side = math.ceil(math.sqrt(count))
    return tuple(
        Bore(f"B{k}", spacing * (k % side), spacing * (k // side), diameter, depth)
        for k in range(count)
    )
