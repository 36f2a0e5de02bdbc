"""The columns of a list of measured places: their titles, also as others call them."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Final

from siteplan.errors import Fault, InputError
from siteplan.limits import MOST_LIST_BYTES
from siteplan.reading import judge_file

COLUMNS: Final = (
    "id and x, y or latitude, longitude or A, B or station, offset, and depth where it was measured"
)
CALLED: Final = {
    "id": (
        "bore", "borehole", "trench", "coil", "well", "element", "name", "point", "point id",
        "point name", "pt", "no", "no.", "number", "label",
    ),
    "latitude": ("lat",), "longitude": ("lon", "long", "lng"),
    "depth": ("total depth", "depth drilled"),
}  # fmt: skip
"""What surveyors and drillers call our columns."""
UNITS: Final = re.compile(r"\s*[_ ]?[(\[]\s*(ft|m|feet|meters|metres)\s*[)\]]$")
"""A unit behind a title, as in "Depth (ft)"."""
SEPARATORS: Final = ",;\t"


def rows_of(path: Path) -> list[tuple[int, dict[str, str]]]:
    """Number and cells of each row that is not empty, by title.

    Raises
    ------
    InputError
        The file cannot be read, or lacks the titles that it must have.
    """
    beyond = judge_file(path, MOST_LIST_BYTES)
    if beyond is not None:
        raise InputError([beyond])
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        fault = Fault(str(path), f"cannot be read ({error.strerror}).", "Name a CSV file.")
        raise InputError([fault]) from error
    except UnicodeDecodeError as error:
        fault = Fault(path.name, "is not a text in UTF-8.", "Save it as CSV in UTF-8.")
        raise InputError([fault]) from error
    head = text.partition("\n")[0]
    lines = list(csv.reader(text.splitlines(), delimiter=max(SEPARATORS, key=head.count)))
    titles = _as_ours([title.strip().lower() for title in lines[0]]) if lines else []
    if "id" not in titles:
        raise InputError([Fault(path.name, "has no column id.", f"Give {COLUMNS}.")])
    twice = sorted({title for title in titles if title and titles.count(title) > 1})
    if twice:
        fault = Fault(path.name, f"has two columns {twice[0]}.", "Keep one of them.")
        raise InputError([fault])
    return [
        (number, {k: v.strip() for k, v in zip(titles, line, strict=False)})
        for number, line in enumerate(lines[1:], 2)
        if any(cell.strip() for cell in line)
    ]


def _as_ours(titles: list[str]) -> list[str]:
    """Titles with what others call our columns named as ours, where ours are not there.

    Examples
    --------
    >>> _as_ours(["bore", "easting", "northing", "depth (ft)"])
    ['id', 'easting', 'northing', 'depth_ft']
    """
    plain = [UNITS.sub(lambda unit: "_ft" if unit[1][0] == "f" else "_m", each) for each in titles]
    for ours, words in CALLED.items():
        called = [title for title in plain if title in words]
        if ours not in plain and len(called) == 1:
            plain[plain.index(called[0])] = ours
    return plain
