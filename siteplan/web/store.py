"""The files of a lot on disk, each change saved at once, with the states that were before.

The site file on disk is the truth. What the page changes is written whole or not at all; the last
states lie beside it in a folder of their own, so that a killed server forgets none of them.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Final

from siteplan.errors import ExportError, Fault, InputError
from siteplan.limits import MOST_GEOJSON_BYTES, MOST_TOML_BYTES, file_beyond
from siteplan.web.lot_file import named_lot
from siteplan.web.merge import Files, put_together

STATES: Final = ".siteplan-states"
"""Folder of the states, beside the site file."""
MOST_KEPT: Final = 50
"""States kept on disk; in a running server undo goes back to its start."""


class Store:
    """Files of one lot, the states before and after them.

    Parameters
    ----------
    path
        The site file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()
        self.folder = self.path.parent
        self.files: Files = self._read()
        self._states: list[Files] = []
        self._names: list[int] = []
        self._at = 0
        self._load_states()

    @property
    def digest(self) -> str:
        """What tells these texts from all others."""
        return digest_of(self.files)

    @property
    def steps(self) -> tuple[int, int]:
        """How many changes can be undone, and done again."""
        return self._at, len(self._states) - 1 - self._at

    def changed_outside(self) -> bool:
        """Whether what is on disk is not what was saved last."""
        try:
            return digest_of(self._read()) != self.digest
        except InputError:
            return True

    def save(self, files: Files) -> None:
        """Write a new state; what was undone before it is forgotten.

        Raises
        ------
        ExportError
            A file cannot be written; what was there stays.
        """
        if dict(files) == dict(self.files):
            return
        del self._states[self._at + 1 :]
        for name in self._names[self._at + 1 :]:
            self._state_path(name).unlink(missing_ok=True)
        del self._names[self._at + 1 :]
        self._keep(files)
        self._write(files)

    def go(self, steps: int) -> bool:
        """Go forth by so many states, or back, as far as there are any; whether there is one."""
        at = max(0, min(self._at + steps, len(self._states) - 1))
        if at == self._at:
            return False
        self._write(self._states[at])
        self._at = at
        return True

    def merge_outside(self) -> bool:
        """Put together what was changed here and by somebody else; whether that could be done.

        Both are kept as states: undo leaves what somebody else wrote, and once more what was here.
        """
        mine = self.files
        try:
            theirs = self._read()
        except InputError:
            return False
        both = put_together(self._states[: self._at + 1], mine, theirs)
        if both is None:
            return False
        self.take_outside(theirs)
        self.save(both)
        return True

    def take_outside(self, theirs: Files | None = None) -> None:
        """Take what somebody else wrote as the newest state."""
        files = self._read() if theirs is None else theirs
        del self._states[self._at + 1 :], self._names[self._at + 1 :]
        self._keep(files)
        self.files = files

    def keep_mine(self) -> None:
        """Write what was saved last over what somebody else wrote, which is kept as a state."""
        mine = self.files
        with contextlib.suppress(InputError):
            self.take_outside()
        self.save(mine)

    # --- disk

    def _write(self, files: Files) -> None:
        # the lot first: a site file must not name one that is not there yet
        for name in sorted(files, key=lambda name: name == self.path.name):
            if files[name] != self.files.get(name):
                write_whole(self.folder / name, files[name])
        self.files = dict(files)

    def _read(self) -> Files:
        site = _text(self.path, MOST_TOML_BYTES)
        files = {self.path.name: site}
        name = named_lot(site)
        if name and (self.folder / name).is_file():
            lot = self.folder / name
            # a link may lead anywhere: only what lies in the folder itself is changed here
            if lot.resolve().parent == self.folder:
                files[name] = _text(lot, MOST_GEOJSON_BYTES)
        return files

    def _keep(self, files: Files) -> None:
        name = self._names[-1] + 1 if self._names else 1
        self._states.append(dict(files))
        self._names.append(name)
        self._at = len(self._states) - 1
        self._state_path(name).parent.mkdir(exist_ok=True)
        write_whole(self._state_path(name), json.dumps(files, ensure_ascii=False))
        for old in self._names[:-MOST_KEPT]:
            self._state_path(old).unlink(missing_ok=True)

    def _state_path(self, number: int) -> Path:
        return self.folder / STATES / self.path.stem / f"{number:06d}.json"

    def _load_states(self) -> None:
        home = self.folder / STATES / self.path.stem
        home.mkdir(parents=True, exist_ok=True)
        for path in sorted(home.glob("[0-9]*.json")):
            with contextlib.suppress(OSError, ValueError):
                files = json.loads(path.read_text(encoding="utf-8"))
                if self.path.name in files:
                    self._states.append(files)
                    self._names.append(int(path.stem))
        same = [at for at, files in enumerate(self._states) if files == dict(self.files)]
        if same:
            self._at = same[-1]
        else:
            self._keep(self.files)


def digest_of(files: Files) -> str:
    """What tells texts from all others, whatever their names' order."""
    text = json.dumps(dict(files), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def write_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all, with the rights that it had.

    Raises
    ------
    ExportError
        It cannot be written; what was there stays.
    """
    new = ""
    try:
        handle, new = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            os.chmod(new, path.stat().st_mode & 0o777)
        else:
            os.chmod(new, 0o644)
        os.replace(new, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.unlink(new)
        raise ExportError(f"{path}: cannot be written ({error.strerror}).") from error


def _text(path: Path, most: int) -> str:
    beyond = file_beyond(path, most)
    if beyond:
        raise InputError([Fault(path.name, *beyond)])
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return file.read()
    except (OSError, ValueError) as error:
        raise InputError([Fault(path.name, f"cannot be read ({error}).", "")]) from error
