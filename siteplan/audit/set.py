"""Whether the files that lie beside a drawing are still the ones that were written with it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from siteplan.export.overwrite import SUMS_FILE
from siteplan.export.together import broken_off, changed_files
from siteplan.findings.model import Finding


def set_findings(drawing: Path) -> Iterator[Finding]:
    """What is wrong with the permit package that a drawing lies in, where it lies in one.

    The drawing itself is left out: what was changed in it is what an audit tells.
    """
    if broken_off(drawing.parent, SUMS_FILE):
        yield Finding("broken-off")
    changed = changed_files(drawing.parent, SUMS_FILE) or ()
    others = tuple(name for name in changed if name != drawing.name)
    if others:
        yield Finding("package-changed", values={"files": others})
