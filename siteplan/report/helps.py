"""What would make a lot fit, line by line: each change with the loop types that it helps."""

from __future__ import annotations

from siteplan.alternatives.weighing import Weighing, nothing_helps
from siteplan.design.evaluate import Trial
from siteplan.findings.words import words_of
from siteplan.units.model import UnitSystem


def help_lines(
    weighing: Weighing, drawn: Trial, unit: UnitSystem, *, on_paper: bool = False
) -> tuple[str, ...]:
    """Changes that would make a lot fit, or that none was found; nothing where it fits.

    ``on_paper``: without the places of the site file, for who edits none.
    """
    nothing = nothing_helps(weighing, drawn)
    if nothing is not None:
        return (words_of(nothing, unit, on_paper=on_paper),)
    systems: dict[str, list[str]] = {}
    for remedy in weighing.remedies:
        words = words_of(remedy.change, unit, on_paper=on_paper)
        systems.setdefault(words, []).append(remedy.system)
    return tuple(f"{', '.join(made)}: {words}" for words, made in systems.items())
