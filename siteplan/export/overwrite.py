"""Whether a permit package may be written where it is asked for."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import ExportError

FILES = (
    "plan.dxf", "plan.png", "plan.pdf", "elements.csv", "takeoff.csv", "summary.json",
    "model.dxf", "elements.geojson", "stakes.gpx",
)  # fmt: skip
"""Files of the permit package; the last two only where the site has a coordinate system."""


def picture_name(number: int) -> str:
    """File of the picture of a sheet.

    Examples
    --------
    >>> picture_name(1), picture_name(3)
    ('plan.png', 'plan-L3.png')
    """
    return "plan.png" if number == 1 else f"plan-L{number}.png"


def package_files(*folders: Path) -> list[str]:
    """Files that a package may have, with the pictures of further sheets that folders hold."""
    pictures = {path.name for folder in folders for path in folder.glob("plan-L*.png")}
    numbers = sorted(int(name[6:-4]) for name in pictures if name[6:-4].isdecimal())
    return [*FILES, *(picture_name(number) for number in numbers)]


def refuse_to_overwrite(folder: Path, *, force: bool) -> None:
    """Nothing, where the package may be written.

    Raises
    ------
    ExportError
        The folder is a file, or holds a file of the package and ``force`` is not given.
    """
    if folder.exists() and not folder.is_dir():
        raise ExportError(f"{folder}: is a file, not a folder. Choose another with --out.")
    folders = [name for name in package_files(folder) if (folder / name).is_dir()]
    if folders:
        raise ExportError(f"{folder}: {folders[0]} is a folder there. Move it, or choose another.")
    present = [name for name in package_files(folder) if (folder / name).exists()]
    if present and not force:
        raise ExportError(
            f"{folder}: holds {', '.join(present)} already. Say --force (force=True) to replace, "
            "or choose another folder with --out."
        )
