"""Bores or trenches that lie on pieces of rows, laid out only where somebody looks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.screening.held import Laid, PlacedRows, Way, bores_on, places_on, trenches_on
from siteplan.screening.held import length_on as trench_on
from siteplan.screening.scan import Floats, Integers, Spans
from siteplan.screening.terms import BORES, Terms, trench_rows
from siteplan.site.model import System


@dataclass(frozen=True, slots=True)
class Rowed:
    """Pieces of rows, each wholly taken by bores or trenches.

    Parameters
    ----------
    terms, system
        What holds on the lots, and the loop type.
    pieces
        One way after the other: the pieces, with the lot and the direction [rad] of each.
    """

    terms: Terms
    system: System
    pieces: tuple[tuple[Way, PlacedRows, Integers, Floats], ...] = ()

    @property
    def laid(self) -> Laid:
        """The bores or trenches, lot by lot."""
        found = []
        for way, placed, owner, angle in self.pieces:
            lines, each = (
                bores_on(placed, way, spacing_of(self.terms, self.system), angle)
                if self.system == BORES
                else trenches_on(placed, trench_rows(self.terms), angle)
            )
            found.append((lines, owner[each]))
        return Laid.joined(found)

    def lots(self, count: int) -> NDArray[np.bool_]:
        """Which of so many lots have some."""
        found = np.zeros(count, dtype=bool)
        for _, _, owner, _ in self.pieces:
            found[owner] = True
        return found

    def beside(self, others: Rowed) -> Rowed:
        """These and others."""
        return Rowed(self.terms, self.system, (*self.pieces, *others.pieces))

    def of(self, lots: NDArray[np.bool_], numbers: Integers | None = None) -> Rowed:
        """Those of some of the lots; ``numbers``: what the lots are called instead."""
        found = []
        for way, placed, owner, angle in self.pieces:
            kept = lots[owner]
            own = owner[kept] if numbers is None else numbers[owner[kept]]
            rows = PlacedRows(placed.spans.where(kept), placed.across[kept])
            found.append((way, rows, own, angle[kept]))
        return Rowed(self.terms, self.system, tuple(found))


def spacing_of(terms: Terms, system: System) -> float:
    """From bore to bore, or from trench to trench [m]."""
    options = terms.exchanger
    return options.vertical.spacing_m if system == BORES else options.horizontal.spacing_m


def worth(spans: Spans, way: Way, terms: Terms, system: System) -> Floats:
    """Bores, or length of trench [m], on each piece of a row."""
    if system == BORES:
        return places_on(spans, way, terms.exchanger.vertical.spacing_m)[1]
    return trench_on(spans, trench_rows(terms))
