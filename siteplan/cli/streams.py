"""What the terminal can show, and reports that cannot be printed."""

from __future__ import annotations

import codecs
import contextlib
import io
import logging
import os
import sys
from typing import Final

PLAIN: Final = {
    "²": "2", "³": "3", "°": " deg ", "·": ".", "×": "x", "–": "-", "—": "-", "−": "-", "…": "...",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "’": "'", "‘": "'", "“": '"', "”": '"', "′": "'",
    "″": '"', "≥": ">=", "≤": "<=", "±": "+/-", "Ø": "dia. ", "⌀": "dia. ", "Δ": "delta", "→": "->",
}  # fmt: skip
"""Signs of a report in letters that every terminal has."""
HANDLER: Final = "siteplan.plain"


def _plain(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeEncodeError)
    signs = error.object[error.start : error.end]
    return "".join(PLAIN.get(sign, "?") for sign in signs), error.end


def show_what_can_be() -> None:
    """Let stdout and stderr print signs that they cannot show in other letters."""
    codecs.register_error(HANDLER, _plain)
    # what a library notes by the way of a damaged file is told in a sentence of our own
    logging.getLogger("ezdxf").addHandler(logging.NullHandler())
    if sys.stdout is None:  # closed by whoever started this
        sys.stdout = io.StringIO()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=HANDLER)


def flush() -> None:
    """Print what is still held back, so that what cannot be printed shows here."""
    if sys.stdout is not None:
        sys.stdout.flush()


def give_up_stdout() -> None:
    """Throw away what cannot be printed: the end of the process would try it again."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def complain(text: str) -> None:
    """Print to stderr, where that can be."""
    with contextlib.suppress(OSError):
        print(text, file=sys.stderr)
