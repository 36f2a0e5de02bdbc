"""The second opinion on the layout already drawn, while something is dragged over the lot.

Only what moves is measured, among the few things that a check asks for by name or kind: the rest
lies where it lay when the layout was planned and checked. So it takes as long on a lot of
thousands of things as on one of ten.
"""

from __future__ import annotations

import pickle
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.checks.access import ground_taken
from siteplan.checks.check import NO_HEADER, check_layout, lies_told, of_layout_alone
from siteplan.checks.model import Separation
from siteplan.checks.pond_depth import gauge_of, water_around
from siteplan.checks.separations import HEADER, PARCEL, bodies, separations
from siteplan.checks.typed import with_all_broken
from siteplan.demand.model import Required
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Finding
from siteplan.findings.words import words_of
from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.centred import Centred
from siteplan.layout.elements import Coil, Element, Trench
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.rule_books.model import AT_MOST
from siteplan.rules.ruleset import RuleSet
from siteplan.sheet.tables.source_words import source_words
from siteplan.site.model import Feature, Site
from siteplan.units.lengths import format_pair
from siteplan.vocabulary.kinds import kinds
from siteplan.web.bank import at_bank, waters_of
from siteplan.web.drawn import shape_told
from siteplan.web.hand import called, is_laid
from siteplan.web.overlaps import overlaps_told
from siteplan.web.told import element_called, said, thing_called

Json = dict[str, Any]
Pairs = Sequence[Sequence[float]]
Moved = Mapping[str, Pairs]
"""Points that things have now, by their names [m]."""
POND: Final = "pond"
COMES_FROM: Final = ("street", "driveway", POND)
"""Kinds that the checks ask a lot for: where a machine comes from, whose water a coil lies in."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """A layout as it was planned, to be measured again on a lot where something moves.

    Parameters
    ----------
    site, rules
        The lot as it was planned.
    layout
        What was laid out; None where nothing was.
    required
        What it has to hold.
    broken, faults
        Distances and rules that were broken already: by places that were typed by hand.
    """

    site: Site
    rules: RuleSet
    layout: Layout | None
    required: Required | None
    broken: tuple[Separation, ...] = ()
    faults: tuple[Finding, ...] = ()
    _lying: list[shapely.STRtree] = field(default_factory=list, init=False, repr=False)
    _still: dict[frozenset[str], Still] = field(default_factory=dict, init=False, repr=False)

    @classmethod
    def packed(cls, site: Site, rules: RuleSet, trial: Trial) -> bytes:
        """The opinion on a loop type laid out, as a child process hands it on."""
        rows, layout = trial.separations, trial.layout
        if layout is not None and layout.by_hand:
            rows = with_all_broken(rows, site, layout, rules)
        broken = tuple(row for row in rows if not row.meets)
        faults = tuple(each for each in trial.findings if each.severity == "error")
        return pickle.dumps((site, rules, layout, trial.required, broken, faults))

    @classmethod
    def unpacked(cls, told: bytes) -> Opinion:
        """The opinion as the child process has packed it."""
        return cls(*pickle.loads(told))  # from our own child alone

    def of_moved(self, moved: Moved) -> Json:
        """What is broken where things have other points [m], and between which places."""
        layout = self.layout
        if layout is None:
            return {"broken": [], "places": [], "wrong": [], "overlaps": self._overlaps(moved)}
        if any(map(is_laid, moved)):
            return self._of_laid(layout, moved)
        still = self._at_rest(frozenset(moved))
        features = tuple(_moved(each, moved.get(each.id)) for each in still.asked)
        parcel = _area(moved[PARCEL]) if PARCEL in moved else self.site.parcel
        site = replace(self.site, features=features, parcel=parcel)
        # of what moves nothing is kept: it will lie elsewhere in a moment
        memory = Memory(still.memory)
        rows = separations(site, layout, self.rules, memory)
        needed_m = self.required.length_m if self.required is not None else 0.0
        findings = check_layout(site, layout, rows, needed_m, still.taken, memory)
        broken = (*(row for row in rows if not row.meets), *still.broken)
        near = {name for row in broken for name in _as_near(row, site, layout)}
        told = self._told(broken, (*findings, *still.faults), layout, near)
        return {**told, "overlaps": self._overlaps(moved)}

    def _of_laid(self, layout: Layout, moved: Moved) -> Json:
        """What is broken where elements lie elsewhere than laid out; their header will follow."""
        there = {
            each.id: self._dropped(each, moved[called(each)])
            for each in layout.elements
            if called(each) in moved
        }
        elements = tuple(_lying(each, there.get(each.id)) for each in layout.elements)
        bare = replace(
            layout, elements=elements, header=None, access=None, circuits=(), piping=None
        )
        alone = tuple(each for each in elements if each.id in there)
        rows = separations(self.site, replace(bare, elements=alone), self.rules, Memory())
        findings = check_layout(self.site, bare, rows, 0.0)
        stays = (row for row in self.broken if row.element not in there)
        found = (each for each in findings if each.code != NO_HEADER)
        broken = (*(row for row in rows if not row.meets), *stays)
        return {**self._told(broken, found, bare), "overlaps": []}

    def _dropped(self, element: Element, points: Pairs) -> Pairs:
        """Where an element comes to lie that is let go there: an outfall at its bank."""
        waters = waters_of(self.site)
        if not isinstance(element, Outfall) or not waters:
            return points
        ((x, y),) = _pairs(points)[:1]
        new = self.layout.new if self.layout is not None else ()
        return [at_bank((x, y), waters, [each.axis for each in new])[0]]

    def _told(
        self,
        broken: Sequence[Separation],
        findings: Iterable[Finding],
        layout: Layout,
        near: Collection[str] = (),
    ) -> Json:
        """What is too near, and whatever else is wrong, in words; between which places, and where.

        ``near``: elements too near besides those that the distances name. ``wrong``: lines and
        places of what is laid out and wrong; None where a fault is that of the whole layout.
        """
        told = [self._row(row) for row in broken]
        others = [
            each
            for each in findings
            if each.severity == "error" and each.code not in ("separation", "length")
        ]
        told += [{"what": said(each, self.site.unit), "source": ""} for each in others]
        places = [[list(row.element_point), list(row.feature_point)] for row in broken]
        names = {*near, *(row.element for row in broken)}
        lying = {each.id: each.axis for each in layout.elements}
        if layout.header is not None:
            lying[HEADER] = shapely.MultiLineString(list(layout.header.runs))
        whole = False
        for each in others:  # of two that are too near to one another both are meant
            meant = lying.keys() & {each.subject, str(each.values.get("other", ""))}
            names |= meant
            whole = whole or not meant
        wrong = [ring for name in sorted(names & lying.keys()) for ring in shape_told(lying[name])]
        return {"broken": told, "places": places, "wrong": None if whole else wrong}

    def _overlaps(self, moved: Moved) -> list[Json]:
        """What lies on what moves, and cannot."""
        features = self.site.features
        there = [_moved(each, moved[each.id]) for each in features if each.id in moved]
        if not self._lying:
            self._lying.append(shapely.STRtree([each.shape for each in features]))
        near = {at for one in there for at in self._lying[0].query(one.shape).tolist()}
        rest = [features[at] for at in sorted(near) if features[at].id not in moved]
        return overlaps_told([*there, *rest], self.site.unit, moved)

    def _at_rest(self, moved: frozenset[str]) -> Still:
        """What is known of everything that does not move: worked out once for a drag."""
        known = self._still.get(moved)
        if known is None:
            known = self._resting(moved)
            # of the drag before nothing is kept; two tabs may drag at once
            self._still.clear()
            self._still[moved] = known
        return known

    def _resting(self, moved: Collection[str]) -> Still:
        asked = self._asked_for(moved)
        names = {each.id for each in asked}
        others = [each for each in self.site.features if each.id not in names]
        away = {each.id for each in others}
        taken = None
        if self.layout is not None and self.layout.access is not None:
            taken = ground_taken(others)
        memory = Memory()
        if self.layout is not None:
            memory.of(bodies, self.layout)
            memory.of(of_layout_alone, self.layout)
        for pond in (each for each in asked if each.kind == POND and each.id not in moved):
            gauge = memory.of(gauge_of, pond)
            for coil in self.layout.of(Coil) if self.layout is not None else ():
                if coil.pond == pond.id:
                    memory.of(water_around, coil, gauge)
        return Still(
            asked, taken, memory,
            tuple(row for row in self.broken if row.feature in away),
            tuple(each for each in self.faults if each.values.get("feature") in away),
        )  # fmt: skip

    def _asked_for(self, moved: Collection[str]) -> tuple[Feature, ...]:
        """What moves, and what a check asks the lot for whatever moves."""
        around = {rule.unless_outside for rule in self.rules.rules if rule.unless_outside}
        features = self.site.features
        if any(each.id in moved and each.kind in around for each in features):
            return features  # what lies in it was perhaps let off a distance
        asked = around.union(COMES_FROM, (kind for kind, facts in kinds().items() if facts.lent))
        if any(rule.says == "rear yard only" for rule in self.rules.rules):
            asked.add("building")
        names = {*moved, *self._named()}
        return tuple(each for each in features if each.kind in asked or each.id in names)

    def _named(self) -> Iterator[str]:
        """Things by name of which the layout makes use."""
        for element in self.layout.elements if self.layout is not None else ():
            yield from (element.existing, element.water)
            if isinstance(element, Coil):
                yield element.pond
            if isinstance(element, Outfall):
                yield element.into

    def _row(self, row: Separation) -> Json:
        # what reaches into one another is no distance apart
        away_m = max(row.provided_m, 0.0)
        asked, there = format_pair(row.rule.distance_m, away_m, self.site.unit, 1)
        lies = f"is {there} from {thing_called(row)}"
        if row.provided_m < -TOLERANCE:
            lies = words_of(lies_told(row), self.site.unit)
        return {
            "what": f"{element_called(row)} {lies}; {asked} asked",
            "source": source_words(row.rule.book, row.rule.source, self.site.unit),
        }


@dataclass(frozen=True, slots=True)
class Still:
    """A lot while something moves on it.

    Parameters
    ----------
    asked
        Features that are measured each time, those that move among them.
    taken
        Ground of all others that no machine drives over; None where none is looked at.
    memory
        What is known of ponds that lie still.
    broken, faults
        What the others were too near to before.
    """

    asked: tuple[Feature, ...]
    taken: BaseGeometry | None
    memory: Memory
    broken: tuple[Separation, ...]
    faults: tuple[Finding, ...]


def _as_near(row: Separation, site: Site, layout: Layout) -> Iterator[str]:
    """Elements that are too near to a thing as well: a distance names the nearest alone."""
    shape = next((each.shape for each in site.features if each.id == row.feature), None)
    first = next((each for each in layout.elements if each.id == row.element), None)
    if shape is None or first is None or row.rule.says in AT_MOST:
        return
    # what lies between axis and edge is the same for elements of one kind
    more_m = float(shape.distance(first.axis)) - max(row.provided_m, 0.0)
    for each in layout.elements:
        if each.part == row.part and each.kind == first.kind:
            away_m = float(shape.distance(each.axis)) - more_m
            if away_m < row.rule.distance_m - TOLERANCE:
                yield each.id


def _lying(element: Element, points: Sequence[Sequence[float]] | None) -> Element:
    """An element where it is moved to."""
    if points is None:
        return element
    if isinstance(element, Trench):
        return replace(element, line=shapely.LineString(_pairs(points)))
    ((x, y),) = _pairs(points)[:1]
    return replace(element, x_m=x, y_m=y) if isinstance(element, Centred) else element


def _moved(feature: Feature, points: Sequence[Sequence[float]] | None) -> Feature:
    if points is None:
        return feature
    kind = feature.shape.geom_type
    if kind == "Point":
        return replace(feature, shape=shapely.Point(*_pairs(points)[0]))
    if kind == "LineString":
        return replace(feature, shape=shapely.LineString(_pairs(points)))
    return replace(feature, shape=_area(points))


def _area(points: Sequence[Sequence[float]]) -> Any:
    shape = shapely.Polygon(_pairs(points))
    return shape if shape.is_valid else shape.buffer(0)


def _pairs(points: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in points]
