"""Plans of the samples, each made once in a process however many tests look at it."""

from __future__ import annotations

from functools import cache

from places import SAMPLES

from siteplan.plan import SitePlan, plan_site
from siteplan.site.readers.site_file import read_site


@cache
def planned(name: str) -> SitePlan:
    """Plan of a sample, or of another site file in the folder of one.

    Where the site file leaves the loop type open all are tried, so that it may be looked at as
    the plan of the one drawn.
    """
    return plan_site(read_site(SAMPLES / name))
