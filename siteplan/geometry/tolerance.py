"""The one tolerance that decides "inside" and "far enough", for engines and checks alike."""

from __future__ import annotations

from typing import Final

TOLERANCE: Final = 1e-6
"""Slack in every comparison of positions and distances [m]."""

PARALLEL_RAD: Final = 0.002
"""Edges whose directions differ by less were drawn parallel or square [rad]."""

ARC_STEP_DEG: Final = 90.0 / 32.0
"""Angle that one straight piece of a drawn arc may always span [deg]."""
ARC_OUT: Final = 0.005
"""How far such a piece may lie outside a small arc: nothing that a tape could tell [m]."""
