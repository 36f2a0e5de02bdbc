"""Words among which an option of the site file chooses: lists kept where they are used."""

from __future__ import annotations

from functools import cache
from typing import get_args

from siteplan.hydraulics.fluids import fluid_names
from siteplan.hydraulics.pipes import circuit_sizes, pipes, u_bend_sizes
from siteplan.reading import did_you_mean
from siteplan.rule_books.conditions import materials
from siteplan.rule_books.coverage import hint_of_book
from siteplan.rule_books.loader import book_ids
from siteplan.rule_books.model import (
    ANYWHERE,
    EACH_OTHER,
    MEASURES,
    PROPERTY_LINE,
    SAYS,
    SUPPLY_WELL,
)
from siteplan.rule_books.when import LIES, OWNERS, PIPES
from siteplan.site.frost import SURFACES
from siteplan.site.ground_classes import ground_classes
from siteplan.site.machines import MachineAccess, MachineKind
from siteplan.site.model import Arrangement
from siteplan.site.piping import HEADER_LAYOUTS
from siteplan.site.prices import FITTINGS
from siteplan.site.sheet_options import AUTO, NORTHS, PAPERS, PLAN_PARTS, SHEET_SETS
from siteplan.site.sides import PROTECTIONS, SOIL_CLASSES
from siteplan.site.trench_kinds import trench_kinds
from siteplan.site.walls import COMPASS
from siteplan.units.lengths import DRAWING_UNITS
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import all_parts, loop_types
from siteplan.vocabulary.pond_bodies import pond_bodies

BOOKS = "rule books"
"""Name of the choice of them."""
CHOOSE = "choose"
"""Loop type, or kind of trench, of a site file that leaves it open."""
ANY_WALL = "any wall"
"""Entry of a site file that leaves open through which wall the pipes come in."""
ONE_WALL = tuple(f"{side} wall" for side in COMPASS)
"""Entries that leave open where in a wall they come in, by the side that it faces."""
ENTRY, DEPTH_CONTOUR, SOUNDING, PARCEL = "entry", "depth contour", "sounding", "parcel"
SHORE_ENTRY = "shore entry"
"""Kinds that a feature of a site file may have beside those that rules speak of."""
ADJOINING = "adjoining parcel"
"""Kind of a lot beside the lot: drawn, and nothing else; no rule can speak of it."""


COMPASS_RULE = "compass rule"
"""How the misclosure of a deed is shared out."""
DEED_UNITS = ("ft", "m", "survey feet", "chains", "rods", "varas")
"""Units of the lengths of a deed that say none."""
TIES, OFFSET, WALLS = "ties", "offset", "walls"
MEASURED = (TIES, OFFSET, WALLS)
"""Keys of a feature that is placed by a tape alone, in place of its points."""


OF_LOOPS = {
    "trench kinds": (*trench_kinds(), CHOOSE),
    "pond bodies": tuple(pond_bodies()),
}
"""Words for what lies in trenches and ponds."""
OF_FEATURES = {
    "sewer pipe": PIPES,
    "owners": OWNERS,
    "slopes": LIES,
    "feature kinds": tuple(kinds()),
}
"""Words of a feature on which a rule may turn."""


def uses_of(kind: str) -> str:
    """Name of the choices that one kind of feature has for its use."""
    return f"uses of {kind}"


@cache
def choices() -> dict[str, tuple[str, ...]]:
    """Words by the name that the catalogue calls them.

    Examples
    --------
    >>> choices()["protections"]
    ('slope', 'shield')
    """
    return {
        "units": tuple(UNIT_SYSTEMS),
        "coordinates": ("local", "file"),
        "compass": COMPASS,
        "deed units": DEED_UNITS,
        "drawing units": tuple(DRAWING_UNITS),
        "adjustments": ("none", COMPASS_RULE),
        "kinds": (*kinds(), ENTRY, DEPTH_CONTOUR, SOUNDING, SHORE_ENTRY, ADJOINING, PARCEL),
        "uses": tuple(dict.fromkeys(use for kind in kinds().values() for use in kind.uses)),
        "systems": (*loop_types(), CHOOSE),
        **{uses_of(kind.name): kind.uses for kind in kinds().values()},
        "loop types": tuple(loop_types()),
        **OF_LOOPS,
        "soil classes": SOIL_CLASSES,
        "protections": PROTECTIONS,
        "arrangements": get_args(Arrangement),
        "machine access": get_args(MachineAccess),
        "soils and rocks": tuple(ground_classes()),
        "surfaces": tuple(SURFACES),
        "fluids": fluid_names(),
        "antifreezes": materials()["fluid"],
        "grouts": materials()["grout"],
        "U-bend pipe": u_bend_sizes(),
        "circuit pipe": circuit_sizes(),
        "header layouts": HEADER_LAYOUTS,
        BOOKS: book_ids(),
        "subjects": (PROPERTY_LINE, SUPPLY_WELL, ANYWHERE, EACH_OTHER, *kinds()),
        "parts": all_parts(),
        **OF_FEATURES,
        "says": SAYS,
        "measures": MEASURES,
        "pipe sizes": tuple(pipes()),
        "fittings": FITTINGS,
        "machines": get_args(MachineKind),
        "papers": PAPERS,
        "papers or auto": (AUTO, *PAPERS),
        "norths": NORTHS,
        "sheet sets": SHEET_SETS,
        "plan parts": PLAN_PARTS,
    }


def hint_of(name: str, word: str) -> str:
    """What to write in place of a word that is none of some choices."""
    return hint_of_book(word) if name == BOOKS else did_you_mean(word, choices()[name])
