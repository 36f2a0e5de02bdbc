"""Which of the loop types tried is drawn."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.design.evaluate import Trial


def choose(trials: Sequence[Trial]) -> Trial | None:
    """First trial that fits, None where none does."""
    return next((trial for trial in trials if trial.fits), None)
