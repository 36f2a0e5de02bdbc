"""Files that come by mail, looked at before a library opens them.

A file's first bytes must be those of its suffix, as the library goes by content and some contents
name other files; a zip must not unpack to more than is sane, nor outside itself.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Final

from siteplan.errors import Fault, GeometryError, InputError
from siteplan.limits import MOST_PACKED, MOST_UNPACKED, MOST_XML_BYTES, MOST_ZIPPED

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
OVERLAP: Final = 64
"""What one piece of a file has of the piece before, so that no word is cut in two [bytes]."""
SIDES: Final = (".shx", ".dbf", ".prj", ".cpg", ".sbn", ".sbx", ".qix")
"""Files that are read with a Shapefile."""
LOOKED_AT: Final = 1 << 16
"""So much of a file is looked at before it is opened [bytes]."""
INSIDE: Final = (".shp", ".gpkg", ".fgb", ".geojson", ".kml")
"""What is looked for in a zip, in this order."""


UNPACKING: Final = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError,
    RuntimeError,
)  # fmt: skip
"""What a broken zip, a locked one or one packed in an unknown way raises."""


def vetted(path: Path) -> str:
    """What the library is to open for a file.

    Raises
    ------
    InputError
        The file is not there, or is not what its name says.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise refused(path, "is of no kind that is read.", f"Known: {', '.join(SUFFIXES)}.")
    if not _is_there(path):
        raise refused(path, "is not there.", "Check the path.")
    _plain_family(path)
    if suffix == ".gdb" and path.is_dir():
        return str(path)
    if not path.is_file():
        raise refused(path, "is no file.", "Give a file, or a folder that ends in .gdb.")
    try:
        with open(path, "rb") as file:
            _vet_content(path, suffix, file, path.stat().st_size)
    except OSError as error:
        raise refused(path, f"cannot be read ({error}).", "Check the file.") from None
    if suffix == ".parquet":
        _need_pyarrow(path)
    return _unzipped(path) if suffix in (".zip", ".kmz") else str(path)


def _is_there(path: Path) -> bool:
    try:
        path.stat()
    except (OSError, ValueError):
        return False
    return True


def _plain_family(path: Path) -> None:
    """Refuse pipes, devices and links to nowhere among the files that are read with a file."""
    family: list[Path] = []
    if path.is_dir():
        family = list(path.iterdir())
    elif path.suffix.lower() == ".shp":
        family = [path.with_suffix(suffix) for suffix in SIDES]
        family = [each for each in family if each.is_symlink() or each.exists()]
    for each in family:
        if not (each.is_file() or (path.is_dir() and each.is_dir())):
            raise refused(path, f"is read with {each.name}, which is no file.", "Export it again.")


def _vet_content(path: Path, suffix: str, file: IO[bytes], size: int) -> None:
    """Refuse a file whose content is not what its suffix says, or asks for more than itself."""
    head = file.read(LOOKED_AT)
    if not head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(HEADS[suffix].lstrip()):
        raise refused(path, f"is no {suffix} file inside.", "Export it again.")
    if suffix != ".kml":
        return
    if size > MOST_XML_BYTES:
        most = f"{MOST_XML_BYTES / 1e6:,.0f} MB are read."
        raise refused(path, f"has {size / 1e6:,.0f} MB; {most}", "Save it as GeoPackage.")
    kept = b""
    while head:
        if DECLARED.search(kept + head) or b"\0" in head:
            raise refused(path, "declares more than a KML needs.", "Export it again.")
        kept, head = head[-OVERLAP:], file.read(LOOKED_AT)


def _unzipped(path: Path) -> str:
    """Path inside a zip, as the library writes it."""
    try:
        with zipfile.ZipFile(path) as packed:
            names = _vetted_names(path, packed)
    except UNPACKING as error:
        raise refused(path, f"cannot be unpacked ({error}).", "Pack it again.") from None
    inside = f"/vsizip/{path.resolve()}"
    folders = {parent for name in names for parent in Path(name).parents}
    base = sorted(str(folder) for folder in folders if folder.suffix.lower() == ".gdb")
    if base:
        return f"{inside}/{base[0]}"
    if path.suffix.lower() == ".kmz":
        # read as a KMZ, what its one KML says of the shapes beside their names is lost
        alone = [name for name in names if name.lower().endswith(".kml")]
        return f"{inside}/{alone[0]}" if len(alone) == 1 else str(path)
    for suffix in INSIDE:
        found = [name for name in names if name.lower().endswith(suffix)]
        if len(found) == 1:
            return f"{inside}/{found[0]}"
        if found:
            folder = str(Path(found[0]).parent)
            return inside if folder == "." else f"{inside}/{folder}"
    raise refused(path, f"holds none of {', '.join(INSIDE)}, .gdb.", "Unpack it, look inside.")


def _vetted_names(path: Path, packed: zipfile.ZipFile) -> list[str]:
    """Names in a zip that neither unpacks to too much nor leads out, nor is not what it says."""
    parts = packed.infolist()
    if len(parts) > MOST_ZIPPED:
        raise refused(path, f"holds {len(parts):,} files.", f"At most {MOST_ZIPPED:,} are read.")
    unpacked = sum(part.file_size for part in parts)
    if unpacked > min(MOST_UNPACKED, MOST_PACKED * max(path.stat().st_size, 1)):
        raise refused(path, f"would unpack to {unpacked / 1e6:,.1f} MB.", "Unpack it yourself.")
    names = [part.filename for part in parts]
    if any(Path(name).is_absolute() or ".." in Path(name).parts for name in names):
        raise refused(path, "holds names that lead out of it.", "Pack it again.")
    for part in parts:
        suffix = Path(part.filename).suffix.lower()
        if suffix in INSIDE:
            with packed.open(part) as file:
                _vet_content(path / part.filename, suffix, file, part.file_size)
    return names


def _need_pyarrow(path: Path) -> None:
    if find_spec("pyarrow") is None:
        raise refused(
            path, "is GeoParquet, which needs pyarrow.", "pip install 'siteplan[parquet]'."
        )


@contextmanager
def on_earth(path: Path) -> Iterator[None]:
    """Shapes that lie nowhere on earth as a fault of the file."""
    try:
        yield
    except GeometryError as error:
        raise refused(path, str(error), "Check its coordinate system.") from None


def refused(path: Path, what: str, mend: str) -> InputError:
    """The error that a file cannot be used."""
    return InputError([Fault(path.name, what, mend)])
