"""A surveyor's drawing opened: what stands on its layers, its blocks, its unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from ezdxf import bbox, recover
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.filemanagement import readfile

from siteplan.errors import InputError
from siteplan.limits import DEEPEST_BLOCKS, FARTHEST_DRAWN, MOST_DXF_BYTES, MOST_ENTITIES
from siteplan.site.readers.dxf_curves import (
    HATCHES,
    LINES,
    heights_of,
    lines_of,
    place_of,
)
from siteplan.site.readers.vetted import refused
from siteplan.site.survey import SurveyDrawing

BINARY: Final = b"AutoCAD Binary DXF\r\n\x1a\0"
"""First bytes of a binary drawing (DXF reference, binary DXF files)."""
UNITS: Final = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 21: "survey feet"}
"""What the unit of a drawing is by its ``$INSUNITS`` (DXF reference, header)."""
IMPERIAL: Final = ("in", "ft", "survey feet")
SURVEY_FEET: Final = 21
TEXTS: Final = ("TEXT", "MTEXT")

Box = tuple[float, float, float, float]
"""West, south, east, north."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """An entity on a layer, or a block with what lies in it.

    Parameters
    ----------
    layer, kind
        Layer, in capitals, and type of entity.
    entity
        What it draws lines by; None of a point, a text and a block.
    place
        Where a point, a text or a block stands.
    text
        What a text says.
    says
        Attributes of the block that it is or lies in.
    inside
        What lies in a block.
    box
        West, south, east and north of what lies in a block.
    """

    layer: str
    kind: str
    entity: DXFEntity | None = field(default=None, repr=False)
    place: tuple[float, float] | None = None
    text: str = ""
    says: Mapping[str, Any] = field(default_factory=dict)
    inside: tuple[Drawn, ...] = ()
    box: Box | None = None

    @property
    def size(self) -> float:
        """How wide a block is drawn."""
        west, south, east, north = self.box or (0.0, 0.0, 0.0, 0.0)
        return max(east - west, north - south)

    def lines(self, within: float) -> list[Any]:
        """Lines that it draws, as points of the plane, chords within a distance of curves."""
        return [] if self.entity is None else lines_of(self.entity, within)


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a file draws in model space, in its own unit and coordinates.

    Parameters
    ----------
    path
        The file.
    drawn
        Entities on layers that can be seen.
    layers
        Names of those layers, as they are written, by their name in capitals.
    hidden
        Whether a layer is frozen or off, by its name in capitals.
    unit
        Unit by the header; None where it does not say, or contradicts itself.
    unit_words
        Why there is no unit.
    words
        What was left out or mended, in words.
    read
        The same in figures.
    """

    path: Path
    drawn: tuple[Drawn, ...]
    layers: Mapping[str, str]
    hidden: Mapping[str, str]
    unit: str | None
    unit_words: str
    words: tuple[str, ...]
    read: SurveyDrawing


def open_drawing(path: Path) -> Drawing:
    """What a file draws.

    Raises
    ------
    InputError
        It is not there, no drawing, too large, or a block of it lies in itself.
    """
    if not path.is_file():
        raise refused(path, "is no file." if path.exists() else "is not there.", "Check the path.")
    told = path.stat()
    return _opened(path, told.st_size, told.st_mtime_ns)


@lru_cache(maxsize=2)
def _opened(path: Path, size: int, _changed: int) -> Drawing:
    if size > MOST_DXF_BYTES:
        what = f"has {size / 1e6:,.0f} MB; {MOST_DXF_BYTES / 1e6:.0f} MB are read."
        raise refused(path, what, "Write out the lot alone (WBLOCK), and save it again.")
    with open(path, "rb") as file:
        head = file.read(1 << 12)
    if not head.startswith(BINARY) and not _is_text(head):
        raise refused(path, "is no DXF inside.", "Save it as DXF; a DWG is none.")
    document, mended = _document(path)
    reader = _Reader(path, document)
    with damage(path):
        drawn = tuple(reader.read(document.modelspace(), (), None, {}))
        unit, why = _unit(document)
    return Drawing(
        path,
        drawn,
        reader.layers(drawn),
        reader.hidden,
        unit,
        why,
        (*mended, *reader.words()),
        reader.told(damaged=bool(mended)),
    )


def _is_text(head: bytes) -> bool:
    """Whether a file begins with a group code and a section or a comment."""
    lines = [line.strip() for line in head.removeprefix(b"\xef\xbb\xbf").splitlines()[:2]]
    return len(lines) == 2 and (lines[0] == b"999" or lines == [b"0", b"SECTION"])


def _document(path: Path) -> tuple[Document, list[str]]:
    """A document, mended where it is damaged, and a word about that."""
    try:
        # a byte that is no letter in the drawing's own code page is left out of its text
        return readfile(path, errors="ignore"), []
    except OSError as error:
        raise refused(path, f"cannot be read ({error}).", "Save it again.") from None
    except Exception as error:  # a damaged file fails in any way
        damage = " ".join(str(error).split()).rstrip(".")[:120]
    try:
        document, audit = recover.readfile(path, errors="ignore")
    except Exception as error:
        reason = " ".join(str(error).split())[:120]
        raise refused(path, f"is damaged past mending ({reason}).", "Save it again.") from None
    count = len(audit.errors) + len(audit.fixes)
    told = f"the drawing is damaged ({damage}): read as far as it could be, {count} places mended"
    return document, [f"{told}; compare it with the survey"]


@contextmanager
def damage(path: Path) -> Iterator[None]:
    """What a library says of an entity that no program could have written, as a fault.

    Raises
    ------
    InputError
        An entity cannot be made out.
    """
    try:
        yield
    except InputError:
        raise
    except Exception as error:
        reason = " ".join(str(error).split())[:120]
        raise refused(path, f"is damaged past mending ({reason}).", "Save it again.") from error


def _unit(document: Document) -> tuple[str | None, str]:
    """Unit by the header, and why there is none."""
    code = document.header.get("$INSUNITS")
    unit = UNITS.get(code) if isinstance(code, int) else None
    if unit is None:
        told = (
            "does not say its unit" if not code else f"says unit {code}, in which no lot is drawn"
        )
        return None, f"{told} ($INSUNITS)"
    imperial = document.header.get("$MEASUREMENT")
    # nothing says survey feet by itself, whatever else stands in the header
    if imperial in (0, 1) and code != SURVEY_FEET and (imperial == 0) != (unit in IMPERIAL):
        other = "feet and inches" if imperial == 0 else "metric"
        return None, f"contradicts itself: $INSUNITS says {unit}, $MEASUREMENT {other}"
    return unit, ""


class _Reader:
    """Entities of layouts and blocks, with what is left out of them."""

    def __init__(self, path: Path, document: Document) -> None:
        self._path = path
        self._document = document
        self._count = 0
        self._left_out: Counter[str] = Counter()
        self._missing: dict[str, None] = {}
        self._high = False
        self._unseen: Counter[str] = Counter()
        self._names = {layer.dxf.name.upper(): layer.dxf.name for layer in document.layers}
        self.hidden = {
            layer.dxf.name.upper(): "frozen" if layer.is_frozen() else "off"
            for layer in document.layers
            if layer.is_frozen() or layer.is_off()
        }

    def layers(self, drawn: Iterable[Drawn]) -> dict[str, str]:
        """Names of layers on which something is drawn, in order."""
        found: dict[str, str] = {}
        for item in drawn:
            found.setdefault(item.layer, self._names.get(item.layer, item.layer))
            found.update(self.layers(item.inside))
        return dict(sorted(found.items()))

    def told(self, *, damaged: bool) -> SurveyDrawing:
        """What was left out, in figures."""
        left_out = self._unseen.total() + self._left_out.total()
        missing = tuple(self._missing)
        return SurveyDrawing(str(self._path), damaged, left_out=left_out, missing=missing)

    def words(self) -> list[str]:
        """What was left out, in words."""
        words = [
            f"layer {self._names.get(name, name)} is {self.hidden[name]}: {count} left out"
            for name, count in sorted(self._unseen.items())
        ]
        words += [f"xref {name} is missing: bind it in the drawing" for name in self._missing]
        if self._left_out:
            kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(self._left_out.items()))
            words.append(f"not read: {kinds}")
        return [*words, "heights are dropped: not all of them are 0"] if self._high else words

    def read(
        self,
        entities: Iterable[DXFEntity],
        blocks: tuple[str, ...],
        layer: str | None,
        says: Mapping[str, Any],
    ) -> Iterable[Drawn]:
        """What entities draw, those within blocks on layer 0 being on the layer of the block."""
        for entity in entities:
            self._counted()
            own = str(entity.dxf.layer if entity.dxf.hasattr("layer") else "0").upper()
            own = layer if layer is not None and own == "0" else own
            hidden = self.hidden.get(own)
            if entity.dxftype() == "INSERT":
                if hidden == "frozen":
                    self._unseen[own] += 1
                else:
                    yield from self._inserted(entity, blocks, own, says)
            elif hidden:
                self._unseen[own] += 1
            else:
                yield from self._drawn(entity, own, says, within=bool(blocks))

    def _counted(self) -> None:
        self._count += 1
        if self._count > MOST_ENTITIES:
            what = (
                f"draws more than {MOST_ENTITIES:,} entities, blocks counted as often as inserted."
            )
            raise refused(self._path, what, "Write out the lot alone (WBLOCK), and save it.")

    def _drawn(
        self, entity: DXFEntity, layer: str, says: Mapping[str, Any], *, within: bool
    ) -> Iterable[Drawn]:
        kind = entity.dxftype()
        if kind in LINES or kind in HATCHES:
            self._high |= any(heights_of(entity))
            yield Drawn(layer, kind, entity, says=says, box=_box(entity) if within else None)
        elif kind == "POINT" or kind in TEXTS:
            self._high |= any(heights_of(entity))
            words = entity.plain_text() if kind in TEXTS else ""  # type: ignore[attr-defined]
            text = " ".join(words.split())
            place = place_of(entity)
            if not all(abs(value) < FARTHEST_DRAWN for value in place):
                self._left_out[kind] += 1
            elif kind == "POINT" or text:
                yield Drawn(layer, kind, place=place, text=text, says=says)
        elif kind not in ("ATTDEF", "VIEWPORT"):
            self._left_out[kind] += 1

    def _inserted(
        self, insert: Any, blocks: tuple[str, ...], layer: str, says: Mapping[str, Any]
    ) -> Iterable[Drawn]:
        name = str(insert.dxf.name)
        block = insert.block()
        if block is None or block.block.is_xref:
            self._missing[name if block is None else block.block.dxf.xref_path or name] = None
            return
        if name.upper() in blocks:
            ways = " in ".join((*blocks[blocks.index(name.upper()) :], name.upper()))
            raise refused(self._path, f"has a block that lies in itself: {ways}.", "Redefine it.")
        if len(blocks) >= DEEPEST_BLOCKS:
            inner = ", ".join(blocks[-3:])
            what = f"has blocks more than {DEEPEST_BLOCKS} deep in each other: {inner}."
            raise refused(self._path, what, "Explode the outermost, and save it again.")
        told = {str(each.dxf.tag): str(each.dxf.text) for each in insert.attribs}
        told = {**says, "BLOCK": name, **told}
        for block in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self._counted()
            parts = block.virtual_entities(skipped_entity_callback=self._skipped)
            inside = tuple(self.read(parts, (*blocks, name.upper()), layer, told))
            if not all(abs(value) < FARTHEST_DRAWN for value in place_of(block)):
                self._left_out["INSERT"] += 1
                continue
            yield Drawn(
                layer,
                "INSERT",
                place=place_of(block),
                says=told,
                inside=inside,
                box=_around(inside),
            )

    def _skipped(self, entity: DXFEntity, _reason: str) -> None:
        self._left_out[entity.dxftype()] += 1


def _box(entity: DXFEntity) -> Box | None:
    found = bbox.extents([entity], fast=True)
    if not found.has_data:
        return None
    (west, south), (east, north) = found.extmin.vec2, found.extmax.vec2
    return west, south, east, north


def _around(inside: Iterable[Drawn]) -> Box | None:
    """Box around what lies in a block, texts aside."""
    boxes = [item.box for item in inside if item.box is not None]
    if not boxes:
        return None
    west, south, east, north = zip(*boxes, strict=True)
    return min(west), min(south), max(east), max(north)
