"""What is laid out and somebody drags: from then on all of its kind lie where a hand put them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from siteplan.errors import Fault, InputError
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import made_of
from siteplan.web.bank import Waters, at_bank
from siteplan.web.document import Op, refused

Json = dict[str, Any]
Pairs = list[list[float]]
KINDS: Final = (Bore.kind, Trench.kind, Coil.kind, Well.kind)
"""Kinds of what may be put elsewhere by hand; the page calls one by its kind and its name."""
PLACES: Final = {Bore.kind: "places", Trench.kind: "runs", Coil.kind: "places", Well.kind: "places"}
"""Key of the places in the table of each loop type."""
IN_THEIR_PLACE: Final = {Bore.kind: ("count", "arrangement", "grid", "pad")}
"""Keys that say how elements stand where nobody says the place of each."""
FINE: Final = 6
"""Decimals that no spacing is lost by, of what stands just as far apart as asked for."""
PLAIN_M: Final = 0.01
"""Bores with so much staking allowance are told as anything else is on the lot [m]."""
OUTFALL: Final = "outfall"
ROLES: Final = ("supply", "return", OUTFALL)


@dataclass(frozen=True, slots=True)
class Known:
    """What is laid out, to be changed by hand.

    Parameters
    ----------
    values
        The site file as tables.
    layout
        What is laid out of it; None: not yet known.
    unit
        Unit of bare numbers.
    allowance_m
        What elements keep on top of every distance and spacing [m].
    waters
        Ponds and streams by their ids.
    """

    values: Mapping[str, Any]
    layout: Layout | None
    unit: UnitSystem
    allowance_m: float = 0.0
    waters: Waters = ()

    @property
    def decimals(self) -> int:
        """Decimals of a place that a hand has put something to."""
        return 2 if self.unit.metres < 1 else 3

    def written(self, points: Sequence[Sequence[float]], decimals: int) -> Pairs:
        """Points [m] in the numbers of the file."""
        return [[round(float(axis) / self.unit.metres, decimals) for axis in at] for at in points]

    def table(self, kind: str) -> Mapping[str, Any]:
        """Table of the loop type that is made of a kind."""
        found = self.values.get(made_of(kind).name)
        return found if isinstance(found, Mapping) else {}


def called(element: Element) -> str:
    """What the page calls an element by: ``bore B1``."""
    return f"{element.kind} {element.id}"


def is_laid(name: str) -> bool:
    """Whether a name is that of something laid out, not of a thing on the lot."""
    kind, _, rest = name.partition(" ")
    return kind in KINDS and re.fullmatch(r"[A-Z]+\d*", rest) is not None


def points_of(element: Element) -> Pairs:
    """Points by which the page moves an element [m]."""
    if isinstance(element, Trench):
        return [[round(x, 3), round(y, 3)] for x, y, *_ in element.line.coords]
    return [[round(element.x_m, 3), round(element.y_m, 3)]]


def movable(layout: Layout) -> frozenset[str]:
    """Names of the elements of a layout that may be put elsewhere by hand."""
    if layout.leans:
        return frozenset()
    return frozenset(each.id for each in _placeable(layout) if each.kind in KINDS)


def _placeable(layout: Layout) -> tuple[Element, ...]:
    """What somebody may put elsewhere: all but wells that stand already."""
    return (*layout.new, *layout.of(Outfall))


def places_given(op: Op, known: Known) -> list[Op]:
    """Changes of the site file that put one element elsewhere, and leave the others where they are.

    Parameters
    ----------
    op
        ``kind`` and ``id``, name of the element, or empty: a new one; ``points``, its new place
        [m], none: it is taken out. A well or outfall is called by its name though it is new, which
        ``alone`` says: the other is left to the plan then.
    known
        The site file, and what is laid out of it.

    Raises
    ------
    InputError
        No such element is laid out, or no other one would be left.
    """
    kind = str(op["kind"])
    if kind not in KINDS:
        raise refused(f"{kind!r} is nothing that is laid out.")
    system = made_of(kind).name
    done: list[Op] = _wells(op, known) if kind == Well.kind else _several(kind, op, known)
    wanted = known.values.get("exchanger")
    asked = wanted.get("system") if isinstance(wanted, Mapping) else None
    others = [other for other in KINDS if other != kind and known.table(other).get(PLACES[other])]
    if asked not in (None, "choose", system) or (others and asked != system):
        done.append(_set(["exchanger", "system"], system))  # who places it asks for it
    return done


def _set(path: list[str], value: Any) -> Op:
    return {"op": "set", "path": path, "value": value}


def _several(kind: str, op: Op, known: Known) -> list[Op]:
    """Places of all bores, trenches or coils, one of them elsewhere, new or taken out."""
    system, key, name = made_of(kind).name, PLACES[kind], str(op["id"])
    names, places = _now(kind, known)
    if name and name not in names:
        raise refused(f"{name} is not laid out any more: wait for the plan.")
    at = names.index(name) if name else len(names)
    points = known.written(op["points"], known.decimals)
    new: list[Any] = [points] if kind == Trench.kind else points
    places[at : at + 1] = new if op["points"] else []
    if not places:
        words = "is not taken out: none would be left."
        raise InputError([Fault(f"The last {kind}", words, "Have the plan lay them out instead.")])
    instead = [_set([system, each], None) for each in IN_THEIR_PLACE.get(kind, ())]
    return [*instead, _set([system, key], places)]


def _now(kind: str, known: Known) -> tuple[list[str], list[Any]]:
    """Names of the elements of a kind, and where they lie in the numbers of the file."""
    given, layout = known.table(kind).get(PLACES[kind]), known.layout
    laid = [each for each in layout.new if each.kind == kind] if layout is not None else []
    if isinstance(given, list) and given:
        letter = laid[0].id[0] if laid else kind[0].upper()
        return [f"{letter}{number}" for number in range(1, len(given) + 1)], list(given)
    if layout is None or not movable(layout):
        return [], []
    exact = known.allowance_m < PLAIN_M or "grid" in known.table(kind) or kind == Trench.kind
    decimals = FINE if exact else known.decimals
    lying = [known.written(_exactly(each), decimals) for each in laid]
    return [each.id for each in laid], lying if kind == Trench.kind else [at for (at,) in lying]


def _exactly(element: Element) -> list[tuple[float, float]]:
    if isinstance(element, Trench):
        return [(x, y) for x, y, *_ in element.line.coords]
    return [(element.x_m, element.y_m)]


def _wells(op: Op, known: Known) -> list[Op]:
    """Places of wells and outfall, one of them elsewhere, new, or left to the plan again."""
    system, role = made_of(Well.kind).name, str(op["id"]).lower()
    table = known.table(Well.kind)
    if role not in ROLES:
        raise refused(f"{op['id']!r} is no well of the pair.")
    _judge_role(role, table)
    given = table.get("places")
    spots = dict(given) if isinstance(given, Mapping) else {}
    if not op["points"]:
        spots.pop(role, None)
        return [_set([system, "places"], spots or None)]
    if not op.get("alone"):  # what is dragged leaves the other where it is
        now = _wells_laid(known)
        if role not in {*now, *spots}:
            raise refused(f"{op['id']} is not laid out any more: wait for the plan.")
        spots = {**now, **spots}
    if role != OUTFALL:
        spots[role] = known.written(op["points"], known.decimals)[0]
        return [_set([system, "places"], _in_order(spots))]
    x, y = op["points"][0]
    laid = known.layout.new if known.layout is not None else ()
    spot, water = at_bank((float(x), float(y)), known.waters, [each.axis for each in laid])
    spots[role] = known.written([spot], known.decimals)[0]
    spots.pop("return", None)
    into = [] if table.get("outfall") == water else [_set([system, "outfall"], water)]
    return [*into, _set([system, "places"], _in_order(spots))]


def _judge_role(role: str, table: Mapping[str, Any]) -> None:
    """Refuse a place of what stands already, or of what another takes the place of."""
    if role == "supply" and table.get("supply"):
        words = "is the supply and stays where it is."
        mend = "State no existing supply well before you place a new one."
        raise InputError([Fault(f"The well {table['supply']}", words, mend)])
    if role == "return" and table.get("outfall"):
        words = "takes the water back in place of a return well."
        mend = "Place the outfall, or state none before you place a return well."
        raise InputError([Fault("The outfall", words, mend)])


def _wells_laid(known: Known) -> dict[str, list[float]]:
    """Where wells and outfall are laid out, by role, in the numbers of the file."""
    if known.layout is None:
        return {}
    there = {
        each.id.lower(): known.written(_exactly(each), known.decimals)[0]
        for each in _placeable(known.layout)
        if each.kind == Well.kind
    }
    table = known.table(Well.kind)
    # what the layout may have, and the file no longer says
    gone = {"supply"} if table.get("supply") else set()
    gone.add("return" if table.get("outfall") else OUTFALL)
    return {role: at for role, at in there.items() if role in ROLES and role not in gone}


def _in_order(spots: Mapping[str, Any]) -> dict[str, Any]:
    return {role: spots[role] for role in ROLES if role in spots}
