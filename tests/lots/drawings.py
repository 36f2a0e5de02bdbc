"""Drawings of the lots of `sheet_lots`, each written and read once in a process."""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable
from functools import cache
from pathlib import Path

import ezdxf
from ezdxf.document import Drawing
from sheet_lots import composed

from siteplan.export.dxf import dxf_text
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Sheet

Lot = Callable[[], PlanContent]


@cache
def text_of(lot: Lot) -> str:
    """What the file of the plan sheet of a lot holds."""
    return dxf_text(composed(lot))


@cache
def drawing_of(lot: Lot) -> tuple[Sheet, Drawing]:
    """The plan sheet of a lot, and its drawing as it was read, for who changes neither."""
    return composed(lot), ezdxf.read(io.StringIO(text_of(lot)))


def drawing_to_change(lot: Lot) -> Drawing:
    """A copy of the drawing of a lot."""
    document: Drawing = pickle.loads(_packed(lot))
    return document


@cache
def _packed(lot: Lot) -> bytes:
    return pickle.dumps(drawing_of(lot)[1])


def write_drawing(lot: Lot, path: Path) -> None:
    """Write the drawing of a lot."""
    path.write_text(text_of(lot), encoding="utf-8", newline="\n")
