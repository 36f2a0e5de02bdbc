"""How large what is on paper is in the drawing."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.sheet.model import XY, Ring, Sheet, Space
from siteplan.units.lengths import to_unit
from siteplan.units.model import UnitSystem


@dataclass(frozen=True, slots=True)
class Scale:
    """Factors of one sheet.

    Parameters
    ----------
    unit
        Of the model.
    paper
        Units of paper (inches or millimetres) in a millimetre.
    model
        Units of the drawing (feet or metres) that one unit of paper stands for.
    metres
        Length in the model of a millimetre on paper [m].
    """

    unit: UnitSystem
    paper: float
    model: float
    metres: float

    def size(self, size_mm: float, space: Space) -> float:
        """A length on paper [mm] in units of its space."""
        return size_mm * self.paper * (self.model if space == "model" else 1.0)

    def points(self, points: Ring, space: Space) -> list[XY]:
        """Places in units of their space."""
        if space == "paper":
            return [(x * self.paper, y * self.paper) for x, y in points]
        return [(to_unit(x, self.unit), to_unit(y, self.unit)) for x, y in points]

    def point(self, at: XY, space: Space) -> XY:
        """A place in units of its space."""
        return self.points((at,), space)[0]


def scale_of(sheet: Sheet) -> Scale:
    """Factors of a sheet."""
    drawing = sheet.unit.drawing
    ratio = sheet.view.ratio
    return Scale(
        sheet.unit, 1.0 / drawing.paper_unit_mm, ratio / drawing.paper_units, ratio / 1000.0
    )
