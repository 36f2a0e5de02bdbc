"""Texts of a drawing, whatever type of the format holds them, to be read and changed alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ezdxf.document import Drawing

TYPES = ("TEXT", "MTEXT", "ATTRIB")


class DrawnText:
    """A text; what it says is ``dxf.text`` for each type, all else as the type has it."""

    def __init__(self, entity: Any, space: Any) -> None:
        self.__dict__.update(entity=entity, space=space)

    @property
    def dxf(self) -> DrawnText:
        return self

    @property
    def text(self) -> str:
        """What is read, its lines in one."""
        if self.entity.dxftype() == "MTEXT":
            return " ".join(self.entity.plain_text(split=True))
        return str(self.entity.dxf.text)

    @text.setter
    def text(self, text: str) -> None:
        if self.entity.dxftype() == "MTEXT":
            self.entity.text = text
        else:
            self.entity.dxf.text = text

    @property
    def height(self) -> float:
        is_paragraph = self.entity.dxftype() == "MTEXT"
        return float(self.entity.dxf.char_height if is_paragraph else self.entity.dxf.height)

    @height.setter
    def height(self, height: float) -> None:
        is_paragraph = self.entity.dxftype() == "MTEXT"
        setattr(self.entity.dxf, "char_height" if is_paragraph else "height", height)

    @property
    def at(self) -> tuple[float, float]:
        """Where it hangs from or stands, whichever its type has."""
        dxf = self.entity.dxf
        aligned = self.entity.dxftype() != "MTEXT" and dxf.halign
        place = dxf.align_point if aligned else dxf.insert
        return float(place[0]), float(place[1])

    def erase(self) -> None:
        self.space.delete_entity(self.entity)

    def __setattr__(self, name: str, value: Any) -> None:
        if name in ("text", "height"):
            object.__setattr__(self, name, value)
        else:
            setattr(self.entity.dxf, name, value)

    def __getattr__(self, name: str) -> Any:
        entity = self.__dict__["entity"]
        if hasattr(type(entity), name):
            return getattr(entity, name)
        return getattr(entity.dxf, name)


def texts_in(space: Iterable[Any]) -> Iterator[DrawnText]:
    """Texts of a layout, those in its blocks and the attributes of these too."""
    for one in space:
        if one.dxftype() in TYPES:
            yield DrawnText(one, space)
        elif one.dxftype() == "INSERT" and one.dxf.name.startswith(("TABLE-", "TITLE-")):
            yield from texts_in(one.block())
            yield from (DrawnText(each, one) for each in one.attribs)


def sheet_texts(doc: Drawing) -> Iterator[DrawnText]:
    """Texts of all sheets."""
    for name in doc.layout_names_in_taborder():
        if name != "Model":
            yield from texts_in(doc.layout(name))
