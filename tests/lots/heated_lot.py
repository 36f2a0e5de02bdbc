"""A lot of invented figures with a house that is heated, for lengths that are calculated."""

from __future__ import annotations

import datetime
from typing import Any


def heated_lot(soil: str, **more: Any) -> dict[str, Any]:
    """Values of a site file: one house on half an acre, bores wanted; ``more`` stands in place."""
    return {
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
        "geometry": {"parcel": [[0, 0], [140, 0], [140, 150], [0, 150]]},
        "feature": [{"kind": "building", "area": [[50, 10], [90, 10], [90, 40], [50, 40]]}],
        "exchanger": {"system": "vertical", "entry": [[70, 40]]},
        "loads": {"heating": "36 MBH", "heating_hours": 2300},
        "ground": {"soil": soil, "temperature": "47 F"},
        "rig": {"access": "anywhere"},
        **more,
    }
