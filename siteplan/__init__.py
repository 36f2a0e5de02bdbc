"""Fits a ground heat exchanger to a lot, checks it, and draws the permit package.

The public names load on first use, so that ``siteplan --help`` is instant.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from siteplan.available.stage import AvailableAreas, available_areas
    from siteplan.errors import (
        CheckError,
        ExportError,
        GeometryError,
        InputError,
        RuleError,
        SitePlanError,
    )
    from siteplan.geometry.points.packing import pack_points
    from siteplan.layout.trenches.fit import fit_trenches
    from siteplan.plan import SitePlan, lay_out, plan_site
    from siteplan.site.model import Site
    from siteplan.site.readers.site_file import read_site, site_from

__version__ = "0.1.0"

_HOMES = {
    "AvailableAreas": "siteplan.available.stage",
    "CheckError": "siteplan.errors",
    "ExportError": "siteplan.errors",
    "GeometryError": "siteplan.errors",
    "InputError": "siteplan.errors",
    "RuleError": "siteplan.errors",
    "Site": "siteplan.site.model",
    "SitePlan": "siteplan.plan",
    "SitePlanError": "siteplan.errors",
    "available_areas": "siteplan.available.stage",
    "fit_trenches": "siteplan.layout.trenches.fit",
    "lay_out": "siteplan.plan",
    "pack_points": "siteplan.geometry.points.packing",
    "plan_site": "siteplan.plan",
    "read_site": "siteplan.site.readers.site_file",
    "site_from": "siteplan.site.readers.site_file",
}

__all__ = [
    "AvailableAreas",
    "CheckError",
    "ExportError",
    "GeometryError",
    "InputError",
    "RuleError",
    "Site",
    "SitePlan",
    "SitePlanError",
    "available_areas",
    "fit_trenches",
    "lay_out",
    "pack_points",
    "plan_site",
    "read_site",
    "site_from",
]


def __getattr__(name: str) -> object:
    """Public name, imported from its home on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module 'siteplan' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """Public names."""
    return sorted([*__all__, "__version__"])
