"""Where a machine gets to on the lots that nothing quicker decides: searched as a plan does.

A search of poses takes a tenth of a second and more, so it is the last thing asked of a lot. It is
that of a plan, on the lot as a plan reads it: a machine that it stops is stopped there too.
"""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.available.access import machine_ground
from siteplan.errors import SitePlanError
from siteplan.screening.chunk import Chunk
from siteplan.screening.full import site_of_lot
from siteplan.screening.room import tidy
from siteplan.screening.scan import Integers, Shapes
from siteplan.screening.terms import Terms
from siteplan.site.model import System


def searched(chunk: Chunk, terms: Terms, system: System) -> tuple[Integers, Shapes]:
    """Ground on which the machine of a loop type works, as a plan sees it.

    Returns
    -------
    Integers, Shapes
        The lots that a plan reads, rising, and this ground of each: the whole lot where neither
        street nor driveway shows a way in, which is then not asked for.
    """
    lots, grounds = [], []
    for number in range(len(chunk)):
        try:
            ground = machine_ground(site_of_lot(chunk, number, terms.asked), system)
        except SitePlanError:
            continue
        lots.append(number)
        grounds.append(chunk.outlines[number] if ground is None else ground.area)
    found = np.full(len(lots), shapely.Polygon(), dtype=object)
    found[:] = grounds
    return np.array(lots, dtype=np.int64), tidy(found)
