"""The two fonts of the sheet as files, and a TrueType font cut down to the letters in use."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Mapping, Sequence
from functools import cache, cached_property
from pathlib import Path
from typing import Final

import matplotlib as mpl

NAMES: Final = {False: "DejaVuSans", True: "DejaVuSans-Bold"}
"""Name of the font, by whether it is bold."""
CAPITAL: Final = 1493 / 2048
"""Height of a capital of DejaVu Sans in parts of the font size."""
KEPT: Final[tuple[str, ...]] = ("cvt ", "fpgm", "head", "hhea", "maxp", "prep")
"""Tables that a cut font takes over: those of its measures and of its instructions."""
_WORDS, _SCALE, _MORE, _TWO_SCALES, _MATRIX = 0x1, 0x8, 0x20, 0x40, 0x80


def font_file(*, bold: bool) -> Path:
    """Where the font lies: it comes with matplotlib."""
    return Path(mpl.get_data_path()) / "fonts" / "ttf" / f"{NAMES[bold]}.ttf"


@cache
def font(*, bold: bool) -> TrueType:
    """The font, read once."""
    return TrueType(font_file(bold=bold).read_bytes())


class TrueType:
    """A TrueType font: which glyph shows a character, how wide it is, and a font of a few glyphs.

    Tables as in the OpenType specification (ISO/IEC 14496-22).
    """

    def __init__(self, data: bytes) -> None:
        (count,) = struct.unpack_from(">H", data, 4)
        self.tables: dict[str, bytes] = {}
        for number in range(count):
            tag, _, offset, length = struct.unpack_from(">4sIII", data, 12 + 16 * number)
            self.tables[tag.decode("ascii")] = data[offset : offset + length]
        head, count = self.tables["head"], self._short("maxp", 4)
        self.units_per_em = self._short("head", 18)
        self.bounds: tuple[int, ...] = struct.unpack_from(">4h", head, 36)
        self.ascent, self.descent = struct.unpack_from(">2h", self.tables["hhea"], 4)
        form, factor = (">%dI", 1) if head[51] else (">%dH", 2)
        places = struct.unpack_from(form % (count + 1), self.tables["loca"])
        self._places = [place * factor for place in places]

    def _short(self, table: str, offset: int) -> int:
        return int(struct.unpack_from(">H", self.tables[table], offset)[0])

    @cached_property
    def _glyphs(self) -> dict[int, int]:
        """Glyph of each character, from the table of segmented coverage (format 12)."""
        cmap = self.tables["cmap"]
        for number in range(self._short("cmap", 2)):
            (start,) = struct.unpack_from(">I", cmap, 8 + 8 * number)
            if self._short("cmap", start) == 12:
                break
        (groups,) = struct.unpack_from(">I", cmap, start + 12)
        rows = (struct.unpack_from(">3I", cmap, start + 16 + 12 * k) for k in range(groups))
        return {
            code: glyph + code - first
            for first, last, glyph in rows
            for code in range(first, last + 1)
        }

    def glyph(self, character: str) -> int:
        """Number of the glyph of a character; 0, an empty box, for one the font does not have."""
        return self._glyphs.get(ord(character), 0)

    def advance(self, glyph: int) -> int:
        """Width of a glyph with the paper around it [font units]."""
        return self._short("hmtx", 4 * min(glyph, self._short("hhea", 34) - 1))

    def _outline(self, glyph: int) -> bytes:
        return self.tables["glyf"][self._places[glyph] : self._places[glyph + 1]]

    def with_parts(self, glyphs: Iterable[int]) -> list[int]:
        """The empty box, the glyphs in the order given, and the glyphs they are composed of."""
        found = list(dict.fromkeys((0, *glyphs)))
        for glyph in found:
            found += [part for _, part in _parts(self._outline(glyph)) if part not in found]
        return found

    def cut(self, glyphs: Sequence[int]) -> bytes:
        """A font of some glyphs alone, numbered anew in the order given; parts must be in it."""
        numbers = {glyph: number for number, glyph in enumerate(glyphs)}
        outlines, places = b"", [0]
        for glyph in glyphs:
            outline = bytearray(self._outline(glyph))
            for offset, part in _parts(outline):
                struct.pack_into(">H", outline, offset, numbers[part])
            outlines += bytes(outline) + bytes(-len(outline) % 4)
            places.append(len(outlines))
        tables = {tag: self.tables[tag] for tag in KEPT if tag in self.tables}
        tables["glyf"] = outlines
        tables["loca"] = struct.pack(f">{len(places)}I", *places)
        tables["hmtx"] = b"".join(self._measures(glyph) for glyph in glyphs)
        tables["head"] = _patched(_patched(tables["head"], 8, ">I", 0), 50, ">H", 1)
        tables["hhea"] = _patched(tables["hhea"], 34, ">H", len(glyphs))
        tables["maxp"] = _patched(tables["maxp"], 4, ">H", len(glyphs))
        return _packed(tables)

    def _measures(self, glyph: int) -> bytes:
        """Width and left side bearing of a glyph as they stand in the font."""
        full = self._short("hhea", 34)
        if glyph < full:
            return self.tables["hmtx"][4 * glyph : 4 * glyph + 4]
        bearing = self._short("hmtx", 4 * full + 2 * (glyph - full))
        return struct.pack(">HH", self.advance(glyph), bearing)


def _parts(outline: bytes | bytearray) -> list[tuple[int, int]]:
    """Parts of a composed glyph: where its number stands in the outline, and the number."""
    if not outline or struct.unpack_from(">h", outline)[0] >= 0:
        return []
    found, offset, flags = [], 10, _MORE
    while flags & _MORE:
        flags, part = struct.unpack_from(">HH", outline, offset)
        found.append((offset + 2, part))
        offset += 8 if flags & _WORDS else 6
        offset += 8 if flags & _MATRIX else 4 if flags & _TWO_SCALES else 2 if flags & _SCALE else 0
    return found


def _patched(table: bytes, offset: int, form: str, value: int) -> bytes:
    changed = bytearray(table)
    struct.pack_into(form, changed, offset, value)
    return bytes(changed)


def _packed(tables: Mapping[str, bytes]) -> bytes:
    """A font file of the tables."""
    count = len(tables)
    power = count.bit_length() - 1
    span = 16 << power
    directory = struct.pack(">IHHHH", 0x00010000, count, span, power, 16 * count - span)
    body, start = b"", 12 + 16 * count
    for tag, table in sorted(tables.items()):
        padded = table + bytes(-len(table) % 4)
        total = sum(struct.unpack(f">{len(padded) // 4}I", padded)) & 0xFFFFFFFF
        place = start + len(body)
        directory += struct.pack(">4sIII", tag.encode("ascii"), total, place, len(table))
        body += padded
    whole = bytearray(directory + body)
    total = sum(struct.unpack(f">{len(whole) // 4}I", whole)) & 0xFFFFFFFF
    place = 8 + whole.index(tables["head"])
    struct.pack_into(">I", whole, place, (0xB1B0AFBA - total) & 0xFFFFFFFF)
    return bytes(whole)
