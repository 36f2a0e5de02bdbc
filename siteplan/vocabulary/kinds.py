"""The feature kinds, read once from ``kinds.toml``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any, Final, Literal

ShapeName = Literal["point", "line", "polygon"]
HeaderCrossing = Literal["free", "mark", "never"]
RigCrossing = Literal["never", "lines", "free"]
StripKeeps = Literal["distance", "opening", "free"]


@dataclass(frozen=True, slots=True)
class Kind:
    """What depends on a feature's kind alone.

    Parameters
    ----------
    name
        As written in a site file.
    label
        Text on the drawing where the feature has none of its own.
    shapes
        Geometry a site file may give it.
    crossing
        What the header may do there.
    group
        How the drawing treats it.
    letter
        Letter in the line, for line kinds.
    layer
        Layer in the drawing.
    uses
        What a feature of the kind may be used for, as rules tell them apart.
    contamination
        Whether it counts as a source of contamination of groundwater.
    deep
        Whether it reaches as deep as a bore.
    rig
        Where a drill rig may drive over it: nowhere, anywhere, or over its lines alone.
    strip
        What the strip keeps that a trench with sloped sides opens: the distance of the rules, only
        that it does not open the thing, or nothing.
    lent
        Whether it is ground of a neighbour on which the machine may stand and drive.
    bridged
        Whether a driveway drawn over it is a bridge or a culvert, by which a machine gets across.
    also
        What people call it besides.
    abroad
        What maps and surveys in other languages call it.
    as_called
        Whether a feature is labelled as it was called: a garage is no house.
    outbuildings
        Words for buildings that pipes are led to only where nothing else is built.
    """

    name: str
    label: str
    shapes: tuple[ShapeName, ...]
    crossing: HeaderCrossing
    group: str
    layer: str
    letter: str = ""
    uses: tuple[str, ...] = ()
    contamination: bool = False
    deep: bool = False
    rig: RigCrossing = "never"
    strip: StripKeeps = "distance"
    lent: bool = False
    bridged: bool = False
    also: tuple[str, ...] = ()
    abroad: tuple[str, ...] = ()
    as_called: bool = False
    outbuildings: tuple[str, ...] = ()


@cache
def kinds() -> dict[str, Kind]:
    """All kinds by name, in the order of the file."""
    text = files("siteplan.vocabulary").joinpath("kinds.toml").read_text(encoding="utf-8")
    return {
        name: Kind(**{key: frozen(value) for key, value in {**table, "name": name}.items()})
        for name, table in tomllib.loads(text).items()
    }


def frozen(value: object) -> Any:
    """A value of a TOML table as a frozen record holds it: a list as a tuple."""
    return tuple(value) if isinstance(value, list) else value


@cache
def _names() -> dict[str, str]:
    """Every word for a kind, and the kind's own name."""
    own = {name: name for name in kinds()}
    others = {word: kind.name for kind in kinds().values() for word in (*kind.abroad, *kind.also)}
    return others | own


def words_for_kinds() -> tuple[str, ...]:
    """Every English word that names a kind, its own name and what people call it besides."""
    return tuple(word for kind in kinds().values() for word in (kind.name, *kind.also))


WHICH_ONE: Final = frozenset(
    {"existing", "main", "upper", "lower", "front", "back", "rear", "side", "left", "right", "big",
     "large", "little", "small", "tall", "north", "south", "east", "west", "neighbor's",
     "neighbour's", "gravel", "dirt", "paved", "asphalt", "concrete", "shared", "irrigation",
     "ornamental", "wooden", "brick"}
)  # fmt: skip
"""Words before a name that change nothing of what rules ask of it: whose, where, how large, of
what; common practice, no source."""
WHOSE_STREET: Final = frozenset({"county", "state", "town", "city", "village", "township"})
"""Who keeps a street; of a well the same words say that the public drinks from it."""
NUMBERED: Final = re.compile(r"\s*(?:#|no\.?)?\s*[0-9]+$")


def kind_called(word: str) -> str:
    """Name of the kind that a word of a site file or a drawing means; else the word itself.

    Capitals, underscores, a plural and a number behind it do not matter, nor words before it that
    say which one it is; words may be run together by capitals.

    Examples
    --------
    >>> kind_called("LEACH_FIELD"), kind_called("Houses"), kind_called("gas well")
    ('drainfield', 'building', 'gas well')
    >>> kind_called("RoadCenterlines"), kind_called("Straße"), kind_called("Tree 12")
    ('street', 'street', 'tree')
    >>> kind_called("gravel road"), kind_called("Existing septic tank"), kind_called("sewage pond")
    ('street', 'septic tank', 'sewage pond')
    """
    plain = plain_word(word)
    alone = NUMBERED.sub("", plain)
    for each in (plain, plain.removesuffix("s"), alone):
        if each in _names():
            return _names()[each]
    which, _, rest = plain.partition(" ")
    called = kind_called(rest) if which in WHICH_ONE | WHOSE_STREET else ""
    same = called in kinds() and (which in WHICH_ONE or called == "street")
    return called if same else word


BY_LAST_WORD: Final = frozenset({"street", "building", "stream", "pond", "tree", "driveway"})
"""Kinds that a last word tells: a county road is a road, and a gas well no well."""

MISSPELT: Final = 0.88
"""How alike a word must be to the name of a kind to be that name misspelt."""


KEEPS_NOTHING_OFF: Final = frozenset(
    {"lawn", "yard", "front yard", "back yard", "backyard", "pasture", "meadow", "hay field",
     "cropland", "corn field", "grass", "ball field", "playing field", "soccer field",
     "sports field"}
)  # fmt: skip
"""What surveys name and no rule does: a loop lies under it; common practice, no source."""
OPENED: Final = frozenset({"fence", "hedge", "gate", "shrubs", "bushes"})
"""What a machine's way in may have to open; common practice, no source."""


def hint_of_kind(word: str, known: Iterable[str]) -> str:
    """What kind was meant, where a word is misspelt; else the kinds of a word of it; then all.

    A word that only resembles another is left alone: a gas well is no gas line, and neither kind of
    well that rules speak of.

    Examples
    --------
    >>> hint_of_kind("water wel", ("street",)), hint_of_kind("gas well", ("street",))
    ("did you mean 'water well'?", 'known: street.')
    >>> hint_of_kind("town well", ("street",))
    "kinds of well: 'potable well', 'energy well', 'well pit'; known: street."
    >>> hint_of_kind("steep meadow", ("street",))
    "kinds of steep: 'steep slope'; known: street."
    >>> hint_of_kind("county road", ("street",))
    "did you mean 'road'?"
    >>> hint_of_kind("fence", ("street",))
    "leave it out where a machine may come through; else write 'other keep-out'."
    """
    others = tuple(known)
    plain = plain_word(word)
    if plain in KEEPS_NOTHING_OFF:
        return "leave it out: nothing is kept off it. What the owner wants to keep is a 'garden'."
    if plain in OPENED:
        return "leave it out where a machine may come through; else write 'other keep-out'."
    near = get_close_matches(plain, (*words_for_kinds(), *others), n=1, cutoff=MISSPELT)
    if near:
        return f"did you mean {near[0]!r}?"
    first, *others_of_it = plain.split() or [""]
    if others_of_it and kind_called(others_of_it[-1]) in BY_LAST_WORD:
        return f"did you mean {others_of_it[-1]!r}?"
    last = others_of_it[-1].removesuffix("s") if others_of_it else ""
    known = {word for name in words_for_kinds() for word in name.split()}
    kinds_of = ""
    for part, beside in ((first, last), (last, first)):
        kin = [name for name in kinds() if part in (name.split()[0], name.split()[-1])]
        if others_of_it and kin and beside not in known:
            kinds_of = f"kinds of {part}: {', '.join(map(repr, kin))}; "
    return f"{kinds_of}known: {', '.join(others)}."


def plain_word(word: str) -> str:
    """A word in small letters, its parts a space apart.

    Examples
    --------
    >>> plain_word("TaxParcels"), plain_word("LEACH_FIELD")
    ('tax parcels', 'leach field')
    """
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", word.replace("_", " "))
    return " ".join(apart.split()).casefold()
