"""Plans that the audits' tests share, each laid out once, and hands that move what is drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from drawn_once import compose, compose_set
from drawn_texts import sheet_texts
from ezdxf.document import Drawing
from opened_again import handed_on, opened_again
from places import ROOT
from planned import full_set, in_full, planned
from small_lot import GROUND
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.audit.model import Audit
from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import write_dxf
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.model import Sheet
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

SAMPLES = ROOT / "samples"
FOOT = 0.3048
LOT = (
    GROUND
    + """\
[exchanger]
entry = [[80, 70]]
"""
)
BORES = """
system = "vertical"
[vertical]
spacing = "20 ft"
depth = { least = "150 ft", most = "300 ft" }
length = { given = "600 ft", by = "load calculation" }
"""
LEANING = """
system = "vertical"
[vertical]
spacing = "15 ft"
depth = { least = "150 ft", most = "300 ft" }
length = { given = "1200 ft", by = "load calculation" }
[vertical.pad]
tilt = 12
collar_spacing = "6 ft"
"""
TRENCHES = """
system = "horizontal"
[horizontal]
spacing = "10 ft"
length = { given = "500 ft", by = "load calculation" }
"""
COILS = """
system = "pond"
[pond]
length = { given = "600 ft", by = "load calculation" }
[[feature]]
id = "pond"
kind = "pond"
depth = "10 ft"
area = [[110, 100], [190, 100], [190, 180], [110, 180]]
"""
TEXTS = {"bores": BORES, "leaning": LEANING, "trenches": TRENCHES, "coils": COILS}
BLOCKS = ("BORE", "COIL", "SUPPLY-WELL", "RETURN-WELL", "TRENCH-MARK")


FILES = TemporaryDirectory(prefix="audit-")
"""Site files and drawings, gone with the last test."""


@cache
def site_of(name: str) -> Site:
    """A small lot, a sample, or a kind of trench on the rural acre, not laid out."""
    if name in TEXTS:
        path = Path(FILES.name) / f"{name}.toml"
        path.write_text(LOT + TEXTS[name], encoding="utf-8")
        return read_site(path)
    return read_site(SAMPLES / _sample(name))


def _sample(name: str) -> str:
    """Folder of a sample, or one of the kinds of trench on the rural acre."""
    kind = f"rural-acre/{name}.toml"
    return kind if (SAMPLES / kind).exists() else name


@cache
def plan_of(name: str) -> tuple[Site, SitePlan, Path]:
    """Site, plan and drawing of the same: of a small lot its plan, of others the full set."""
    plan = plan_site(site_of(name)) if name in TEXTS else planned(_sample(name))
    drawing = Path(FILES.name) / f"{name}.dxf"
    if name in TEXTS:
        write_dxf(compose(plan.content()), drawing)
    else:
        _write(full_set(_sample(name)), drawing)
    return plan.site, plan, drawing


@cache
def drawing_written(name: str) -> tuple[Site, Path]:
    """Site and drawing of a small lot, with as many sheets as are written."""
    site, plan, _ = plan_of(name)
    drawing = Path(FILES.name) / f"{name}-written.dxf"
    first, *more = compose_set(plan.content())
    write_dxf(first, drawing, more=more, record=record_of(plan.content()))
    return site, drawing


@cache
def full_set_of(name: str) -> tuple[Site, Path]:
    """Site and drawing with sheets of details and tables."""
    site, plan, drawing = plan_of(name)
    if name in TEXTS:
        drawing = Path(FILES.name) / f"{name}-full.dxf"
        _write(compose_set(in_full(plan).content()), drawing)
    return site, drawing


def _write(sheets: Sequence[Sheet], drawing: Path) -> None:
    first, *more = sheets
    write_dxf(first, drawing, more=more)


_changed: dict[Path, Drawing] = {}


@contextmanager
def changed(name: str, tmp_path: Path, *, written: bool = False) -> Iterator[Drawing]:
    """The drawing of a lot, handed to `audited` once it was changed.

    Written to ``tmp_path / "plan.dxf"`` for who reads it from there.
    """
    doc = opened_again(plan_of(name)[2])
    yield doc
    if written:
        doc.saveas(tmp_path / "plan.dxf")
    else:
        _changed.clear()
        _changed[tmp_path] = doc


def audited(name: str, tmp_path: Path) -> Audit:
    """Audit of the changed drawing, or of what stands in its file, against the site of its lot."""
    path = tmp_path / "plan.dxf"
    doc = _changed.get(tmp_path)
    with handed_on(doc, path) if doc is not None else nullcontext():
        return audit_drawing(path, plan_of(name)[0])


def mark_of(entity) -> tuple[str, str, str, int] | None:  # type: ignore[no-untyped-def]
    """Block, row, column and line that an entity carries, read without the project's own reader."""
    if not entity.has_xdata("SITEPLAN"):
        return None
    block, row, column, line = (
        value for code, value in entity.get_xdata("SITEPLAN") if code != 1001
    )
    return block, row, column, line


def marked(doc: Drawing, block: str, row: str | None = None, column: str | None = None):  # type: ignore[no-untyped-def]
    """Texts of the sheets that are marked as of a block, of a row and of a column."""
    known = [(one, mark) for one in sheet_texts(doc) if (mark := mark_of(one)) is not None]
    return [
        one for one, mark in known
        if mark[0] == block and row in (None, mark[1]) and column in (None, mark[2])
    ]  # fmt: skip


def symbol(doc: Drawing, element: str):  # type: ignore[no-untyped-def]
    """Symbol of an element."""
    return next(
        one
        for one in doc.modelspace().query("INSERT")
        if one.dxf.name in BLOCKS and one.get_attrib_text("ELEMENT") == element
    )


def move(doc: Drawing, element: str, dx: float, dy: float) -> None:
    """Move an element with its lines, in drawing units."""
    mark = symbol(doc, element)
    x, y, _ = mark.dxf.insert
    lines = [
        one
        for one in doc.modelspace().query("LWPOLYLINE")
        if one.dxf.layer in ("M-GHEX-TRCH-N", "M-GHEX-BORE-INCL-N")
        and one.dxf.layer[7:11] == ("TRCH" if mark.dxf.name == "TRENCH-MARK" else "BORE")
        and abs(one[0][0] - x) + abs(one[0][1] - y) < 1e-6
    ]
    if mark.dxf.name == "TRENCH-MARK":
        names = [
            one.get_attrib_text("ELEMENT")
            for one in doc.modelspace().query("INSERT")
            if one.dxf.name == "TRENCH-MARK"
        ]
        edges = [
            one
            for one in doc.modelspace().query("LWPOLYLINE")
            if one.dxf.layer == "M-GHEX-TRCH-EDGE-N"
        ]
        lines.append(edges[names.index(element)])
    for one in (mark, *lines):
        one.translate(dx, dy, 0)


def codes(audit: Audit) -> set[str]:
    """Codes of the errors of an audit."""
    return {one.code for one in audit.findings if one.severity == "error"}


def message(audit: Audit, code: str) -> str:
    """All that an audit says under one code."""
    return " ".join(in_words(one) for one in audit.findings if one.code == code)
