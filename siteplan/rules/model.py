"""What a separation rule is, independent of where it was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Part = Literal["bore", "trench", "coil", "supply well", "return well", "header"]
"""The part of an exchanger that a rule keeps away from something."""

PARTS: tuple[Part, ...] = get_args(Part)

PROPERTY_LINE = "property line"
"""The one subject of a rule that is not a feature kind: the edge of the parcel."""

OWN_BOOK = "this site"
"""Book name of rules written in the site file itself."""

COMMON_PRACTICE = "common-practice"
"""Id of the book that fills what other books leave open."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A least horizontal distance between a part of the exchanger and something on the lot.

    Parameters
    ----------
    id
        Unique within its book.
    subject
        Feature kind, or ``"property line"``.
    parts
        Parts of the exchanger it binds.
    distance_m
        Least distance, nearest part to nearest part [m].
    printed
        The distance as the source prints it, with its unit.
    book
        Id of the rule book, or ``"this site"``.
    source
        Document and section, or ``"common practice, no source"``.
    use
        Binds only features of this use (a well's ``"private"`` or ``"public"``); empty: any.
    feature
        Binds only the feature of this id; empty: any of its kind.
    """

    id: str
    subject: str
    parts: tuple[Part, ...]
    distance_m: float
    printed: str
    book: str
    source: str
    use: str = ""
    feature: str = ""
