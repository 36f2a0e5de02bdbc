"""The files of a run: lots and layers around them, read part by part; pyogrio alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyogrio
import shapely
from numpy.typing import NDArray

from siteplan.intake.surroundings import NUMBER_COLUMNS
from siteplan.screening.scan import Floats, Integers, Shapes
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.geodata import layers_of
from siteplan.site.readers.raw import plain_kind
from siteplan.site.readers.rows import LayerInfo, library_faults
from siteplan.site.readers.vetted import refused, vetted
from siteplan.vocabulary.kinds import kinds, plain_word

ORDER_BITS: Final = 16
"""The extent of a county is cut so often in two for the order of its lots."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a file, and what its rows are; ``where``: which rows are taken."""

    path: str
    name: str
    crs: str
    kind: str
    columns: tuple[str, ...] = ()
    where: str = ""

    def resolved(self) -> Layer:
        """The same layer by its whole path."""
        return replace(self, path=str(Path(self.path).resolve()))


@dataclass(frozen=True, slots=True)
class Sources:
    """The lots, and the layers of what is on them."""

    lots: Layer
    around: tuple[Layer, ...] = ()
    number_column: str = ""

    def resolved(self) -> Sources:
        """The same files by their whole paths: workers may stand in another folder."""
        return replace(
            self, lots=self.lots.resolved(), around=tuple(each.resolved() for each in self.around)
        )

    @property
    def kinds(self) -> tuple[str, ...]:
        """What the layers tell of."""
        return tuple(dict.fromkeys(layer.kind for layer in self.around))


@dataclass(frozen=True, slots=True)
class RowsRead:
    """Rows of a layer: their numbers in the file, shapes (None: none), and columns."""

    fids: Integers
    shapes: Shapes
    columns: dict[str, NDArray[Any]]


def sources_of(
    parcels: Path, layers: dict[str, Path], *, layer: str | None = None, crs: str | None = None,
    number: str | None = None,
) -> Sources:  # fmt: skip
    """The layers of a run.

    Parameters
    ----------
    parcels
        File of the lots. Layers of it that are called as a kind of feature is are taken too.
    layers
        Files of what is on the lots, by kind: ``"building"``, ``"potable well"`` ...
    layer
        Layer of the lots, where the file has several of areas.
    crs
        Coordinate system where a file does not say.
    number
        Column of the lots' numbers; None: one that is called so.

    Raises
    ------
    InputError
        A file cannot be read, or does not say its coordinate system.
    """
    lots = _lots(parcels, layer)
    names = [name for name, _ in lots.columns]
    if number is not None and number not in names:
        raise refused(parcels, f"has no column {number!r}.", f"Its columns: {', '.join(names)}.")
    called = {plain_word(name): name for name in reversed(names)}
    found = [called[word] for word in NUMBER_COLUMNS if word in called]
    beside = [
        _layer(parcels, info, plain_kind(info.name), crs)
        for info in layers_of(parcels)
        if info.name != lots.name and plain_kind(info.name) in kinds() and info.rows
    ]
    given = [
        _layer(path, info, _kind_of(kind, info), crs)
        for kind, path in layers.items()
        for info in layers_of(path)
        if info.rows
    ]
    return Sources(
        _layer(parcels, lots, PARCEL, crs), (*beside, *given), number or next(iter(found), "")
    )


def _kind_of(kind: str, info: LayerInfo) -> str:
    """What the rows of a layer are: septic fields are areas, tanks are points."""
    if kind == "septic":
        return "septic tank" if "Point" in info.shape else "drainfield"
    if kind == "water":
        return "stream" if "Line" in info.shape else "pond"
    return kind


def _lots(path: Path, layer: str | None) -> LayerInfo:
    areas = [each for each in layers_of(path) if "Polygon" in each.shape or each.shape == "Unknown"]
    if layer is not None:
        areas = [each for each in layers_of(path) if each.name == layer]
        if not areas:
            known = ", ".join(each.name for each in layers_of(path))
            raise refused(path, f"has no layer {layer!r}.", f"Its layers: {known}.")
    called = [each for each in areas if plain_kind(each.name) == PARCEL]
    for found in (areas, called):
        if len(found) == 1:
            if not found[0].rows:
                raise refused(path, "has no lots in it.", "Export it again.")
            return found[0]
    if layer is None and not areas:
        raise refused(path, "has no areas in it, and lots are areas.", "Export the parcels.")
    names = ", ".join(each.name for each in called or areas or layers_of(path)) or "none"
    raise refused(path, f"has {len(areas)} layers that may be the lots.", f"Say --layer: {names}.")


def _layer(path: Path, info: LayerInfo, kind: str, crs: str | None) -> Layer:
    system = info.crs or crs
    if system is None:
        raise refused(path, "does not say its coordinate system.", "Say which: --crs EPSG:...")
    return Layer(str(path), info.name, system, kind, tuple(name for name, _ in info.columns))


def lots_in_order(layer: Layer) -> tuple[Integers, Floats]:
    """Numbers of the rows of a layer along a Hilbert curve, and the middle of each.

    Rows of one extent come together: a stack of units is not torn apart. Rows without a shape come
    last, their middle is no number.
    """
    with library_faults(Path(layer.path)):
        fids, bounds = pyogrio.read_bounds(vetted(Path(layer.path)), layer=layer.name)
    fids, bounds = np.asarray(fids, dtype=np.int64), np.asarray(bounds, dtype=np.float64).T
    sound = np.isfinite(bounds).all(axis=1) & (bounds != 0).any(axis=1)
    key, middles = np.full(len(fids), np.iinfo(np.int64).max), np.full((len(fids), 2), np.nan)
    middles[sound] = (bounds[sound, :2] + bounds[sound, 2:]) / 2
    key[sound] = hilbert(middles[sound])
    order = np.lexsort((fids, bounds[:, 3], bounds[:, 2], bounds[:, 1], bounds[:, 0], key))
    rest = _without_shape(layer, fids)
    nowhere = np.full((len(rest), 2), np.nan)
    return np.concatenate([fids[order], rest]), np.concatenate([middles[order], nowhere])


def rows_in(layer: Layer) -> int:
    """Number of the rows of a layer."""
    with library_faults(Path(layer.path)):
        return int(pyogrio.read_info(vetted(Path(layer.path)), layer=layer.name)["features"])


def _without_shape(layer: Layer, known: Integers) -> Integers:
    """Numbers of the rows without a shape, which the library leaves out of the bounds."""
    if len(known) == rows_in(layer):
        return np.zeros(0, dtype=np.int64)
    path = vetted(Path(layer.path))
    with library_faults(Path(layer.path)):
        _, every, _, _ = pyogrio.raw.read(
            path, layer=layer.name, columns=[], read_geometry=False, return_fids=True
        )
    return np.setdiff1d(every, known).astype(np.int64)


def hilbert(places: Floats) -> Integers:
    """Number of each place along a Hilbert curve over all of them.

    Source: D. Hilbert, Mathematische Annalen 38 (1891) 459-460, for the curve.

    Examples
    --------
    >>> hilbert(np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]])).argsort().tolist()
    [0, 1, 2, 3]
    """
    if len(places) == 0:
        return np.zeros(0, dtype=np.int64)
    low = places.min(axis=0)
    size = max(float((places.max(axis=0) - low).max()), 1e-9)
    cells = ((places - low) / size * ((1 << ORDER_BITS) - 1)).astype(np.int64)
    x, y = cells[:, 0].copy(), cells[:, 1].copy()
    number = np.zeros(len(places), dtype=np.int64)
    side = 1 << (ORDER_BITS - 1)
    while side:
        right, upper = (x & side) > 0, (y & side) > 0
        number += side * side * ((3 * right) ^ upper)
        flip = ~upper & right
        x[flip], y[flip] = side - 1 - (x[flip] & (side - 1)), side - 1 - (y[flip] & (side - 1))
        turn = ~upper
        x[turn], y[turn] = y[turn].copy(), x[turn].copy()
        side >>= 1
    return number


def read_lots(layer: Layer, fids: Integers, columns: tuple[str, ...]) -> RowsRead:
    """Rows of these numbers, in their order."""
    with library_faults(Path(layer.path)):
        _, found, shapes, values = pyogrio.raw.read(
            vetted(Path(layer.path)), layer=layer.name, columns=list(columns), force_2d=True,
            fids=fids, return_fids=True,
        )  # fmt: skip
    order = np.argsort(np.argsort(fids)) if len(found) == len(fids) else np.arange(len(found))
    back = np.argsort(found, kind="stable")[order]
    names = [name for name in layer.columns if name in columns]
    told = {name: column[back] for name, column in zip(names, values, strict=True)}
    with np.errstate(invalid="ignore"):
        # a corner that is no place is told of its row
        drawn = shapely.from_wkb(shapes[back], on_invalid="fix")
    return RowsRead(found[back], drawn, told)


def lots_that_say(layer: Layer, column: str, value: str) -> Integers:
    """Numbers of the rows of which a column says so; ``row``: the number itself.

    Raises
    ------
    InputError
        There is no such column.
    """
    path = Path(layer.path)
    if column == "row" and column not in layer.columns:
        return np.array([int(value)] if value.isdecimal() else [], dtype=np.int64)
    if column not in layer.columns:
        known = ", ".join(layer.columns)
        raise refused(path, f"has no column {column!r}.", f"Its columns: {known}.")
    with library_faults(path):
        _, fids, _, (values,) = pyogrio.raw.read(
            vetted(path), layer=layer.name, columns=[column], read_geometry=False, return_fids=True
        )
    found = [text_of(each) == value for each in values.tolist()]
    return np.asarray(fids[np.array(found, dtype=bool)], dtype=np.int64)


def words_in(path: Path, layer: str, column: str) -> list[str]:
    """What the rows of a layer say in a column, each once."""
    with library_faults(path):
        _, _, _, (values,) = pyogrio.raw.read(
            vetted(path), layer=layer, columns=[column], read_geometry=False
        )
    return sorted({text_of(each) for each in values.tolist()} - {""})


def text_of(value: object) -> str:
    """What a column says, a whole number without its decimals.

    Examples
    --------
    >>> text_of(12.0), text_of(" A  12 "), text_of(None)
    ('12', 'A 12', '')
    """
    if value is None or value != value:  # noqa: PLR0124
        return ""
    if isinstance(value, float) and value.is_integer():
        return f"{value:.0f}"
    return " ".join(str(value).split())


def read_around(layer: Layer, bounds: tuple[float, float, float, float]) -> Shapes:
    """Shapes of a layer within bounds in its own coordinates, single ones."""
    with library_faults(Path(layer.path)):
        _, _, shapes, _ = pyogrio.raw.read(
            vetted(Path(layer.path)), layer=layer.name, columns=[], bbox=bounds, force_2d=True,
            where=layer.where or None,
        )  # fmt: skip
    parts = shapely.get_parts(shapely.from_wkb(shapes, on_invalid="ignore"))
    return np.asarray(parts[~shapely.is_empty(parts)])
