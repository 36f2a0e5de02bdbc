"""What a separation rule is, independent of where it was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

from siteplan.rule_books.standing import AS_READ, Standing
from siteplan.rule_books.when import ALWAYS, Condition, Range
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

EACH_OTHER = "each other"
"""Subject of a rule about the distance between two parts of the same kind."""

Says = Literal[
    "at least",
    "at most",
    "approval within",
    "not allowed",
    "not regulated",
    "no deeper than",
    "rear yard only",
    "as stated",
]
SAYS: tuple[Says, ...] = get_args(Says)
WITHOUT_DISTANCE: tuple[Says, ...] = (
    "not allowed", "not regulated", "rear yard only", "as stated",
)  # fmt: skip
"""What has no distance; of the last one the number is another document's, and has to be stated."""
AT_MOST: tuple[Says, ...] = ("at most", "no deeper than")
"""What is kept by less."""

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
    "below casing",
]
MEASURES: tuple[Measure, ...] = get_args(Measure)

ALONGSIDE: tuple[Measure, ...] = ("alongside", "machine alongside")
"""Ways of measuring that let a header cross a line, and keep it off as it runs beside it."""
FROM_MACHINE: tuple[Measure, ...] = ("machine", "machine alongside")
"""Ways of measuring that begin where the machine's reach ends."""


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
    unless_outside
        Kind of ground outside of which the distance need not be kept, such as an easement in
        which the thing lies; empty: it is kept everywhere.
    within
        Of a limit of depth: how far from the thing it holds [m]; None: anywhere.
    standing
        What it is worth to the authority, and how it was read.
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
    when: Condition = ALWAYS
    note: str = ""
    feature: str = ""
    variance_m: float | None = None
    unless_outside: str = ""
    within: Range | None = None
    standing: Standing = AS_READ

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
    standing: Standing = AS_READ


BoundOf = Literal[
    "fluid",
    "grout",
    "pipe",
    "test pressure",
    "cover",
    "ties",
    "scale",
    "marking",
    "fluid temperature",
    "heat at the line",
    "return capacity",
    "surface return",
]
BOUND_OF: tuple[BoundOf, ...] = get_args(BoundOf)
"""What a book may bind beside distances."""

Admits = Literal["only", "none of", "approval unless"]
ADMITS: tuple[Admits, ...] = get_args(Admits)


@dataclass(frozen=True, slots=True)
class Bound:
    """What a document binds beside distances, and the plan or its sheets answer.

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
        Least test pressure [Pa], cover [m], number of ties, or times the flow that a return takes.
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
    share
        Most of antifreeze in the fluid [-]; None: it does not say.
    solids
        Least solids of the grout [-]; None: it does not say.
    temperatures
        Range of the fluid's temperatures [C]; None: it does not say.
    when
        When it binds.
    note
        What else the source says, in short.
    standing
        What it is worth to the authority, and how it was read.
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
    allowed: bool = False
    scales: tuple[int, ...] = ()
    ratios: Range | None = None
    share: float | None = None
    solids: float | None = None
    temperatures: Range | None = None
    when: Condition = ALWAYS
    note: str = ""
    standing: Standing = AS_READ


Stage = Literal["before", "at the work", "after"]
STAGES: tuple[Stage, ...] = get_args(Stage)
"""When somebody does what a book asks, in order."""
DutyOf = Literal[
    "permit", "notice", "variance", "who builds", "inspection", "construction", "record"
]
DUTY_OF: tuple[DutyOf, ...] = get_args(DutyOf)


@dataclass(frozen=True, slots=True)
class Duty:
    """What a document has somebody do, which no drawing can answer.

    Parameters
    ----------
    id
        Unique among the duties of its book.
    of
        What kind of thing it is.
    stage
        Before the work, at it, or after it.
    parts
        Parts of the exchanger it is about.
    printed
        What the source says, in short.
    source
        Document and section.
    due
        How long before or after, as printed; empty: it does not say.
    when
        When it binds.
    note
        What else the source says, in short.
    standing
        What it is worth to the authority, and how it was read.
    """

    id: str
    of: DutyOf
    stage: Stage
    parts: tuple[Part, ...]
    printed: str
    source: str
    due: str = ""
    when: Condition = ALWAYS
    note: str = ""
    standing: Standing = AS_READ


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
    "fluid",
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
    "storm water",
    "streets",
    "surface water",
    "tilt",
    "utilities",
)
"""What a book may want shown."""


@dataclass(frozen=True, slots=True)
class Book:
    """A rule book: where its rows come from, when and how they were read, and the rows.

    ``superseded_by``: the text that stands in its place; ``replaces``: the text in whose place it
    stands.
    """

    id: str
    title: str
    authority: str
    document: str
    read_on: str
    caution: str
    rules: tuple[Rule, ...]
    shown: tuple[Shown, ...] = ()
    note: str = ""
    bounds: tuple[Bound, ...] = ()
    duties: tuple[Duty, ...] = ()
    standing: Standing = AS_READ
    superseded_by: str = ""
    replaces: str = ""

    @property
    def stale(self) -> tuple[Rule | Bound | Shown | Duty, ...]:
        """Rows whose text is known to be superseded."""
        rows: tuple[Rule | Bound | Shown | Duty, ...] = (
            *self.rules, *self.bounds, *self.shown, *self.duties,
        )  # fmt: skip
        return tuple(row for row in rows if row.standing.superseded_on is not None)
