"""What was read from a drawing, in metres: values only, no word yet on whether they are right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from siteplan.audit.ink import Ink
from siteplan.checks.model import Separation
from siteplan.demand.model import Required
from siteplan.findings.model import Finding, Reason, reason
from siteplan.layout.model import Layout
from siteplan.sheet.marks import Mark
from siteplan.site.model import Site

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class DrawnSymbol:
    """A block inserted in model space; ``at`` is its place and ``radius_m`` its scale [m]."""

    handle: str
    layer: str
    block: str
    at: XY
    radius_m: float
    attributes: tuple[tuple[str, str], ...] = ()
    mark: Mark | None = None

    def value(self, tag: str) -> str:
        """Value of an attribute, empty where it is missing."""
        return dict(self.attributes).get(tag, "").strip()


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A polyline in model space; a closed one does not repeat its first point [m]."""

    handle: str
    layer: str
    points: tuple[XY, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Word:
    """One line of text; on paper places and heights are in millimetres, in the model in metres.

    ``mark`` says what it is, ``sheet`` on which one it stands, from 1; 0 is the model.
    """

    text: str
    at: XY
    height: float
    layer: str = ""
    mark: Mark | None = None
    handle: str = ""
    sheet: int = 0


@dataclass(frozen=True, slots=True)
class Loose:
    """Something in model space of a type that no plan has, such as a piece of a symbol."""

    handle: str
    layer: str
    type: str
    at: XY


@dataclass(frozen=True, slots=True)
class Drawing:
    """A plan as it stands in a file.

    Parameters
    ----------
    name
        Name of the file.
    unit_name
        Unit of its model space, in words.
    symbols, lines, words, loose
        Model space [m].
    sheet_words
        Text of the sheet, on paper [mm].
    layers
        Names of its layers.
    repaired
        What was wrong in the file and was mended on reading.
    inks
        All that is drawn, thing by thing, in units of the file.
    unit_m
        A unit of its model space [m].
    """

    name: str
    unit_name: str
    symbols: tuple[DrawnSymbol, ...]
    lines: tuple[DrawnLine, ...]
    words: tuple[Word, ...]
    loose: tuple[Loose, ...]
    sheet_words: tuple[Word, ...]
    layers: frozenset[str]
    repaired: tuple[str, ...] = ()
    inks: tuple[Ink, ...] = ()
    unit_m: float = 1.0

    @property
    def is_marked(self) -> bool:
        """Whether the text of the sheets says what it is."""
        return any(word.mark is not None for word in self.sheet_words)

    def on(self, layer: str) -> Iterator[DrawnLine]:
        """Polylines on a layer, in drawing order."""
        return (line for line in self.lines if line.layer == layer)


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The layout that the geometry of a drawing shows.

    Parameters
    ----------
    layout
        Elements, header, crossovers.
    findings
        What could not be read as drawn.
    symbols
        Id of each element and the block it was read from.
    rounded_m
        What the lengths written in the drawing may lack together, as they are rounded [m].
    """

    layout: Layout
    findings: tuple[Finding, ...]
    symbols: tuple[tuple[str, DrawnSymbol], ...]
    rounded_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Audit:
    """What came of an audit.

    Parameters
    ----------
    source
        File audited.
    layout
        What lies where it was found.
    required
        What the site asks for; None where it does not say.
    separations
        Least distance for each rule, measured on the geometry.
    findings
        Rules that are broken, and what in the drawing does not agree with itself.
    """

    source: str
    site: Site
    layout: Layout
    required: Required | None
    separations: tuple[Separation, ...]
    findings: tuple[Finding, ...]

    @property
    def passes(self) -> bool:
        """Whether every rule is kept and every comparison holds."""
        return not any(finding.severity == "error" for finding in self.findings)

    @property
    def why(self) -> Reason:
        """What stands behind the verdict."""
        kept = sum(row.meets for row in self.separations)
        errors = sum(finding.severity == "error" for finding in self.findings)
        mend = reason("so-many-to-mend", errors=errors) if errors else None
        return reason("separations-kept", kept=kept, rows=len(self.separations), mend=mend)
