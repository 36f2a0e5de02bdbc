"""Where reading stops: what a file, a value or a shape may have at most, each limit once.

What lies beyond is refused with its place; docs/limits.md tells the same to people.
"""

from __future__ import annotations

import re
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

MOST_TOML_BYTES: Final = 2_000_000
"""Of a site file, or a list of prices."""
MOST_GEOJSON_BYTES: Final = 20_000_000
"""Of a GeoJSON file that a site file names as its lot."""
MOST_XML_BYTES: Final = 20_000_000
"""Of a KML file, also inside a zip."""
MOST_DXF_BYTES: Final = 60_000_000
"""Of a surveyor's drawing."""
MOST_ENTITIES: Final = 100_000
"""Of a drawing, its blocks counted as often as they are inserted."""
MOST_DRAWN: Final = 200_000
"""Of things in the model space of a drawing that is audited."""
MOST_SYMBOLS: Final = 3_000
"""Of symbols, and of things on the layer of the header, in a drawing that is audited."""
MOST_ELEMENTS: Final = 1_000
"""Of bores, or coils, that are laid out on one lot."""
MOST_LIST_BYTES: Final = 2_000_000
"""Of a list of measured places."""
MOST_SUMMARY_BYTES: Final = 20_000_000
"""Of the figures of a plan, or of a run over many lots, that are read again."""
DEEPEST_BLOCKS: Final = 12
"""Blocks of a drawing within one another."""
FARTHEST_DRAWN: Final = 1e12
"""Coordinates of a drawing, in its own unit: beyond it is damaged."""
FARTHEST: Final = 1e9
"""Coordinates in a geometry file, in whatever unit: the earth is 4e7 m around."""
MOST_ROWS: Final = 20_000
"""Rows of a file read for one lot; of a county's file only those near it are."""
MOST_UNPACKED: Final = 4 << 30
"""What a zip may unpack to [bytes]."""
MOST_PACKED: Final = 300
"""How many times smaller than its content a zip may be."""
DEEPEST: Final = 40
"""Tables and arrays within one another."""
LONGEST_TEXT: Final = 20_000
"""Of a text: the longest is the paragraph of a deed [characters]."""
LARGEST: Final = 1e15
"""Of a number, whatever it counts."""
LONGEST_NUMBER: Final = re.compile(r"(?<![0-9_])[0-9][0-9_]{999,}")
"""Digits in a row that no number has: the largest that a program calculates with has 309."""
LONGEST_NAME: Final = 250
"""Of a name, or a label on a sheet [characters]."""
MOST_FEATURES: Final = 5_000
"""Of a lot with all that is around it."""
MOST_VERTICES: Final = 50_000
"""Of one shape."""
MOST_CORNERS: Final = 1_000
"""Of one shape that is planned with: what has more is thinned, on the side of safety."""
MOST_VERTICES_IN_ALL: Final = 200_000
"""Of all shapes of a lot."""
MOST_CONTOURS: Final = 100
"""Of the depth of one pond: each is compared with each."""
MOST_CALLS: Final = 1_000
"""Of a deed."""
MOST_ZIPPED: Final = 10_000
"""Files in a zip."""

FIRST_YEAR: Final = 1900
LAST_YEAR: Final = 2100
"""Of a date."""

UNPRINTABLE: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069]"
)
"""What no sheet can show, or what makes a text read otherwise than it is written."""


def file_beyond(path: Path, most_bytes: int) -> tuple[str, str] | None:
    """What keeps a file from being read, and the mend; None where nothing does.

    A pipe or a device never ends, so only plain files are opened.
    """
    try:
        told = path.stat()
    except FileNotFoundError:
        return "no such file.", "Check the path."
    except (OSError, ValueError) as error:
        return f"cannot be read ({error}).", "Check the path."
    if not stat.S_ISREG(told.st_mode):
        return "is no file.", "Give a file, no folder, pipe or device."
    if told.st_size > most_bytes:
        what = f"has {told.st_size / 1e6:,.1f} MB; {most_bytes / 1e6:,.0f} MB are read."
        return what, "Leave out what lies far from the lot."
    return None


def digits_beyond(text: str) -> tuple[str, str, str] | None:
    r"""Line, fault and mend of a number too long to read; None where a file has none.

    Examples
    --------
    >>> digits_beyond("a = 1\nb = " + "7" * 5000)
    ('line 2', 'has a number of 5,000 digits.', '1e+15 is the largest.')
    """
    found = LONGEST_NUMBER.search(text)
    if found is None:
        return None
    line = text.count("\n", 0, found.start()) + 1
    count = sum(sign != "_" for sign in found[0])
    return f"line {line}", f"has a number of {count:,} digits.", f"{LARGEST:.0e} is the largest."


def values_beyond(values: Any) -> Iterator[tuple[str, str, str]]:
    r"""Place, fault and mend of every value nested too deep, too long, too large, not printable.

    Examples
    --------
    >>> [place for place, _, _ in values_beyond({"a": [1, {"b": 10**400}], "c": "\0"})]
    ['a.2.b', 'c']
    """
    waiting: list[tuple[str, Any, int]] = [("", values, 0)]
    while waiting:
        place, value, depth = waiting.pop()
        if isinstance(value, str):
            yield from _text_beyond(place, value)
        elif isinstance(value, (int, float)):
            if abs(value) > LARGEST and value not in (float("inf"), float("-inf")):
                yield place, "is a number beyond all measure.", f"{LARGEST:.0e} is the largest."
        elif isinstance(value, (Mapping, list, tuple)):
            if depth >= DEEPEST:
                what = f"has more than {DEEPEST} tables or arrays within one another."
                yield place, what, "Write it as docs/site-file.md shows."
                return
            pairs = value.items() if isinstance(value, Mapping) else enumerate(value, 1)
            inner = [(f"{place}.{key}" if place else f"{key}", item) for key, item in pairs]
            if isinstance(value, Mapping):
                for key in value:
                    yield from _text_beyond(place, str(key))
            waiting += [(name, item, depth + 1) for name, item in reversed(inner)]


def _text_beyond(place: str, text: str) -> Iterator[tuple[str, str, str]]:
    if len(text) > LONGEST_TEXT:
        what = f"is a text of {len(text):,} characters."
        yield place, what, f"Write at most {LONGEST_TEXT:,}."
    found = UNPRINTABLE.search(text)
    if found:
        what = f"holds the sign U+{ord(found[0]):04X}, which cannot be printed."
        yield place, what, "Take it out."
