"""The plain facts of each loop type, read once from ``loop_types.toml``.

What a loop type does (its ground, its engine, its capacity) stands with these facts in one record,
see `siteplan.design.loop_types`; rooms below that ask the facts alone.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Literal

from siteplan.vocabulary.kinds import frozen
from siteplan.vocabulary.pond_bodies import PondBody

Part = str
"""The part of an exchanger that a rule keeps away from something, one of `all_parts`."""
HEADER: Part = "header"
"""The part that every exchanger has."""
IN_PONDS: Part = "coil"
"""The part that lies in ponds, whatever it is."""
Tag = Literal["DEPTH", "LENGTH"]
"""A size of an element that its symbol carries."""


@dataclass(frozen=True, slots=True)
class LoopType:
    """What depends on the loop type alone.

    Parameters
    ----------
    name
        As written in a site file; the table of its options there has the same name.
    kind
        Kind of its elements, as files for programs name it.
    noun
        An element in words.
    parts
        Parts that rules bind, beside the header; where there are several, one element is of each.
    measure
        What is measured of it, in words.
    edge
        From where on an element distances are measured, in words.
    symbols
        Symbols that stand for its elements on the plan.
    layer
        Name of their layer in the table of layers.
    style
        Style of the symbols.
    tags
        Attributes of a symbol: sizes of its element that the plan tells.
    asked
        What the site file asks for between elements, and how that is measured, with a place for
        the spelling of ``center`` and ``who`` asks; empty: it asks for nothing.
    machine
        Machine that must come in; empty: none.
    usual_pipe
        Pipe of its circuits where nobody asks for another; empty: no circuits.
    legend
        The symbol in the legend; empty: the name of the part.
    size_mm
        Size of a symbol on paper; 0: drawn to scale [mm].
    sample_mm
        The same in the legend [mm].
    keep_off
        How much more than its radius a symbol keeps free of text.
    flow
        Whether flow is required of it, not length.
    lines
        Whether its elements are lines, staked at both ends, not places.
    spaced
        Whether the length required hangs on the distance between elements.
    edge_to_edge
        Whether the distance between elements is from edge to edge.
    """

    name: str
    kind: str
    noun: str
    parts: tuple[Part, ...]
    measure: str
    edge: str
    symbols: tuple[str, ...]
    layer: str
    style: str
    tags: tuple[Tag, ...]
    asked: str = ""
    machine: Literal["rig", "excavator", ""] = ""
    usual_pipe: str = ""
    legend: str = ""
    size_mm: float = 0.0
    sample_mm: float = 1.5
    keep_off: float = 1.0
    flow: bool = False
    lines: bool = False
    spaced: bool = False
    edge_to_edge: bool = False

    def called_as(self, body: PondBody) -> LoopType:
        """The same, in the words for what is laid in a pond."""
        return replace(
            self,
            noun=body.noun,
            edge=body.edge,
            symbols=(body.symbol,),
            layer=body.layer,
            legend=body.legend,
            measure=body.measure,
        )

    @property
    def short(self) -> str:
        """An element within a sentence that speaks of its pond already."""
        return self.noun.removeprefix("pond ")

    @property
    def drilled(self) -> bool:
        """Whether a drill rig makes its elements."""
        return self.machine == "rig"

    @property
    def dug(self) -> bool:
        """Whether an excavator makes its elements."""
        return self.machine == "excavator"


@cache
def loop_types() -> dict[str, LoopType]:
    """All loop types by name, in the order in which they are tried."""
    text = files("siteplan.vocabulary").joinpath("loop_types.toml").read_text(encoding="utf-8")
    return {
        name: LoopType(**{key: frozen(value) for key, value in {**table, "name": name}.items()})
        for name, table in tomllib.loads(text).items()
    }


def loop_type(name: str) -> LoopType:
    """Facts of a loop type."""
    return loop_types()[name]


def made_of(kind: str) -> LoopType:
    """Facts of the loop type whose elements are of a kind.

    Examples
    --------
    >>> made_of("coil").name
    'pond'
    """
    return next(loop for loop in loop_types().values() if loop.kind == kind)


def element_kinds() -> tuple[str, ...]:
    """Kinds of elements, one for each loop type."""
    return tuple(loop.kind for loop in loop_types().values())


def element_parts() -> tuple[Part, ...]:
    """Parts of all loop types that are laid: every part but the header.

    Examples
    --------
    >>> element_parts()
    ('trench', 'coil', 'bore', 'supply well', 'return well')
    """
    return tuple(part for loop in loop_types().values() for part in loop.parts)


def all_parts() -> tuple[Part, ...]:
    """All parts that a rule may bind."""
    return (*element_parts(), HEADER)


def that_binds(part: str) -> LoopType | None:
    """Facts of the first loop type with a part; None for the header, which all have.

    Examples
    --------
    >>> that_binds("return well").name, that_binds("header")
    ('open', None)
    """
    return next((loop for loop in loop_types().values() if part in loop.parts), None)


def called_part(part: str, loop: LoopType) -> str:
    """A part in the words for what is laid: what rules say of coils holds for mats and frames.

    Examples
    --------
    >>> from siteplan.vocabulary.pond_bodies import pond_body
    >>> frames = loop_type("pond").called_as(pond_body("plate frame"))
    >>> called_part("coil", frames), called_part("coil", loop_type("pond"))
    ('plate frame', 'coil')
    >>> called_part("header", frames), called_part("bore", loop_type("vertical"))
    ('header', 'bore')
    """
    return loop.short if part == loop.kind == IN_PONDS else part
