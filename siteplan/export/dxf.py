"""A sheet as DXF R2013: the model at true size, and each sheet as a paper-space layout.

Translation only: every decision was taken when the sheet was composed. The same sheet gives the
same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from ezdxf import options  # type: ignore[attr-defined]  # public, but re-exported silently
from ezdxf.document import Drawing

from siteplan.export.drawing.document import new_document, set_place
from siteplan.export.drawing.grid import on_grid
from siteplan.export.drawing.items import Layers, write_items
from siteplan.export.drawing.layouts import FIRST, PLAN, add_layout, set_extents, set_paper_of_model
from siteplan.export.drawing.record import NOTHING, Record
from siteplan.export.drawing.scales import scale_of
from siteplan.sheet.model import Sheet
from siteplan.sheet.style.plotted import plotted


def write_dxf(
    sheet: Sheet, path: Path, *, more: Sequence[Sheet] = (), record: Record = NOTHING
) -> None:
    """Write the plan sheet as a DXF file, further sheets of its set as layouts of their own.

    Parameters
    ----------
    record
        What the drawing tells programs of the plan beside what it shows.
    """
    text = dxf_text(sheet, more=more, record=record)
    path.write_text(text, encoding="utf-8", newline="\n")


def dxf_text(sheet: Sheet, *, more: Sequence[Sheet] = (), record: Record = NOTHING) -> str:
    """Text of the DXF file of a plan sheet and of the further sheets of its set."""
    with _repeatable():
        layers = _all_layers((sheet, *more))
        doc = new_document(replace(sheet, layers=layers))
        add_layout(doc, sheet, PLAN)
        set_extents(doc, sheet)
        _locate(doc, sheet, record)
        write_items(sheet, doc, PLAN, layers, record)
        for page in map(plotted, more):
            add_layout(doc, page, page.number)
            write_items(page, doc, page.number, layers)
        return _text_of(doc)


def write_model(sheet: Sheet, path: Path, *, record: Record = NOTHING) -> None:
    """Write what stands in model space alone, for programs that stumble over paper space."""
    with _repeatable():
        items = tuple(item for item in sheet.primitives if item.space == "model")
        alone = replace(sheet, primitives=items)
        doc = new_document(alone)
        set_paper_of_model(doc, alone)
        set_extents(doc, alone)
        _locate(doc, alone, record)
        write_items(alone, doc, FIRST, sheet.layers, record)
        path.write_text(_text_of(doc), encoding="utf-8", newline="\n")


def _locate(doc: Drawing, sheet: Sheet, record: Record) -> None:
    if record.place is not None:
        set_place(doc, record.place, scale_of(sheet))


def _all_layers(sheets: Sequence[Sheet]) -> Layers:
    """Layers of all sheets, those of the first first."""
    looks: dict[str, str] = {}
    for sheet in sheets:
        for name, style in sheet.layers:
            looks.setdefault(name, style)
    return tuple(looks.items())


def _text_of(doc: Drawing) -> str:
    stream = io.StringIO()
    # classes follow the hash seed unless they are there, in order, before writing
    doc.classes.add_required_classes(doc.dxfversion)
    ordered = sorted(doc.classes.classes.items(), key=lambda item: str(item[0]))
    doc.classes.classes = dict(ordered)
    doc.write(stream)
    return on_grid(stream.getvalue())


@contextmanager
def _repeatable() -> Iterator[None]:
    """Without clock and GUIDs in the file, so that its bytes repeat."""
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept
