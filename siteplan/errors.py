"""The exception tree: everything siteplan raises on purpose descends from SitePlanError.

SitePlanError
├── InputError      the site file or what it points to has faults (all of them, together)
├── RuleError       a rule book or an own rule cannot be used
├── DemandError     loads, ground and fluid allow no length of a loop type (in demand/model.py)
├── GeometryError   a shape or a distance handed to an engine makes no sense
├── CheckError      the independent check refuses a layout the engine believed in: a bug
└── ExportError     a file cannot be written
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SHORT, LONG = 400, 1200
"""Characters of a place or a fault in a message, and of its mend, which may list what is known."""


class SitePlanError(Exception):
    """Root of all errors that siteplan raises on purpose."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input.

    Parameters
    ----------
    where
        File and key, or feature id, as the user would look it up.
    what
        What is wrong, with the value found.
    mend
        What to do about it.
    thing, key
        Id of the thing on the lot that it is about, and the key there; empty: of none.
    """

    where: str
    what: str
    mend: str
    thing: str = ""
    key: str = ""

    def __str__(self) -> str:
        told = (
            f"{_in_short(self.where)}: {_in_short(self.what)} {_in_short(self.mend, LONG)}".rstrip()
        )
        return " ".join(told.splitlines())


def _in_short(text: str, most: int = SHORT) -> str:
    """A text without its middle, where it is long: what is written in a file is told in short.

    Examples
    --------
    >>> len(_in_short("x" * 100_000)) <= SHORT
    True
    """
    if len(text) <= most:
        return text
    half = most // 2 - 3
    return f"{text[:half]} ... {text[-half:]}"


class FaultsError(SitePlanError):
    """An error that carries every fault found, not only the first."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class InputError(FaultsError):
    """The site file, or a file it names, has faults; all are listed in ``faults``."""


class RuleError(FaultsError):
    """A rule book has faults; all are listed in ``faults``."""


class GeometryError(SitePlanError):
    """A shape or a distance handed to an engine makes no sense."""


class CheckError(SitePlanError):
    """The independent check refuses a layout that an engine believed in."""


class ExportError(SitePlanError):
    """A file of the permit package cannot be written."""
