"""Whether the lot holds an exchanger, in words: the verdict, with every loop type that fits."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.design.evaluate import Trial
from siteplan.design.scattered import is_scattered, pieces_of
from siteplan.findings.words import words_of
from siteplan.units.model import UnitSystem


def verdict_head(
    trials: Sequence[Trial], drawn: Trial, *, asked: bool, less: str = ""
) -> tuple[str, str]:
    """The verdict, and the loop types that it speaks of.

    ``less``: the one that takes less than half the work of the one drawn.

    Examples
    --------
    ``("FITS", "horizontal (drawn), vertical (less than half the work)")``,
    ``("DOES NOT FIT", "closest: vertical")``, and where nothing but the fluid stops them
    ``("NOT YET", "room for horizontal (drawn), vertical")``.
    """
    if drawn.has_room and not drawn.fits:
        return "NOT YET", f"room for {_drawn_and_others(trials, drawn)}"
    if not drawn.fits and drawn.layout is not None and drawn.layout.by_hand:
        return "DOES NOT FIT", f"{drawn.system} as placed by hand"
    if not drawn.fits:
        return "DOES NOT FIT", drawn.system if asked else f"closest: {drawn.system}"
    return "FITS", _drawn_and_others(trials, drawn, less)


def _drawn_and_others(trials: Sequence[Trial], drawn: Trial, less: str = "") -> str:
    others = [
        _with_remarks(trial, "less than half the work" if trial.system == less else "")
        for trial in _alike(trials, drawn)
        if trial.system != drawn.system
    ]
    return ", ".join((_with_remarks(drawn, "drawn" if others else ""), *others))


def _with_remarks(trial: Trial, remark: str) -> str:
    """Name of a loop type with what there is to remark, in brackets."""
    pieces = ""
    if trial.layout is not None and is_scattered(trial.layout):
        pieces = f"in {pieces_of(trial.layout)} pieces"
    told = ", ".join(filter(None, (remark, pieces)))
    return f"{trial.system} ({told})" if told else trial.system


def _alike(trials: Sequence[Trial], drawn: Trial) -> list[Trial]:
    """Loop types that fit as the drawn one does, or that as there nothing but their fluid stops."""
    return [trial for trial in trials if trial.has_room and trial.fits == drawn.fits]


def verdict_words(
    trials: Sequence[Trial], drawn: Trial, unit: UnitSystem, *, less: str = ""
) -> str:
    """The verdict in a sentence or two, as it stands on the sheet."""
    why = words_of(drawn.why, unit, on_paper=True)
    word, named = verdict_head(trials, drawn, asked=True, less=less)
    others = others_fit(trials, drawn)
    if drawn.has_room and len(_alike(trials, drawn)) > 1:
        return f"{word}: {named}. {drawn.system.capitalize()}: {why}{others}"
    return f"{word}: {why}{others}"


def others_fit(trials: Sequence[Trial], drawn: Trial) -> str:
    """That other loop types fit where the one drawn does not, as of places given by hand."""
    others = [] if drawn.fits else [trial.system for trial in trials if trial.fits]
    return f". Would fit: {', '.join(others)}" if others else ""
