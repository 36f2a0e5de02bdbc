"""The drawing tests share one set of lots."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "sheet"))
