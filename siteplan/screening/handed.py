"""What a run asked, kept beside its lots, so that one of them can be planned as it was screened."""

from __future__ import annotations

import dataclasses
import datetime
import json
from pathlib import Path
from typing import Any

from siteplan.errors import Fault, InputError
from siteplan.limits import MOST_SUMMARY_BYTES
from siteplan.reading import load_json
from siteplan.screening.asked import Asked
from siteplan.screening.sources import Layer, Sources

FORM = "siteplan screening 1"
MEND = "Name the .json beside the GeoPackage."


def handed_text(asked: Asked, sources: Sources) -> str:
    """What was asked of which files, as JSON; a date as the text that a site file takes too."""
    told = {
        "sources": dataclasses.asdict(sources),
        "form": FORM, "unit": asked.unit, "assumed": list(asked.granted),
        "house_m": list(asked.house_m), "field_m": list(asked.field_m), "tables": asked.tables,
    }  # fmt: skip
    return json.dumps(told, indent=1, sort_keys=True, default=_said) + "\n"


def _said(value: Any) -> str:
    assert isinstance(value, datetime.date)
    return value.isoformat()


def handed_in(path: Path) -> tuple[Asked, Sources]:
    """What a run asked, and of which files.

    Raises
    ------
    InputError
        The file is not there, or is none that a run left.
    """
    told = load_json(path, MOST_SUMMARY_BYTES, MEND)
    try:
        form, tables, files = told["form"], told["tables"], told["sources"]
        layers = [_layer(each) for each in (files["lots"], *files["around"])]
        sources = Sources(layers[0], tuple(layers[1:]), files["number_column"])
        asked = Asked(
            tables, told["unit"], tuple(told["assumed"]), tuple(told["house_m"]),
            tuple(told["field_m"]),
        )  # fmt: skip
    except (ValueError, KeyError, TypeError) as error:
        what = f"cannot be read as what siteplan screen leaves ({error})."
        raise InputError([Fault(path.name, what, MEND)]) from None
    if form != FORM:
        raise InputError([Fault(path.name, f"is of form {form!r}.", f"Known: {FORM}.")])
    return asked, sources


def _layer(told: dict[str, Any]) -> Layer:
    return Layer(**{**told, "columns": tuple(told["columns"])})
