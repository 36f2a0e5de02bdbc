"""A parcel that comes from elsewhere: the text of a deed, or a file that `siteplan new` reads."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path
from typing import Any, Final

import tomlkit

from siteplan.errors import Fault, InputError
from siteplan.intake.folder import folder_of_lot, write_folder
from siteplan.intake.pick import LotAsked
from siteplan.intake.site_text import Stated
from siteplan.intake.survey import folder_of_survey
from siteplan.web.lot_file import is_plain
from siteplan.web.session import Session

READ: Final = (".gpkg", ".zip", ".geojson", ".json", ".kml", ".fgb", ".parquet", ".dxf")
Json = dict[str, Any]


def take_deed(session: Session, values: Any) -> None:
    """Draw the parcel by the calls of a deed.

    Raises
    ------
    InputError
        The page is out of date.
    """
    text = str(values["text"])
    store = session.store
    document = tomlkit.parse(store.files[store.path.name])
    geometry = document.setdefault("geometry", tomlkit.table())
    for key in ("parcel", "file", "layer", "crs"):
        geometry.pop(key, None)
    deed = tomlkit.table()
    deed["text"] = text
    if values.get("unit"):
        deed["unit"] = str(values["unit"])
    geometry["deed"] = deed
    session.replace_text(str(values["digest"]), tomlkit.dumps(document))


def take_file(session: Session, values: Any) -> Json | None:
    """Take the lot of a file that was sent, with what the file has around it.

    Raises
    ------
    InputError
        It cannot be read, or does not say which lot is meant.
    """
    name, body = str(values["name"]), values["body"]
    if not is_plain(name) or Path(name).suffix.lower() not in READ:
        mend = f"Send one of: {', '.join(READ)}; a Shapefile as a zip."
        raise InputError([Fault(name[:80], "is no file that is read here.", mend)])
    unit = session.scene.drawing.unit.name
    stated = Stated(unit, (), datetime.date.today())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(body)
        at = values.get("at")
        spot = None
        if at:
            x, y = (float(part) for part in str(at).split(","))
            spot = (x, y)
        asked = LotAsked(path, values.get("layer") or None, values.get("where") or None, spot,
                         values.get("crs") or None)  # fmt: skip
        if path.suffix.lower() == ".dxf":
            new = folder_of_survey(asked, stated, Path(folder) / "new")
        else:
            new = folder_of_lot(asked, None, stated)
        write_folder(Path(folder) / "new", new)
        _take(session, str(values["digest"]), Path(folder) / "new", new.copies)
    return None


def _take(session: Session, digest: str, folder: Path, copies: Any) -> None:
    """Put the new geometry in the place of the old; all else in the site file stays."""
    store = session.store
    made = tomlkit.parse((folder / "site.toml").read_text(encoding="utf-8"))
    document = tomlkit.parse(store.files[store.path.name])
    document["geometry"] = made["geometry"]
    for name in copies:
        target = store.folder / name
        if target.exists() and target.read_bytes() != copies[name]:
            raise InputError([Fault(name, "is in the folder already.", "Rename the file.")])
        target.write_bytes(copies[name])
    files = {store.path.name: tomlkit.dumps(document)}
    lot = folder / "lot.geojson"
    if lot.exists():
        if (store.folder / lot.name).exists() and lot.name not in store.files:
            raise InputError([Fault(lot.name, "is in the folder already.", "Move it away first.")])
        files[lot.name] = lot.read_text(encoding="utf-8")
    session.replace_files(digest, files)
