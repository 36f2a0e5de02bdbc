"""Sheets as the pages of one PDF, true to scale, with searchable text and bookmarks.

Operators and objects as in ISO 32000-1.
"""

from __future__ import annotations

import hashlib
import math
import zlib
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from siteplan.export.fonts import CAPITAL, NAMES, font
from siteplan.export.ink import Fill, Ink, Letters, Points, Stroke

POINT: Final = 72 / 25.4
"""Points in a millimetre."""
CATALOG, PAGES, FIRST_FREE = 1, 2, 3
"""Numbers of the objects that others name before they are written."""


def write_pages(inks: Sequence[Ink], path: Path, *, title: str, names: Sequence[str]) -> None:
    """Write a page for each sheet, and a bookmark for each where there are several."""
    file = _File()
    fonts = _Fonts(letters for one in inks for letters in one.letters)
    resources = fonts.add_to(file)
    pages = []
    for one in inks:
        content = file.add_stream("\n".join(_page(one, fonts)).encode("ascii"))
        box = f"[0 0 {_number(one.width_mm * POINT)} {_number(one.height_mm * POINT)}]"
        pages.append(
            file.add(
                f"<< /Type /Page /Parent {PAGES} 0 R /MediaBox {box} "
                f"/Contents {content} 0 R /Resources << /Font << {resources} >> >> >>"
            )
        )
    kids = " ".join(f"{page} 0 R" for page in pages)
    file.put(PAGES, f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>")
    marked = _bookmarks(file, pages, names) if len(pages) > 1 else ""
    file.put(CATALOG, f"<< /Type /Catalog /Pages {PAGES} 0 R{marked} >>")
    # neither dates nor a program's name, so that the bytes repeat
    path.write_bytes(file.finished(file.add(f"<< /Title {_words(title)} >>")))


def _bookmarks(file: _File, pages: Sequence[int], names: Sequence[str]) -> str:
    """Add a bookmark for each page; what the catalogue says of them."""
    root, count = file.reserve(), len(pages)
    places = [file.reserve() for _ in pages]
    for k, (page, name) in enumerate(zip(pages, names, strict=True)):
        before = f" /Prev {places[k - 1]} 0 R" if k else ""
        after = f" /Next {places[k + 1]} 0 R" if k + 1 < count else ""
        where = f"/Dest [{page} 0 R /Fit]"
        file.put(
            places[k], f"<< /Title {_words(name)} /Parent {root} 0 R{before}{after} {where} >>"
        )
    ends = f"/First {places[0]} 0 R /Last {places[-1]} 0 R"
    file.put(root, f"<< /Type /Outlines {ends} /Count {count} >>")
    return f" /Outlines {root} 0 R /PageMode /UseOutlines"


class _File:
    """Numbered objects, and the file made of them."""

    def __init__(self) -> None:
        self._objects: dict[int, bytes] = {}
        self._next = FIRST_FREE

    def reserve(self) -> int:
        """Number of an object written later."""
        self._next += 1
        return self._next - 1

    def put(self, number: int, body: str | bytes) -> None:
        """Write an object under its number."""
        self._objects[number] = body.encode("ascii") if isinstance(body, str) else body

    def add(self, body: str | bytes) -> int:
        """Write an object; its number."""
        number = self.reserve()
        self.put(number, body)
        return number

    def add_stream(self, data: bytes, more: str = "") -> int:
        """Write a compressed stream; its number."""
        packed = zlib.compress(data)
        head = f"<< /Length {len(packed)} /Filter /FlateDecode{more} >>\nstream\n"
        return self.add(head.encode("ascii") + packed + b"\nendstream")

    def finished(self, info: int) -> bytes:
        """The file, its objects in order."""
        # bytes above 127 tell transfer programs that the file is not text
        parts, place, places = [b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"], 15, []
        for number, body in sorted(self._objects.items()):
            places.append(place)
            parts.append(b"%d 0 obj\n%b\nendobj\n" % (number, body))
            place += len(parts[-1])
        count = len(places) + 1
        rows = "".join(f"{one:010d} 00000 n \n" for one in places)
        parts.append(
            f"xref\n0 {count}\n0000000000 65535 f \n{rows}trailer\n<< /Size {count} "
            f"/Root {CATALOG} 0 R /Info {info} 0 R >>\nstartxref\n{place}\n%%EOF\n".encode("ascii")
        )
        return b"".join(parts)


class _Fonts:
    """The fonts in use, cut down to their letters, which are numbered anew."""

    def __init__(self, letters: Iterable[Letters]) -> None:
        used: dict[bool, set[str]] = {}
        for one in letters:
            used.setdefault(one.bold, set()).update(one.text)
        self._glyphs: dict[bool, list[int]] = {}
        self._codes: dict[bool, dict[str, int]] = {}
        for bold, characters in sorted(used.items()):
            found = {one: font(bold=bold).glyph(one) for one in sorted(characters)}
            self._glyphs[bold] = font(bold=bold).with_parts(found.values())
            places = {glyph: place for place, glyph in enumerate(self._glyphs[bold])}
            self._codes[bold] = {one: places[glyph] for one, glyph in found.items()}

    def codes(self, text: str, *, bold: bool) -> str:
        """The text as numbers of glyphs, in hexadecimals."""
        codes = self._codes[bold]
        return "".join(f"{codes[character]:04x}" for character in text)

    def add_to(self, file: _File) -> str:
        """Write the fonts; their names for the resources of a page."""
        return " ".join(f"/F{int(bold)} {self._add(file, bold)} 0 R" for bold in self._glyphs)

    def _add(self, file: _File, bold: bool) -> int:
        glyphs, whole = self._glyphs[bold], font(bold=bold)
        data = whole.cut(glyphs)
        program = file.add_stream(data, f" /Length1 {len(data)}")
        scale = 1000 / whole.units_per_em
        name = f"{_tag(data)}+{NAMES[bold]}"
        box = " ".join(str(round(value * scale)) for value in whole.bounds)
        described = file.add(
            f"<< /Type /FontDescriptor /FontName /{name} /Flags 4 /FontBBox [{box}] "
            f"/ItalicAngle 0 /Ascent {round(whole.ascent * scale)} "
            f"/Descent {round(whole.descent * scale)} /CapHeight {round(CAPITAL * 1000)} "
            f"/StemV {160 if bold else 80} /FontFile2 {program} 0 R >>"
        )
        widths = " ".join(_number(whole.advance(glyph) * scale) for glyph in glyphs)
        within = file.add(
            f"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /{name} /CIDToGIDMap /Identity "
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "
            f"/FontDescriptor {described} 0 R /W [0 [{widths}]] >>"
        )
        meaning = file.add_stream(_meaning(self._codes[bold]).encode("ascii"))
        return file.add(
            f"<< /Type /Font /Subtype /Type0 /BaseFont /{name} /Encoding /Identity-H "
            f"/DescendantFonts [{within} 0 R] /ToUnicode {meaning} 0 R >>"
        )


def _tag(data: bytes) -> str:
    """Six letters that name a cut font, other letters for another cut."""
    return "".join(chr(ord("A") + byte % 26) for byte in hashlib.sha256(data).digest()[:6])


def _meaning(codes: dict[str, int]) -> str:
    """Which character each glyph stands for, so that text can be searched and copied."""
    rows = [f"<{code:04x}> <{_utf16(one)}>" for one, code in codes.items()]
    # no more than a hundred rows in a section
    parts = [rows[start : start + 100] for start in range(0, len(rows), 100)]
    sections = ["\n".join((f"{len(part)} beginbfchar", *part, "endbfchar")) for part in parts]
    return "\n".join(
        (
            "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def",
            "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange",
            *sections,
            "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend",
        )
    )


def _page(ink: Ink, fonts: _Fonts) -> Iterator[str]:
    """Operators that draw a page."""
    yield "0 J 0 j 10 M"
    clip = " ".join(_number(value * POINT) for value in ink.window)
    for mark in ink.marks:
        if mark.clipped:
            yield f"q {clip} re W n"
        yield from _stroke(mark) if isinstance(mark, Stroke) else _fill(mark)
        if mark.clipped:
            yield "Q"
    yield "BT"
    color = ""
    for one in ink.letters:
        if one.color != color:
            color = one.color
            yield f"{_color(color)} rg"
        yield _letters(one, fonts)
    yield "ET"


def _stroke(stroke: Stroke) -> Iterator[str]:
    dashes = " ".join(_number(length * POINT) for length in stroke.dashes_mm)
    yield f"{_number(stroke.width_mm * POINT)} w [{dashes}] 0 d {_color(stroke.color)} RG"
    for line in stroke.lines:
        closed = len(line) > 2 and bool((line[0] == line[-1]).all())
        yield _path(line[:-1] if closed else line)
        yield "s" if closed else "S"


def _fill(fill: Fill) -> Iterator[str]:
    yield f"{_color(fill.color)} rg"
    for rings in fill.areas:
        for ring in rings:
            yield f"{_path(ring)}\nh"
        yield "f"


def _path(points: Points) -> str:
    rows = [f"{_number(x)} {_number(y)}" for x, y in (points * POINT).tolist()]
    return " l\n".join((f"{rows[0]} m\n{rows[1]}", *rows[2:], "")).rstrip("\n")


def _letters(letters: Letters, fonts: _Fonts) -> str:
    size = _number(letters.height_mm / CAPITAL * POINT)
    angle = math.radians(letters.angle_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    x, y = letters.start
    matrix = (cosine, sine, -sine, cosine, x * POINT, y * POINT)
    words = fonts.codes(letters.text, bold=letters.bold)
    place = " ".join(_number(value) for value in matrix)
    return f"/F{int(letters.bold)} {size} Tf {place} Tm <{words}> Tj"


def _number(value: float) -> str:
    """A number as short as four decimals allow; the format knows no exponents."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _color(color: str) -> str:
    """Red, green and blue of ``#rrggbb`` as parts of one."""
    return " ".join(_number(int(color[k : k + 2], 16) / 255) for k in (1, 3, 5))


def _utf16(text: str) -> str:
    return text.encode("utf-16-be").hex()


def _words(text: str) -> str:
    """A text string in any script, in hexadecimals."""
    return f"<feff{_utf16(text)}>"
