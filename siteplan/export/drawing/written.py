r"""Text as a paragraph of a drawing holds it: ``\P`` ends a line, some signs have a meaning."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

MEANT: Final = {"\\": "\\\\", "{": "\\{", "}": "\\}", "^": "^ "}
"""Signs that a paragraph does not show as they are."""
END_OF_LINE: Final = "\\P"


def written(lines: Sequence[str]) -> str:
    r"""Lines as the text of a paragraph.

    Examples
    --------
    >>> print(written(["A {1}", "B"]))
    A \{1\}\PB
    """
    return END_OF_LINE.join("".join(MEANT.get(sign, sign) for sign in line) for line in lines)
