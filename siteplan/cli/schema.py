"""``siteplan schema``: the JSON Schema of the site file, or its options as tables of a page."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from siteplan.errors import Fault, InputError
from siteplan.site.options.schema import site_schema
from siteplan.site.options.tables import with_tables


def run_schema(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan schema``."""
    if arguments.tables:
        _write_tables(Path(arguments.tables))
    else:
        print(json.dumps(site_schema(), indent=2, ensure_ascii=True))
    return 0


def _write_tables(page: Path) -> None:
    """Bring the tables between the markers of a page up to date; all else in it stays."""
    try:
        text = page.read_text(encoding="utf-8")
        page.write_text(with_tables(text), encoding="utf-8", newline="\n")
    except OSError as error:
        raise InputError([Fault(str(page), f"cannot be written ({error}).", "Check it.")]) from None
    except KeyError as error:
        mend = "Name a table of the site file in the marker."
        raise InputError([Fault(str(page), f"names the table {error}, unknown.", mend)]) from None
