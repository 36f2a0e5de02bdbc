"""Drawings that many tests change, each its own copy: to read the file every time takes long."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing

HELD = "held by the test that changed it\n"
"""Stands in the file of a drawing that is handed on as it is."""


def opened_again(path: Path) -> Drawing:
    """A copy of a drawing, to be changed; its file must stay as it is until the last test.

    What is changed and written is read from its own file by who audits it.
    """
    document: Drawing = pickle.loads(_kept(path))
    return document


@cache
def _kept(path: Path) -> bytes:
    return pickle.dumps(ezdxf.readfile(path))


@contextmanager
def handed_on(document: Drawing, path: Path) -> Iterator[None]:
    """Let an audit of this file take over a drawing as it is, neither written nor read.

    That the audit reads from a file what was written to it is the matter of other tests: to
    write and to read takes three times as long as to audit.
    """
    path.write_text(HELD, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("siteplan.audit.drawing.readfile", lambda named: {path: document}[named])
        yield
