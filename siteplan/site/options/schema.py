"""The JSON Schema of the site file, for editors that complete and check: draft 2020-12.

It knows what each option alone may be. What several options say together, and limits of
quantities written with a unit, only the reader judges.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from siteplan.limits import LONGEST_NAME
from siteplan.site.options.choices import (
    ADJOINING,
    DEPTH_CONTOUR,
    ENTRY,
    MEASURED,
    PARCEL,
    SHORE_ENTRY,
    SOUNDING,
    choices,
    uses_of,
)
from siteplan.site.options.declared import TABLES, Option, catalogue
from siteplan.site.options.quantities import NOTHING_BARE, quantities
from siteplan.units.lengths import BARE, COMPASS, WITH_SIGNS
from siteplan.units.written import AMOUNT, FEET_SIGNS, INCH_SIGNS, JOINT
from siteplan.vocabulary.kinds import kinds


def _typed(pattern: str) -> str:
    """A pattern that takes any of the signs of minutes and seconds."""
    seconds = f"(?:[{INCH_SIGNS}]|[{FEET_SIGNS}]{{2}})"
    return pattern.replace('\\"', '"').replace("'", f"[{FEET_SIGNS}]").replace('"', seconds)


Schema = dict[str, Any]
DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
SHAPES: Final = {"point": "at", "line": "line", "polygon": "area"}
"""Key of a [[feature]] by the shape that it is drawn as."""

_APART: Final = r"[\s.\-]*"
_WORDS: Final = {"N": "north", "E": "east", "S": "south", "W": "west"}
_LETTERS: Final = {
    letter: f"(?:{word}|{word.capitalize()}|{word.upper()}|{letter}|{letter.lower()}){_APART}"
    for letter, word in _WORDS.items()
}
_POINTS: Final = "|".join("".join(map(_LETTERS.__getitem__, point)) for point in COMPASS)
BEARING: Final = (
    rf"^\s*(?:[NnSs]\s*(?:{_typed(WITH_SIGNS)}|{BARE})[EeWw]\s*"
    rf"|(?:(?:[Dd]ue|DUE)\s+)?(?:{_POINTS}))$"
)
DAY: Final = r"^\s*(?:[0-9]+[\s\-]+[A-Za-z]{3,}\.?|[A-Za-z]{3,}\.?[\s\-]+[0-9]+)\s*$"
NOTHING: Final[Schema] = {"not": {}}
"""A key that may not be written here."""
PRICE: Final[Schema] = {
    "anyOf": [
        {"type": "number", "exclusiveMinimum": 0},
        {
            "type": "array",
            "items": {"type": "number", "exclusiveMinimum": 0},
            "minItems": 2,
            "maxItems": 2,
        },
    ]
}
"""A sum, or the low and the high one; which is the low one only the reader judges."""
POINT: Final[Schema] = {
    "type": "array",
    "prefixItems": [{"type": "number"}, {"type": "number"}],
    "minItems": 2,
    "maxItems": 3,
}
PLACE: Final[Schema] = {"anyOf": [POINT, {"type": "object"}]}
"""A point, or what a tape says of it."""


def site_schema() -> Schema:
    """JSON Schema of a whole site file."""
    schema = _object(catalogue())
    properties = schema["properties"]
    properties["feature"]["items"] |= _by_kind()
    return {
        "$schema": DRAFT,
        "title": "Site file of siteplan",
        "description": "A lot, what is on it, and the ground loop wanted: see docs/site-file.md.",
        **schema,
        "required": ["project"],
        "$defs": _definitions(),
    }


def _definitions() -> dict[str, Schema]:
    """What a quantity may look like, by its name and sign."""
    named = {}
    for kind in ("length", "angle", "flow", "power", "voltage", "temperature", "difference",
                 "conductivity", "diffusivity", "flux", "speed", "pressure", "energy",
                 "freezing index", "density", "volume", "mass", "permeability",
                 "transmissivity"):  # fmt: skip
        for sign in ("", " zero or more", " above zero"):
            named[kind + sign] = _quantity(kind, sign)
    return named


def _quantity(kind: str, sign: str) -> Schema:
    quantity = quantities()[kind]
    units = "|".join(_spelled(unit) for unit in sorted(quantity.units, key=len, reverse=True))
    signed = "[+-]?" if not sign else r"\+?"
    ahead = "" if sign != " above zero" else "(?=.*[1-9])"
    if ahead and any(letter.isdigit() for unit in quantity.units for letter in unit):
        ahead = r"(?=(?:.*[\s0-9,.+])?[1-9])"  # the digit of m2 is none of a number
    first = rf"\s*{signed}\s*{AMOUNT}\s*(?:(?:{units})\.?){'?' if quantity.bare else ''}"
    more = rf"(?:{JOINT}{AMOUNT}\s*(?:{units})\.?)*" if quantity.summed else ""
    text: Schema = {"type": "string", "pattern": f"^{ahead}{first}{more}\\s*$"}
    if kind in NOTHING_BARE and sign == " zero or more":
        return {"anyOf": [{"enum": [0, "0", "0.0"]}, text]}
    if not quantity.bare:
        return text
    limit = {" zero or more": {"minimum": 0}, " above zero": {"exclusiveMinimum": 0}}
    return {"anyOf": [{"type": "number", **limit.get(sign, {})}, text]}


def _spelled(unit: str) -> str:
    """Pattern of a unit in capital or small letters, its dots written as the reader takes them."""
    signs = {".": r"(?:\.|[\s\-·*]+)", "2": "[2²]", "'": f"[{FEET_SIGNS}]"}
    signs |= {'"': f"(?:[{INCH_SIGNS}]|[{FEET_SIGNS}]{{2}})"}
    letters = [
        f"[{letter.upper()}{letter}]" if letter.isalpha() else signs.get(letter, re.escape(letter))
        for letter in unit
    ]
    if unit[-1] in "fck":  # of temperature: the sign of degrees may stand
        letters.insert(-1, "°?")
    return "".join(letters)


def _of(option: Option) -> Schema:
    """Schema of one option with what an editor shows of it."""
    schema = _SCHEMAS.get(option.kind, _by_reference)(option)
    if option.words:
        schema = {"anyOf": [schema, {"enum": list(option.words)}]}
    shown: Schema = {"description": option.help, **schema}
    if option.default is not None:
        shown["default"] = option.default
    if option.example is not None and option.kind not in TABLES:
        shown["examples"] = [_plain(option.example)]
    return shown


def _plain(value: Any) -> Any:
    """A value of TOML as JSON has it: dates are text."""
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def _by_reference(option: Option) -> Schema:
    sign = " above zero" if option.above is not None else ""
    if option.least == 0:
        sign = " zero or more"
    return {"$ref": f"#/$defs/{option.kind}{sign}".replace(" ", "%20")}


def _object(option: Option) -> Schema:
    required = [inner.key for inner in option.options.values() if inner.required]
    schema: Schema = {
        "type": "object",
        "properties": {key: _of(inner) for key, inner in option.options.items()},
        "additionalProperties": False,
    }
    schema = {**schema, "required": required} if required else schema
    return {"anyOf": [schema, {"type": "string"}]} if option.text_as else schema


def _text(option: Option) -> Schema:
    least = {"minLength": 1} if option.filled else {}
    return {"type": "string", **least, **({"maxLength": LONGEST_NAME} if option.name else {})}


def _list(option: Option) -> Schema:
    items: Schema = {"enum": list(choices()[option.choices])}
    if option.ending:
        named = {"type": "string", "pattern": f"{re.escape(option.ending)}$"}
        items = {"anyOf": [items, named]}
    several: Schema = {"type": "array", "items": items}
    if option.each_once:
        several["uniqueItems"] = True
    if option.filled:
        several["minItems"] = 1
    return {"anyOf": [items, several]}


def _number(option: Option) -> Schema:
    return {"type": "number", "minimum": option.least, "maximum": option.most}


def _number_by_temperature(option: Option) -> Schema:
    rows = {
        "type": "object",
        "propertyNames": {"$ref": "#/$defs/temperature"},
        "additionalProperties": _number(option),
        "minProperties": 2,
    }
    return {"anyOf": [_number(option), rows]}


def _points(option: Option) -> Schema:
    return {"type": "array", "items": POINT, "minItems": option.least or 1}


def _length_or_table(option: Option) -> Schema:
    return {"anyOf": [{"$ref": "#/$defs/length%20above%20zero"}, _object(option)]}


_SCHEMAS: Final[Mapping[str, Callable[[Option], Schema]]] = {
    "text": _text,
    "text or number": lambda _: {"type": ["string", "integer"]},
    "word": lambda option: {"enum": list(choices()[option.choices])},
    "list": _list,
    "date": lambda _: {
        "type": "string",
        "format": "date",
        "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
    },
    "count": lambda option: {
        "type": "integer",
        "minimum": option.least,
        "maximum": option.most,
    },
    "number": _number,
    "number by temperature": _number_by_temperature,
    "twelve energies": lambda _: {
        "type": "array",
        "items": {"$ref": "#/$defs/energy%20zero%20or%20more"},
        "minItems": 12,
        "maxItems": 12,
    },
    "twelve temperatures": lambda _: {
        "type": "array",
        "items": {"$ref": "#/$defs/temperature"},
        "minItems": 12,
        "maxItems": 12,
    },
    "twelve numbers": lambda option: {
        "type": "array",
        "items": {"type": "number", "minimum": option.least, "maximum": option.most},
        "minItems": 12,
        "maxItems": 12,
    },
    "point": lambda _: POINT,
    "points": _points,
    "lines": lambda _: {
        "type": "array",
        "items": {"type": "array", "items": POINT, "minItems": 2},
        "minItems": 1,
    },
    "point or points": lambda option: {"anyOf": [POINT, _points(option)]},
    "bearing": lambda _: {"anyOf": [{"type": "number"}, {"type": "string", "pattern": BEARING}]},
    "day": lambda _: {
        "anyOf": [
            {"type": "number", "minimum": 1, "maximum": 365},
            {"type": "string", "pattern": DAY},
        ]
    },
    "place": lambda _: PLACE,
    "places": lambda option: {"type": "array", "items": PLACE, "minItems": option.least or 1},
    "any": lambda _: {},
    "price": lambda _: PRICE,
    "prices": lambda option: {
        "type": "object",
        "propertyNames": {"enum": list(choices()[option.choices])},
        "additionalProperties": PRICE,
    },
    "prices by depth": lambda _: {
        "type": "object",
        "propertyNames": {"$ref": "#/$defs/length%20above%20zero"},
        "additionalProperties": PRICE,
    },
    "table": _object,
    "tables": lambda option: {"type": "array", "items": _object(option)},
    "length or table": _length_or_table,
}


def _by_kind() -> Schema:
    """What hangs on the kind of a feature: how it is drawn, its uses, keys that it has not."""
    one_shape = {"oneOf": [{"required": [key]} for key in (*SHAPES.values(), *MEASURED)]}
    drawn = {kind.name: kind.shapes for kind in kinds().values()}
    drawn |= {ENTRY: ("point",), DEPTH_CONTOUR: ("polygon",), SOUNDING: ("point",)}
    drawn |= {SHORE_ENTRY: ("point",)}
    drawn |= {ADJOINING: ("polygon",), PARCEL: ("polygon",)}
    return {**one_shape, "allOf": [_if_kind(kind, shapes) for kind, shapes in drawn.items()]}


def _if_kind(kind: str, shapes: tuple[str, ...]) -> Schema:
    options = catalogue().options["feature"].options
    has: Schema = {
        key: NOTHING
        for key, option in options.items()
        if kind != PARCEL and not option.belongs_to(kind)
    }
    has |= {key: NOTHING for shape, key in SHAPES.items() if shape not in shapes}
    if kind in kinds():
        uses = choices()[uses_of(kind)]
        has["use"] = {"enum": list(uses)} if uses else NOTHING
    then: Schema = {"properties": has}
    if kind in (DEPTH_CONTOUR, SOUNDING):
        then["required"] = ["depth"]
    return {
        "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
        "then": then,
    }
