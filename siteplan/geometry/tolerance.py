"""The one tolerance that decides "inside" and "far enough", for engines and checks alike."""

from __future__ import annotations

from typing import Final

TOLERANCE: Final = 1e-6
"""Slack in every comparison of positions and distances [m]."""

ARC_STEP_DEG: Final = 90.0 / 32.0
"""Widest angle that one straight piece of a drawn arc spans [deg]."""
