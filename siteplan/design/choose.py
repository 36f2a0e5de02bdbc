"""Which of the loop types tried is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.design.evaluate import Trial


def choose(trials: Sequence[Trial]) -> Trial | None:
    """First trial that fits, None where none does."""
    return next((trial for trial in trials if trial.fits), None)


def closest(trials: Sequence[Trial]) -> Trial:
    """Trial that provides the largest share of what it must; the first of equals."""
    return max(trials, key=_share)


def _share(trial: Trial) -> float:
    if trial.layout is None or trial.required is None or trial.required.length_m <= 0:
        return -1.0
    return trial.layout.length_m / trial.required.length_m
