"""Files that come by mail, looked at before a library opens them.

A file's first bytes must be those of its suffix, as the library goes by content and some contents
name other files; a zip must not unpack to more than is sane, nor outside itself.
"""

from __future__ import annotations

import re
import zipfile
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from siteplan.errors import Fault, InputError

HEADS: Final = {
    ".gpkg": b"SQLite format 3\0",
    ".shp": b"\x00\x00\x27\x0a",
    ".fgb": b"fgb\x03fgb",
    ".kml": b"<",
    ".kmz": b"PK\x03\x04",
    ".zip": b"PK\x03\x04",
    ".geojson": b"{",
    ".json": b"{",
    ".parquet": b"PAR1",
}
"""First bytes of a file of each suffix; a file geodatabase, ``.gdb``, is a folder."""
SUFFIXES: Final = (*HEADS, ".gdb")
DECLARED: Final = re.compile(rb"<!(DOCTYPE|ENTITY)|<OGRVRT", re.IGNORECASE)
"""What no KML needs, and what can make a reader open other files or fill memory."""
LOOKED_AT: Final = 1 << 16
"""So much of a file is looked at before it is opened [bytes]."""
MOST_UNPACKED: Final = 4 << 30
"""What a zip may unpack to [bytes]."""
MOST_PACKED: Final = 300
"""How many times smaller than its content a zip may be."""
INSIDE: Final = (".shp", ".gpkg", ".fgb", ".geojson", ".kml")
"""What is looked for in a zip, in this order."""


def vetted(path: Path) -> str:
    """What the library is to open for a file.

    Raises
    ------
    InputError
        The file is not there, or is not what its name says.
    """
    suffix = path.suffix.lower()
    if not path.exists():
        raise refused(path, "is not there.", "Check the path.")
    if suffix == ".gdb" and path.is_dir():
        return str(path)
    if not path.is_file():
        raise refused(path, "is no file.", "Give a file, or a folder that ends in .gdb.")
    with path.open("rb") as file:
        head = file.read(LOOKED_AT)
    if not head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(HEADS[suffix].lstrip()):
        raise refused(path, f"is no {suffix} file inside.", "Export it again.")
    if suffix == ".kml" and DECLARED.search(head):
        raise refused(path, "declares more than a KML needs.", "Export it again.")
    if suffix == ".parquet":
        _need_pyarrow(path)
    return _unzipped(path) if suffix in (".zip", ".kmz") else str(path)


def _unzipped(path: Path) -> str:
    """Path inside a zip, as the library writes it."""
    try:
        with zipfile.ZipFile(path) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, OSError, ValueError) as error:
        raise refused(path, f"cannot be unpacked ({error}).", "Pack it again.") from None
    unpacked = sum(part.file_size for part in parts)
    if unpacked > min(MOST_UNPACKED, MOST_PACKED * max(path.stat().st_size, 1)):
        raise refused(path, f"would unpack to {unpacked / 1e6:,.0f} MB.", "Unpack it yourself.")
    names = [part.filename for part in parts]
    if any(Path(name).is_absolute() or ".." in Path(name).parts for name in names):
        raise refused(path, "holds names that lead out of it.", "Pack it again.")
    inside = f"/vsizip/{path.resolve()}"
    folders = {parent for name in names for parent in Path(name).parents}
    base = sorted(str(folder) for folder in folders if folder.suffix.lower() == ".gdb")
    if base:
        return f"{inside}/{base[0]}"
    if path.suffix.lower() == ".kmz":
        return str(path)
    for suffix in INSIDE:
        found = [name for name in names if name.lower().endswith(suffix)]
        if len(found) == 1:
            return f"{inside}/{found[0]}"
        if found:
            folder = str(Path(found[0]).parent)
            return inside if folder == "." else f"{inside}/{folder}"
    raise refused(path, f"holds none of {', '.join(INSIDE)}, .gdb.", "Unpack it, look inside.")


def _need_pyarrow(path: Path) -> None:
    if find_spec("pyarrow") is None:
        raise refused(
            path, "is GeoParquet, which needs pyarrow.", "pip install 'siteplan[parquet]'."
        )


def refused(path: Path, what: str, mend: str) -> InputError:
    """The error that a file cannot be used."""
    return InputError([Fault(path.name, what, mend)])
