"""``python -m siteplan``."""

from __future__ import annotations

import sys

from siteplan.cli import main

if __name__ == "__main__":
    sys.exit(main())
