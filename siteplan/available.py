"""Where the parts of an exchanger may lie: the parcel less named keep-outs."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from siteplan.rules.model import Part, Rule


@dataclass(frozen=True, slots=True)
class KeepOut:
    """The ground that one rule takes around one feature.

    Parameters
    ----------
    rule
        The rule that takes it.
    feature
        Id of the feature, or ``"parcel"`` for the property line.
    shape
        The feature widened by the rule's distance, outside the true arc.
    """

    rule: Rule
    feature: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class AvailableArea:
    """Where one part may lie, and what took the rest.

    Parameters
    ----------
    part
        Part of the exchanger.
    shape
        Ground on which any point of the part may lie.
    keep_outs
        What was taken off the parcel, by rule and feature.
    """

    part: Part
    shape: BaseGeometry
    keep_outs: tuple[KeepOut, ...]
