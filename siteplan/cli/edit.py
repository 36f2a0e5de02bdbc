"""``siteplan edit SITE``: a page on this machine to draw a lot, drag it and decide."""

from __future__ import annotations

import argparse
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from siteplan.cli.report import Terminal
from siteplan.errors import SitePlanError

NEEDED: Final = ("starlette", "uvicorn", "websockets", "tomlkit")


def run_edit(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan edit``: 0 once the server is stopped."""
    missing = [name for name in NEEDED if find_spec(name) is None]
    if missing:
        names = ", ".join(missing)
        raise SitePlanError(
            f"edit needs {names}, not installed here: run pip install 'siteplan[edit]'."
        )
    from siteplan.web.serve import serve, site_file_of

    file = site_file_of(Path(arguments.site), arguments.units)
    terminal = Terminal(quiet=False)
    serve(file, port=arguments.port, browser=not arguments.no_browser, say=terminal.say)
    return 0
