"""``siteplan inspect FILE``: what a geometry file or a site file holds."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.cli.report import Terminal, columns
from siteplan.site.readers.raw import shape_name
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import format_area, format_length

if TYPE_CHECKING:
    from siteplan.intake.looked_at import LayerLook
    from siteplan.site.model import Feature, Site


def run_inspect(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan inspect``: 0 where nothing is wrong, 1 where shapes have faults."""
    from siteplan.intake.looked_at import look_at
    from siteplan.intake.survey_looked_at import look_at_drawing

    terminal, path = Terminal(quiet=False), Path(arguments.file)
    if path.suffix.lower() == ".toml" or (path.is_dir() and path.suffix.lower() != ".gdb"):
        _show_site(terminal, read_site(path, quick=True))
        return 0
    if path.suffix.lower() == ".dxf":
        words, layers = look_at_drawing(path, arguments.file_unit)
        for line in words:
            terminal.say(line)
    else:
        layers = look_at(path)
    for layer in layers:
        _show_layer(terminal, layer)
    return 1 if any(layer.faults for layer in layers) else 0


def _show_layer(terminal: Terminal, layer: LayerLook) -> None:
    info = layer.info
    system = info.crs or "no coordinate system"
    terminal.say(f"layer {info.name}: {info.rows:,} rows, {info.shape}, {system}")
    if layer.looked_at < info.rows:
        terminal.say(f"  looked at: the first {layer.looked_at:,} rows")
    for told in (layer.where, layer.sizes):
        if told:
            terminal.say(f"  {told}")
    rows = [
        (each.name, each.type, f"{each.filled:,}", f"{each.different:,}", "; ".join(each.examples))
        for each in layer.columns
    ]
    if rows:
        terminal.show(columns(("column", "type", "filled", "different", "such as"), rows))
    for fault in layer.faults:
        terminal.say(f"  fault: {fault}")
    terminal.say(f"  in a site file:\n{layer.mapping}")


def _show_site(terminal: Terminal, site: Site) -> None:
    west, south, east, north = (value / site.unit.metres for value in site.parcel.bounds)
    terminal.say(f"{site.project.title}: {format_area(site.parcel.area, site.unit)}")
    if site.georeference is not None:
        frame = site.georeference
        latitude, longitude = frame.latitude_longitude(0.0, 0.0)
        terminal.say(f"  {frame.crs_name}, near {latitude:.5f}, {longitude:.5f}")
    terminal.say(
        f"  x {west:,.1f} to {east:,.1f}, y {south:,.1f} to {north:,.1f} {site.unit}, from the "
        "south-west corner of the rectangle around the lot"
    )
    rows = [_row(feature, site) for feature in site.features]
    headings = ("feature", "kind", "drawn as", "size", "at", "to property line")
    if rows:
        terminal.show(columns(headings, rows))
    if site.adjoining:
        numbers = ", ".join(filter(None, (each.number for each in site.adjoining)))
        terminal.say(
            f"  adjoining parcels: {len(site.adjoining)}" + (f" ({numbers})" if numbers else "")
        )
    for entry in site.entries if not site.any_wall else ():
        x, y = entry.point.x / site.unit.metres, entry.point.y / site.unit.metres
        terminal.say(f"  entry {entry.id}: ({x:,.1f}, {y:,.1f})")


def _row(feature: Feature, site: Site) -> tuple[str, ...]:
    shape, unit = feature.shape, site.unit
    size = ""
    if shape.area > 0:
        size = unit.area.text(shape.area)
    elif shape.length > 0:
        size = format_length(shape.length, unit, 0)
    spot = shape.representative_point()
    away = format_length(float(site.parcel.exterior.distance(shape)), unit, 1, rounding="down")
    return (
        feature.id,
        feature.kind,
        shape_name(shape),
        size,
        f"({spot.x / unit.metres:,.1f}, {spot.y / unit.metres:,.1f})",
        away if site.parcel.disjoint(shape) or site.parcel.covers(shape) else "crosses it",
    )
