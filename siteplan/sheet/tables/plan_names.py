"""What findings speak of, by the names that stand on the plan: ids are for the site file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, cast

from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.sheet.plan_view.feature_names import told_apart
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

SPOKEN_OF: Final = frozenset({"subject", "feature", "line", "pond", "water", "building"})
"""Values of findings that are the id of a feature where there is one of that id."""


def as_on_plan(said: Finding, site: Site) -> Finding:
    """The same finding with the names of features as the plan has them."""
    names = plan_names(site)
    values = {key: _named(key, value, names) for key, value in said.values.items()}
    return replace(said, subject=names.get(said.subject, said.subject), values=values)


def on_plan(said: Reason, site: Site) -> Reason:
    """The same reason with the names of features as the plan has them."""
    return _reason(said, plan_names(site))


def plan_names(site: Site) -> dict[str, str]:
    """Name on the plan of each feature by its id."""
    return {
        feature.id: " ".join((feature.label or kinds()[feature.kind].label).upper().split())
        for feature in told_apart(site.features)
    }


def _named(key: str, value: Value, names: Mapping[str, str]) -> Value:
    if isinstance(value, Reason):
        return _reason(value, names)
    if isinstance(value, tuple):
        return cast("Value", tuple(_named(key, item, names) for item in value))
    if isinstance(value, str) and key in SPOKEN_OF:
        return names.get(value, value)
    return value


def _reason(said: Reason, names: Mapping[str, str]) -> Reason:
    return reason(
        said.code, **{key: _named(key, value, names) for key, value in said.values.items()}
    )
