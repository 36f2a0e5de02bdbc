"""Bores that somebody drags: from then on the place of each is given by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import made_of
from siteplan.web.document import Op, refused

BORE: Final = "bore "
"""What the page calls a bore by, before its name."""
BORES: Final = made_of(Bore.kind).name
PLACES: Final = (BORES, "places")
IN_THEIR_PLACE: Final = ("count", "arrangement", "grid")
"""Keys that say how bores stand where nobody says the place of each."""
FINE: Final = 6
"""Decimals that no spacing is lost by, of bores that stand just as far apart as asked for."""
PLAIN_M: Final = 0.01
"""Bores with so much staking allowance are told as anything else is on the lot [m]."""


def movable(layout: Layout) -> frozenset[str]:
    """Names of the bores of a layout that may be put elsewhere by hand."""
    if layout.leans:
        return frozenset()
    return frozenset(bore.id for bore in layout.of(Bore) if not bore.existing)


def places_given(
    op: Op,
    values: Mapping[str, Any],
    layout: Layout | None,
    unit: UnitSystem,
    *,
    allowance_m: float = 0.0,
) -> list[Op]:
    """Changes of the site file that put one bore elsewhere, and leave the others where they are.

    Parameters
    ----------
    op
        ``id``, name of the bore, and ``points``, its one new place [m]; none: it is taken out.
    values
        The site file as tables.
    layout
        What is laid out of it; None: not yet known.
    unit
        Unit of bare numbers.
    allowance_m
        What the bores keep on top of every distance and spacing [m].

    Raises
    ------
    InputError
        No such bore is laid out, or no other one would be left.
    """
    decimals = 2 if unit.metres < 1 else 3
    exact = allowance_m < PLAIN_M or "grid" in (values.get(PLACES[0]) or {})
    names, places = _now(values, layout, unit, FINE if exact else decimals)
    name = str(op["id"])
    if name not in names:
        raise refused(f"{name} is not laid out any more: wait for the plan.")
    at = names.index(name)
    points: Sequence[Sequence[float]] = op["points"]
    placed = [[round(float(axis) / unit.metres, decimals) for axis in point] for point in points]
    places[at : at + 1] = placed[:1]
    if not places:
        raise refused("the last bore cannot be taken out.")
    done: list[Op] = [{"op": "set", "path": [BORES, key], "value": None} for key in IN_THEIR_PLACE]
    return [*done, {"op": "set", "path": list(PLACES), "value": places}]


def _now(
    values: Mapping[str, Any], layout: Layout | None, unit: UnitSystem, decimals: int
) -> tuple[list[str], list[list[float]]]:
    """Names of the bores, and where they stand in the numbers of the file."""
    table = values.get(PLACES[0])
    given = table.get(PLACES[1]) if isinstance(table, Mapping) else None
    if isinstance(given, list) and given:
        return [f"B{number}" for number in range(1, len(given) + 1)], [list(one) for one in given]
    bores = layout.of(Bore) if layout is not None and movable(layout) else ()
    return [bore.id for bore in bores], [
        [round(axis / unit.metres, decimals) for axis in (bore.x_m, bore.y_m)] for bore in bores
    ]
