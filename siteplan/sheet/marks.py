"""Marks: what a text of the sheet is, for programs that read the drawing; its words are for people.

The names of blocks and of what stands in them stay when a heading is worded otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Mark:
    """What a text of the sheet is.

    Parameters
    ----------
    block
        Name of the table or other block it belongs to, or ``"label"`` of a name on the plan.
    row
        Name of the row; of a label the id that it shows. Empty for what is in no row.
    column
        Name of the column, or of the paragraph.
    line
        Which line of the text in that place, from 0.
    """

    block: str
    row: str = ""
    column: str = ""
    line: int = 0


# blocks that an audit reads
ELEMENTS: Final = "elements"
TOLD_ELSEWHERE: Final = "told-elsewhere"
KEYED: Final = "keyed-pipes"
TAPES: Final = "element-tapes"
BASE_LINES: Final = "base-lines"
HEADER: Final = "header"
CORNERS: Final = "corners"
SEPARATIONS: Final = "separations"
CIRCUITS: Final = "circuits"
GROUPS: Final = "circuit-groups"
PIECES: Final = "header-pipes"
TAKE_OFF: Final = "take-off"
STAKING: Final = "staking"
PIPES: Final = "pipes"
"""Circuits and flow in sentences."""
TITLE_BLOCK: Final = "title-block"
SPECIFICATION: Final = "specification"
SEQUENCE: Final = "sequence"
LABEL: Final = "label"
"""Names of elements, crossovers and tie points beside them on the plan."""

FLOW: Final = "flow"
"""Arrows of the header: row, what the pipe does; column, whether it leads out or home."""

TIE: Final = "tie"
"""Symbols of tie points, by their letters."""

PEG: Final = "peg"
"""Symbols of the pegs of base lines, by their names."""

# paragraphs
HEADING: Final = "heading"
KIND: Final = "kind"
"""Which sheet of a set it is, in the title block."""
AGAIN: Final = "heading-again"
"""The heading over the rest of a table in the next column."""
MORE: Final = "more"
"""How many rows a table leaves out."""
CIRCUIT_WORDS: Final = "circuit-words"
FLOW_WORDS: Final = "flow-words"
