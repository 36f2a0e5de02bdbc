"""What features are called on the plan, each apart from the others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from siteplan.site.model import Feature
from siteplan.vocabulary.kinds import kind_called, kinds


def told_apart(features: Sequence[Feature]) -> list[Feature]:
    """Features, of which those that would bear one name have their id in it.

    So have those of one kind that are labelled by no more than the word they were called by, where
    their id says another: it is what tables and notes name them by.

    Examples
    --------
    >>> from shapely import Point
    >>> lines = [Feature(name, "gas line", Point(0, 0)) for name in ("gas 1", "g2")]
    >>> [one.label for one in told_apart(lines)]
    ['gas 1', 'GAS g2']
    >>> halls = [Feature(name, "building", Point(0, 0), "house") for name in ("house 1", "annex")]
    >>> [one.label for one in told_apart([halls[1]])]
    ['house']
    >>> garage = Feature("garage", "building", Point(0, 0), "garage")
    >>> [one.label for one in told_apart([halls[1], garage])]
    ['house annex', 'garage']
    >>> roads = [Feature(name, "street", Point(0, 0), "road") for name in ("county road", "elm")]
    >>> [one.label for one in told_apart(roads)]
    ['county road', 'road elm']
    """
    names = Counter((feature.kind, (feature.label or "").casefold()) for feature in features)
    several = Counter(feature.kind for feature in features)

    def named(feature: Feature) -> Feature:
        name = (feature.label or "").casefold()
        by_word = name in kinds()[feature.kind].also and name not in feature.id.casefold()
        if names[feature.kind, name] > 1 or (several[feature.kind] > 1 and by_word):
            return replace(feature, label=_with_id(feature))
        return feature

    return [named(feature) for feature in features]


def plain_name(feature: Feature) -> str:
    """Label of a feature, else that of its kind."""
    return feature.label or kinds()[feature.kind].label


def _with_id(feature: Feature) -> str:
    """Name and id; the id alone where it says what the feature is, as a road's name does."""
    name, words = plain_name(feature), feature.id.casefold().split() or [""]
    says = name.casefold() in feature.id.casefold() or kind_called(words[-1]) == feature.kind
    return feature.id if says else f"{name} {feature.id}"
