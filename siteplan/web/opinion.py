"""The second opinion on the layout already drawn, while something is dragged over the lot."""

from __future__ import annotations

import pickle
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely

from siteplan.checks.check import check_layout
from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.demand.model import Required
from siteplan.findings.words import words_of
from siteplan.geometry.memory import Memory
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import RuleSet
from siteplan.sheet.tables.source_words import source_words
from siteplan.site.model import Feature, Site
from siteplan.units.lengths import format_pair
from siteplan.web.told import element_called, thing_called

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Opinion:
    """A layout as it was planned, to be measured again on a lot where something moves."""

    site: Site
    rules: RuleSet
    layout: Layout | None
    required: Required | None

    @classmethod
    def packed(cls, told: bytes) -> Opinion:
        """The opinion as the child process has packed it."""
        return cls(*pickle.loads(told))  # from our own child alone

    def of_moved(self, moved: Mapping[str, Sequence[Sequence[float]]]) -> Json:
        """What is broken where things have other points [m], and on which elements."""
        if self.layout is None:
            return {"broken": [], "elements": []}
        features = tuple(_moved(each, moved.get(each.id)) for each in self.site.features)
        site = replace(self.site, features=features)
        rows = separations(site, self.layout, self.rules, Memory())
        needed = self.required.length_m if self.required is not None else 0.0
        findings = check_layout(site, self.layout, rows, needed)
        broken = [row for row in rows if not row.meets]
        told = [self._row(row) for row in broken]
        told += [
            {"what": words_of(each, site.unit), "source": ""}
            for each in findings
            if each.severity == "error" and each.code not in ("separation", "length")
        ]
        places = [[list(row.element_point), list(row.feature_point)] for row in broken]
        return {"broken": told, "places": places}

    def _row(self, row: Separation) -> Json:
        # what reaches into one another is no distance apart
        away_m = max(row.provided_m, 0.0)
        asked, there = format_pair(row.rule.distance_m, away_m, self.site.unit, 1)
        return {
            "what": f"{element_called(row)} is {there} from {thing_called(row)}; {asked} asked",
            "source": source_words(row.rule.book, row.rule.source, self.site.unit),
        }


def _moved(feature: Feature, points: Sequence[Sequence[float]] | None) -> Feature:
    if points is None:
        return feature
    pairs = [(float(x), float(y)) for x, y in points]
    kind = feature.shape.geom_type
    if kind == "Point":
        return replace(feature, shape=shapely.Point(pairs[0]))
    if kind == "LineString":
        return replace(feature, shape=shapely.LineString(pairs))
    shape = shapely.Polygon(pairs)
    return replace(feature, shape=shape if shape.is_valid else shape.buffer(0))
