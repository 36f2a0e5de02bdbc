"""Where an open loop gives its water to a pond or stream, in place of a return well."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Final

from siteplan.layout.centred import Centred
from siteplan.layout.elements import Coil, Element, Well
from siteplan.rule_books.model import Part

OUTFALL: Final = "outfall"
OUTFALL_M: Final = 0.1
"""Diameter of the pipe of an outfall, as it is drawn [m]."""


@dataclass(frozen=True, slots=True)
class Outfall(Centred):
    """Where an open loop gives its water to a pond or stream: its place, diameter of its pipe [m].

    It stands in place of a return well; ``into`` is the id of the pond or stream. What binds the
    header binds it.
    """

    kind: ClassVar[str] = Well.kind
    into: str

    @property
    def part(self) -> Part:
        """Which rules bind it: those of the header, whose end it is."""
        return "header"

    @property
    def depth_m(self) -> float:
        """It goes no deeper than the header [m]."""
        return 0.0

    @property
    def bottom_m(self) -> float | None:
        """Not known."""
        return None

    @property
    def pipe_m(self) -> float:
        """No circuit runs through it [m]."""
        return 0.0

    @property
    def symbol(self) -> str:
        """Symbol that stands for it on the plan."""
        return OUTFALL


def called(element: Element) -> str:
    """What an element is in lists of stakes: its kind, of an outfall, mat or frame that."""
    if isinstance(element, Coil):
        return element.body
    return OUTFALL if isinstance(element, Outfall) else element.kind
