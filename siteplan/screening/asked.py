"""What is asked of every lot: tables of a site file, and what is taken for granted."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from siteplan.site.model import Site
from siteplan.site.readers.site_file import site_from
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.vocabulary.kinds import kinds as known_kinds

Values = Mapping[str, Any]
"""Tables by name, as a site file has them."""

GRANTED: Final = ("house", "well", "septic")
"""What is assumed on a lot of which no file knows it, each to be switched off."""
TITLE: Final = {
    "title": "screening", "owner": "not stated", "date": datetime.date(2000, 1, 1)
}  # fmt: skip
"""A title block that nobody will see."""
UNKNOWN: Final[dict[str, dict[str, str]]] = {"pond": {"depth": "unknown"}}
"""What a site file wants to be told of a kind, and a layer does not tell."""
PLACES: Final = ("at", "line", "area")
_SIDE_M: Final = 400.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What every lot is asked for.

    Parameters
    ----------
    tables
        Tables of a site file that all lots share, lengths with their units: what is wanted, loads,
        ground, rule books, sizes, machines.
    unit
        Display unit, of bare numbers in the tables: ``"ft"`` or ``"m"``.
    granted
        What is assumed where no file knows it: ``"house"``, ``"well"``, ``"septic"``.
    house_m
        Length and width of an assumed house; common practice, no source [m].
    field_m
        Length and width of an assumed septic field; common practice, no source [m].
    """

    tables: Values = field(default_factory=dict)
    unit: str = "ft"
    granted: tuple[str, ...] = GRANTED
    house_m: tuple[float, float] = (12.0, 10.0)
    field_m: tuple[float, float] = (15.0, 9.0)


def site_with(asked: Asked, parcel: Any, features: list[dict[str, Any]]) -> Site:
    """Site of one lot, as a site file with these tables and this geometry says it.

    Parameters
    ----------
    asked
        What all lots share.
    parcel
        Corners of the lot [m].
    features
        Tables of what is on it and near it, places in metres.

    Raises
    ------
    InputError
        All faults of the tables and of the lot.
    """
    scale = UNIT_SYSTEMS[asked.unit].metres
    own = {**asked.tables.get("exchanger", {})}
    if any(each["kind"] == "building" and each.get("id") == "house" for each in features):
        own.setdefault("entry", "any wall")
    return site_from({
        **asked.tables,
        "project": {**TITLE, "units": asked.unit},
        "geometry": {"parcel": _scaled(parcel, scale)},
        "feature": [
            {key: _scaled(value, scale) if key in PLACES else value for key, value in each.items()}
            for each in features
        ],
        "exchanger": own,
    })  # fmt: skip


def _scaled(places: Any, scale: float) -> Any:
    """Places in the display unit, from metres."""
    if isinstance(places, list):
        return [_scaled(each, scale) for each in places]
    return places / scale


def sample_site(asked: Asked, kinds: tuple[str, ...]) -> Site:
    """A large lot with a thing of each kind: of it is read what rules ask for on every lot."""
    features = [
        {"kind": "building", "id": "house", "area": _square(20.0, 20.0)},
        *(
            {
                "kind": kind,
                **UNKNOWN.get(kind, {}),
                **_place(known_kinds()[kind].shapes, 50.0 + 25.0 * number),
            }
            for number, kind in enumerate(kinds)
            if kind != "building"
        ),
    ]
    side = max(_SIDE_M, 100.0 + 25.0 * len(kinds))
    return site_with(asked, [[0, 0], [side, 0], [side, side], [0, side]], features)


def _place(shapes: tuple[str, ...], x: float) -> dict[str, Any]:
    if "polygon" in shapes:
        return {"area": _square(x, 60.0)}
    return {"line": [[x, 60.0], [x, 70.0]]} if "line" in shapes else {"at": [x, 60.0]}


def _square(x: float, y: float) -> list[list[float]]:
    return [[x, y], [x + 10, y], [x + 10, y + 10], [x, y + 10]]
