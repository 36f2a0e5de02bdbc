"""Files of a permit package, and whether they may be written where they are asked for."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from siteplan.export.together import Together

OWNER_FILE = "owner.pdf"
SUMS_FILE: Final = "package.sha256"
"""Checksums of all the others, written last: without it a package is not whole."""
FILES = (
    "plan.dxf", "plan.png", "plan.pdf", OWNER_FILE, "elements.csv", "takeoff.csv", "summary.json",
    "model.dxf", "stakes.csv", "elements.geojson", "stakes.gpx",
)  # fmt: skip
"""Files of the permit package; the owner's page only where something goes in the ground, the last
two only where the site has a coordinate system."""


FURTHER: Final = re.compile(r"plan-L(\d+)([A-Z]*)\.png")
"""Files of the pictures of further sheets."""


def picture_name(number: str) -> str:
    """File of the picture of a sheet.

    Examples
    --------
    >>> picture_name("L1"), picture_name("L1A"), picture_name("L3")
    ('plan.png', 'plan-L1A.png', 'plan-L3.png')
    """
    return "plan.png" if number == "L1" else f"plan-{number}.png"


def package_files(*folders: Path) -> list[str]:
    """Files that a package may have, with the pictures of further sheets that folders hold."""
    pictures = {path.name for folder in folders for path in folder.glob("plan-L*.png")}
    matches = [match for name in pictures if (match := FURTHER.fullmatch(name))]
    matches.sort(key=lambda match: (int(match[1]), len(match[2]), match[2]))
    return [*FILES, *(match[0] for match in matches)]


def permit_package(folder: Path) -> Together:
    """Files of a permit package in a folder."""
    return Together(folder, SUMS_FILE, package_files)
