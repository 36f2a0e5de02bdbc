"""``siteplan sample``: the invented lots that come with siteplan, to look at and to start from."""

from __future__ import annotations

import argparse
import os
import shutil
import tempfile
from pathlib import Path

import siteplan
from siteplan.cli.report import Terminal
from siteplan.errors import Fault, InputError
from siteplan.site.readers.site_file import SITE_FILE

READ_ME = "README.md"


def run_sample(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan sample``."""
    terminal = Terminal(quiet=arguments.quiet)
    if arguments.name is None:
        for folder in samples():
            terminal.say(f"{folder.name}: {_about(folder)}")
        return 0
    folder = Path(arguments.folder or arguments.name)
    copy_sample(arguments.name, folder)
    terminal.say(f"Written to {folder}. Next: siteplan plan {folder}")
    return 0


def samples() -> list[Path]:
    """Folders of the samples, by name: within an installed package, else beside it."""
    package = Path(siteplan.__file__).parent
    for home in (package / "samples", package.parent / "samples"):
        if home.is_dir():
            return sorted(path for path in home.iterdir() if (path / SITE_FILE).is_file())
    return []


def copy_sample(name: str, folder: Path) -> None:
    """Copy a sample to a folder that is not there yet: whole, or not at all.

    Raises
    ------
    InputError
        No sample has this name, or something is in the folder's place.
    """
    found = {path.name: path for path in samples()}
    if name not in found:
        known = f"Choose one of {', '.join(found)}."
        raise InputError([Fault(name, "is no sample.", known)])
    if folder.exists():
        raise InputError([Fault(str(folder), "is there already.", "Name another folder.")])
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".siteplan-", dir=folder.parent) as scratch:
            shutil.copytree(found[name], Path(scratch) / "copy")
            os.replace(Path(scratch) / "copy", folder)
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})."
        raise InputError([Fault(str(folder), what, "Name another folder.")]) from None


def _about(folder: Path) -> str:
    """The first sentence of a sample's own page, without its name."""
    lines = (folder / READ_ME).read_text(encoding="utf-8").splitlines()
    return next((line for line in lines[1:] if line), "")
