"""What a separation rule is, independent of where it was read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

from siteplan.vocabulary import loop_types

Part: TypeAlias = loop_types.Part
"""The part of an exchanger that a rule keeps away from something."""

PROPERTY_LINE = "property line"
"""The one subject of a rule that is not a feature kind: the edge of the parcel."""

OWN_BOOK = "this site"
"""Book name of rules written in the site file itself."""

COMMON_PRACTICE = "common-practice"
"""Id of the book that fills what other books leave open."""


SAFETY = "us-safety"
"""Id of the book that always holds and that nothing relaxes."""

SUPPLY_WELL = "supply well"
"""Subject of a rule about the loop's own pumped well."""

ANYWHERE = "anywhere"
"""Subject of a rule that speaks of a part as a whole: banned, or not regulated."""

Says = Literal["at least", "at most", "approval within", "not allowed", "not regulated"]
SAYS: tuple[Says, ...] = get_args(Says)

Measure = Literal[
    "nearest part",
    "centre",
    "casing",
    "overhang",
    "field perimeter",
    "ground projection",
    "whole bore",
    "machine",
    "alongside",
    "machine alongside",
]
MEASURES: tuple[Measure, ...] = get_args(Measure)

ALONGSIDE: tuple[Measure, ...] = ("alongside", "machine alongside")
"""Ways of measuring that let a header cross a line, and keep it off as it runs beside it."""
FROM_MACHINE: tuple[Measure, ...] = ("machine", "machine alongside")
"""Ways of measuring that begin where the machine's reach ends."""


@dataclass(frozen=True, slots=True)
class Range:
    """A class of a quantity: from ``low`` to ``high``, in SI units.

    Parameters
    ----------
    low, high
        Bounds.
    low_in, high_in
        Whether a bound itself belongs to the class.
    """

    low: float = 0.0
    high: float = math.inf
    low_in: bool = True
    high_in: bool = True

    def holds(self, value: float) -> bool:
        """Whether a value falls in the class.

        Examples
        --------
        >>> Range(10, 25, low_in=False).holds(10), Range(10, 25, low_in=False).holds(25)
        (False, True)
        """
        above = value > self.low or (self.low_in and value == self.low)
        return above and (value < self.high or (self.high_in and value == self.high))


@dataclass(frozen=True, slots=True)
class Condition:
    """When a rule binds; what a feature does not state counts as binding, so the strictest holds.

    Parameters
    ----------
    use
        Use of the feature, matched by words: ``"public"`` and ``"public municipal"`` meet.
    pump_rate, daily_flow
        Class of a well's or of a sewage field's flow [m3/s].
    loop_flow
        Class of the open loop's own flow [m3/s].
    voltage
        Class of a power line [V]; here an unstated one does not bind.
    voltage_unknown
        Binds power lines whose voltage is not stated.
    words
        The same as the book writes it.
    """

    use: str = ""
    pump_rate: Range | None = None
    daily_flow: Range | None = None
    loop_flow: Range | None = None
    voltage: Range | None = None
    voltage_unknown: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """What a document says of a part of the exchanger and something on the lot.

    Parameters
    ----------
    id
        Unique within its book.
    subject
        Feature kind, ``"property line"``, ``"supply well"`` or ``"anywhere"``.
    parts
        Parts of the exchanger it binds.
    distance_m
        The distance it speaks of, horizontal [m]; 0 where it speaks of none.
    printed
        The distance as the source prints it, with its unit.
    book
        Id of the rule book, or ``"this site"``.
    source
        Document and section, or ``"common practice, no source"``.
    says
        What it says: a least distance unless told otherwise.
    measure
        How the distance is measured.
    when
        When it binds.
    note
        What else the source says, in short.
    feature
        Binds only the feature of this id; empty: any of its kind.
    variance_m
        Distance down to which its source says that a variance may be had [m]; None: it says
        nothing of one.
    """

    id: str
    subject: str
    parts: tuple[Part, ...]
    distance_m: float
    printed: str
    book: str
    source: str
    says: Says = "at least"
    measure: Measure = "nearest part"
    when: Condition = Condition()
    note: str = ""
    feature: str = ""
    variance_m: float | None = None

    @property
    def alongside(self) -> bool:
        """Whether it lets a header cross the thing, and keeps it off where it runs beside it."""
        return self.measure in ALONGSIDE


@dataclass(frozen=True, slots=True)
class Shown:
    """Something an authority wants on the plan.

    Parameters
    ----------
    what
        One of `SHOWN`.
    value
        A length [m] or a number, where it has one.
    printed
        The value as printed.
    source
        Document and section.
    """

    what: str
    value: float | None
    printed: str
    source: str


BoundOf = Literal["fluid", "grout", "pipe", "test pressure", "cover", "ties", "scale"]
BOUND_OF: tuple[BoundOf, ...] = get_args(BoundOf)
"""What a book may bind beside distances."""

Admits = Literal["only", "none of", "approval unless"]
ADMITS: tuple[Admits, ...] = get_args(Admits)


@dataclass(frozen=True, slots=True)
class Bound:
    """What a document says of fluid, grout, pipe, test, cover, ties or scale.

    Parameters
    ----------
    id
        Unique among the bounds of its book.
    of
        What it binds.
    parts
        Parts of the exchanger it is about; empty for ties and scale.
    printed
        What the source says, in short.
    source
        Document and section, or ``"common practice, no source"``.
    says
        What it says of ``names``.
    names
        Fluids, grouts, materials of pipe.
    least
        Least test pressure [Pa], cover [m] or number of ties.
    operating
        Least test pressure as a multiple of the operating pressure; 0: it says nothing of it.
    minutes
        How long a test lasts; 0: it does not say.
    dimension_ratio
        Greatest outer diameter of pipe over wall; None: it does not say.
    full_depth
        Whether grout fills a bore from its toe up to the header trench.
    scales
        Ratios of the scales allowed; empty: those of ``ratios``.
    ratios
        Range of the ratios allowed.
    note
        What else the source says, in short.
    """

    id: str
    of: BoundOf
    parts: tuple[Part, ...]
    printed: str
    source: str
    says: Admits = "only"
    names: tuple[str, ...] = ()
    least: float | None = None
    operating: float = 0.0
    minutes: float = 0.0
    dimension_ratio: float | None = None
    full_depth: bool = False
    scales: tuple[int, ...] = ()
    ratios: Range | None = None
    note: str = ""


SHOWN = (
    "bores",
    "buildings",
    "contractor",
    "coordinate decimals",
    "coordinates",
    "distances",
    "driveways",
    "easements",
    "floodplain",
    "fluid and grout",
    "legal description",
    "license",
    "location sketch",
    "lot size",
    "neighbour wells",
    "north arrow",
    "owner",
    "parcel id",
    "property lines",
    "reserve area",
    "scale",
    "search radius",
    "septic",
    "slope",
    "utilities",
)
"""What a book may want shown."""


@dataclass(frozen=True, slots=True)
class Book:
    """A rule book: where its rules come from, when they were read, the rules and the bounds."""

    id: str
    title: str
    authority: str
    document: str
    date_read: str
    caution: str
    rules: tuple[Rule, ...]
    shown: tuple[Shown, ...] = ()
    quoted: bool = False
    note: str = ""
    bounds: tuple[Bound, ...] = ()
