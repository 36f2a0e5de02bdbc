"""Files that belong together: all of them or none, whatever breaks a run off.

Files are written to a folder of their own beside their place, with a list of their checksums. A new
folder comes to its place in one step. In a folder that is there already the old files move out, all
of them before the first new one moves in, and the list of checksums moves first out and last in:
old and new never lie mixed, and files without their list are not whole. What a run that was broken
off left behind is put right by the next one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from siteplan.errors import ExportError
from siteplan.limits import MOST_LIST_BYTES, file_beyond

UNFINISHED: Final = ".siteplan-unfinished"
"""Folder for files not yet in their place; before the folder is there, its name is added."""
LOCK, NEW, OLD = "lock", "new", "replaced"
"""In it: what one run holds and another cannot, files written, files they replace."""


@dataclass(frozen=True, slots=True)
class Together:
    """Files that one run writes together.

    Parameters
    ----------
    folder
        Where they are to lie.
    sums
        Name of the list of their checksums, as ``sha256sum --check`` reads it.
    names
        Names of such files that the folders given hold, or may hold.
    """

    folder: Path
    sums: str
    names: Callable[..., Iterable[str]]

    def present(self) -> list[str]:
        """Files that are there, or would be had no run been broken off."""
        kept = _unfinished(self.folder) / OLD
        names = [*self.names(self.folder, kept), self.sums]
        return [name for name in names if any((at / name).exists() for at in (self.folder, kept))]

    def refuse_to_overwrite(self, *, force: bool) -> None:
        """Nothing, where the files may be written.

        Raises
        ------
        ExportError
            The folder is a file, or holds one of the files and ``force`` is not given.
        """
        folder = self.folder
        if folder.exists() and not folder.is_dir():
            raise ExportError(f"{folder}: is a file, not a folder. Choose another with --out.")
        present = self.present()
        folders = [name for name in present if (folder / name).is_dir()]
        if folders:
            raise ExportError(
                f"{folder}: {folders[0]} is a folder there. Move it, or choose another."
            )
        if present and not force:
            raise ExportError(
                f"{folder}: holds {', '.join(present)} already. Say --force (force=True) to "
                "replace, or choose another folder with --out."
            )

    def write(
        self,
        draw: Callable[[Path], None],
        *,
        force: bool = False,
        advise: Callable[[str], None] = lambda _: None,
    ) -> list[Path]:
        """Paths of the files that ``draw`` writes to the folder it is given, in their place.

        Raises
        ------
        ExportError
            A file is there already and ``force`` is not given, another run is writing there, or a
            file cannot be written.
        """
        try:
            self.folder.parent.mkdir(parents=True, exist_ok=True)
            self._clear_beside(advise)
            with _alone(self.folder, advise) as scratch:
                try:
                    return self._written(draw, scratch, force=force, advise=advise)
                finally:
                    self._clear(scratch)
        except OSError as error:
            raise ExportError(
                f"{self.folder}: cannot be written ({error.strerror or error}). Choose another "
                "folder with --out."
            ) from error

    def _written(
        self,
        draw: Callable[[Path], None],
        scratch: Path,
        *,
        force: bool,
        advise: Callable[[str], None],
    ) -> list[Path]:
        if self._put_back(scratch):
            advise(f"{self.folder}: the files that a run broken off had begun to replace are back")
        self.refuse_to_overwrite(force=force)
        self._clear(scratch)
        new = scratch / NEW
        new.mkdir()
        draw(new)
        written = [name for name in self.names(new) if (new / name).exists()]
        (new / self.sums).write_text(checksums(new, written), encoding="utf-8", newline="\n")
        self._place(scratch)
        return [self.folder / name for name in (*written, self.sums)]

    def _place(self, scratch: Path) -> None:
        """Move the new files to their place; where one cannot be, the old ones go back."""
        new, old, folder = scratch / NEW, scratch / OLD, self.folder
        if not folder.exists():
            shutil.copystat(folder.parent, new)
            os.replace(new, folder)
            return
        old.mkdir()
        try:
            for name in (self.sums, *self.names(folder)):
                if (folder / name).exists():
                    os.replace(folder / name, old / name)
            for name in (*self.names(new), self.sums):
                if (new / name).exists():
                    os.replace(new / name, folder / name)
        except BaseException:
            self._put_back(scratch)
            raise

    def _put_back(self, scratch: Path) -> bool:
        """Whether old files were put back because not all of the new ones came to their place.

        Can be broken off at any moment and done again: a new file goes back to where it was
        written, so that what lies in the folder beside such a file is an old one.
        """
        if not _half_replaced(scratch, self.sums):
            return False
        new, old, folder = scratch / NEW, scratch / OLD, self.folder
        replaced = [name for name in (*self.names(old), self.sums) if (old / name).exists()]
        for name in _names_in((new / self.sums).read_text(encoding="utf-8")):
            if not (new / name).exists() and (folder / name).exists():
                os.replace(folder / name, new / name)
        for name in replaced:
            os.replace(old / name, folder / name)
        old.rmdir()
        return bool(replaced)

    def _clear(self, scratch: Path) -> None:
        """Remove what is not needed any more: never an old file that has not been replaced."""
        if not _half_replaced(scratch, self.sums):
            for name in (OLD, NEW):
                shutil.rmtree(scratch / name, ignore_errors=True)

    def _clear_beside(self, advise: Callable[[str], None]) -> None:
        """Remove what a run left that was broken off before the folder was there."""
        if self.folder.is_dir() and (left := _beside(self.folder)).is_dir():
            shutil.rmtree(left, ignore_errors=True)
            advise(f"{left}: left by a run that was broken off; removed")


def checksums(folder: Path, names: Iterable[str]) -> str:
    """List of the checksums of files, as ``sha256sum --check`` reads it (GNU coreutils)."""
    return "".join(f"{_digest(folder / name)}  {name}\n" for name in names)


def changed_files(folder: Path, sums: str) -> list[str] | None:
    """Files that are not as the list of checksums says; None where there is no list to read."""
    if file_beyond(folder / sums, MOST_LIST_BYTES):
        return None
    try:
        text = (folder / sums).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None
    told = (line.partition("  ") for line in text.splitlines())
    return [
        name for digest, _, name in told if not (_is_plain(name) and _is(folder / name, digest))
    ]


def broken_off(folder: Path, sums: str) -> bool:
    """Whether a run was broken off while it replaced the files of a folder."""
    return _half_replaced(folder / UNFINISHED, sums)


def _half_replaced(scratch: Path, sums: str) -> bool:
    """Whether files have begun to move and the last one, the list of checksums, has not."""
    return (scratch / OLD).is_dir() and (scratch / NEW / sums).exists()


def _is_plain(name: str) -> bool:
    """Whether a name leads nowhere else: lists of checksums come by mail, too."""
    return bool(name) and Path(name).name == name


def _is(path: Path, digest: str) -> bool:
    try:
        return path.is_file() and _digest(path) == digest
    except OSError:
        return False


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _names_in(text: str) -> list[str]:
    names = (line.partition("  ")[2] for line in text.splitlines())
    return [name for name in names if _is_plain(name)]


def _unfinished(folder: Path) -> Path:
    """Where the files of a folder are written: within it, or beside it where it is yet to come.

    Both are on the same disk as the files' place, where moving is one step.
    """
    return folder / UNFINISHED if folder.is_dir() else _beside(folder)


def _beside(folder: Path) -> Path:
    return folder.parent / f"{UNFINISHED}-{folder.name}"


@contextlib.contextmanager
def _alone(folder: Path, advise: Callable[[str], None]) -> Iterator[Path]:
    """Folder for files that are yet to come to their place, where no other run writes meanwhile.

    What holds it is a lock of the operating system, which ends with the process that has it,
    however that ends.
    """
    scratch = _unfinished(folder)
    busy = ExportError(
        f"{folder}: another run is writing there. Wait for it, or choose another folder with --out."
    )
    left = scratch.is_dir()
    scratch.mkdir(exist_ok=True)
    lock = scratch / LOCK
    try:
        file = lock.open("ab")
    except FileNotFoundError:  # another run ended in this moment and took the folder with it
        raise busy from None
    with file:
        if not (_held(file) and _still_there(file, lock) and _unfinished(folder) == scratch):
            raise busy
        if left:
            advise(f"{scratch}: left by a run that was broken off; removed")
        try:
            yield scratch
        finally:
            if sys.platform != "win32":
                _remove(scratch)
    if sys.platform == "win32":  # where a file that is open cannot be removed
        _remove(scratch)


def _remove(scratch: Path) -> None:
    """Remove a folder that holds nothing but its lock."""
    with contextlib.suppress(OSError):
        (scratch / LOCK).unlink()
        scratch.rmdir()


def _held(file: IO[bytes]) -> bool:
    """Whether this process now has the lock of a file."""
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _still_there(file: IO[bytes], path: Path) -> bool:
    """Whether a path still names a file that is open."""
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except OSError:
        return False
