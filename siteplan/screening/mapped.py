"""Layers that the shared tables name: ``[[geometry.layer]]``, with what their columns say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from siteplan.errors import Fault, InputError
from siteplan.reading import Table, did_you_mean
from siteplan.screening.sources import Layer, words_in
from siteplan.site.options.choices import PARCEL
from siteplan.site.options.declared import catalogue
from siteplan.site.options.read import read_table
from siteplan.site.readers.geodata import layers_of, query_of
from siteplan.site.readers.layers import SKIP, LayerAsked, kind_meant, layers_asked
from siteplan.site.readers.rows import LayerInfo, is_number
from siteplan.vocabulary.kinds import kinds

GEOMETRY = "geometry"


def mapped_layers(
    tables: Mapping[str, Any], source: Path, opened: Callable[[Path], Path]
) -> tuple[Layer, ...]:
    """Layers that tables of a site file name, one for each kind of thing in it.

    Parameters
    ----------
    tables
        The tables, with ``[[geometry.layer]]`` among them or not.
    source
        Their file.
    opened
        Gives the file that is read for a file that is named.

    Raises
    ------
    InputError
        All faults of these tables; a file that cannot be read.
    """
    faults: list[Fault] = []
    geometry = {GEOMETRY: {"layer": tables.get(GEOMETRY, {}).get("layer", [])}}
    root = Table(geometry, str(source), faults)
    given = read_table(root, {GEOMETRY: catalogue().options[GEOMETRY]})
    asked = layers_asked(given[GEOMETRY], source.parent)
    found = [] if faults else [layer for one in asked for layer in _of(one, opened)]
    if faults:
        raise InputError(list(dict.fromkeys(faults)))
    return tuple(found)


def _of(asked: LayerAsked, opened: Callable[[Path], Path]) -> Iterator[Layer]:
    """A layer for each kind of thing in the layer asked for."""
    if asked.drawn:
        asked.table.fault("file", "is a drawing, of one lot.", "Name a file of the county.")
        return
    path = opened(asked.path)
    infos = [each for each in layers_of(path) if asked.layer in (None, each.name)]
    if len(infos) != 1:
        names = ", ".join(each.name for each in layers_of(path))
        asked.table.fault("layer", f"picks {len(infos)} layers.", f"Say which: {names}.")
        return
    (info,) = infos
    system = info.crs or asked.crs
    if system is None:
        what = f"is missing: {path.name} does not say its coordinate system."
        asked.table.fault("crs", what, 'Add crs = "EPSG:...".')
        return
    for kind, condition in _conditions(asked, path, info):
        yield Layer(str(path), info.name, system, kind, where=condition)


def _conditions(asked: LayerAsked, path: Path, info: LayerInfo) -> Iterator[tuple[str, str]]:
    """Each kind of thing in a layer, and the condition of its rows."""
    base = query_of(path, info, asked.where) if asked.where else ""
    column = asked.columns.get("kind")
    if column is None:
        kind = kind_meant(asked, info.name)
        yield from [(kind, base)] if _known(asked, kind, info.name) else []
        return
    types = dict(info.columns)
    if column not in types:
        asked.table.fault(
            "columns", f"names {column!r}, which is none;", did_you_mean(column, types)
        )
        return
    words = defaultdict[str, list[str]](list)
    for word in words_in(path, info.name, column):
        kind = kind_meant(asked, word)
        if kind not in (SKIP, PARCEL, "") and _known(asked, kind, word):
            words[kind].append(word)
    for kind, told in words.items():
        condition = _one_of(column, told, number=is_number(types[column]))
        yield kind, f"({base}) AND {condition}" if base else condition


def _known(asked: LayerAsked, kind: str, word: str) -> bool:
    if kind in kinds():
        return True
    what = f"has things called {word!r}, which is no kind;"
    mend = f"{did_you_mean(kind, kinds())} Or say what it is: kinds = {{ {word!r} = ... }}."
    asked.table.fault("kinds", what, mend)
    return False


def _one_of(column: str, words: list[str], *, number: bool) -> str:
    """Condition that a column says one of some words."""
    name = column.replace('"', '""')
    quoted = (word if number else "'" + word.replace("'", "''") + "'" for word in words)
    return f'"{name}" IN ({", ".join(quoted)})'
