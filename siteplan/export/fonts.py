"""The two fonts of the sheet as files: DejaVu Sans, which comes with matplotlib."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import matplotlib as mpl

NAMES: Final = {False: "DejaVuSans", True: "DejaVuSans-Bold"}
"""Name of the font, by whether it is bold."""
CAPITAL: Final = 1493 / 2048
"""Height of a capital of DejaVu Sans in parts of the font size."""


def font_file(*, bold: bool) -> Path:
    """Where the font lies."""
    return Path(mpl.get_data_path()) / "fonts" / "ttf" / f"{NAMES[bold]}.ttf"
