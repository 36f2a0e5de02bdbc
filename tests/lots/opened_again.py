"""Drawings that many tests change, each its own copy: to read the file every time takes long."""

from __future__ import annotations

import pickle
from functools import cache
from pathlib import Path

import ezdxf
from ezdxf.document import Drawing


def opened_again(path: Path) -> Drawing:
    """A copy of a drawing, to be changed; its file must stay as it is until the last test.

    What is changed and written is read from its own file by who audits it.
    """
    document: Drawing = pickle.loads(_kept(path))
    return document


@cache
def _kept(path: Path) -> bytes:
    return pickle.dumps(ezdxf.readfile(path))
