"""Files made to harm their reader are refused before they are unpacked, parsed or asked.

The kinds are those of the Common Weakness Enumeration (MITRE): highly compressed data (CWE-409),
entities that multiply (CWE-776), entities that lie elsewhere (CWE-611), names that lead out of an
archive (CWE-22), and a loop without an end (CWE-835), here the query of a view.
"""

from __future__ import annotations

import sqlite3
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from random import Random

import geopandas
import pytest
import shapely

from siteplan.errors import InputError
from siteplan.limits import MOST_PACKED, MOST_XML_BYTES, MOST_ZIPPED
from siteplan.site.readers.geodata import layers_of
from siteplan.site.readers.vetted import LOOKED_AT, vetted

KML = b'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"/>'
LAUGHS = b"""<?xml version="1.0"?>
<!DOCTYPE lolz [<!ENTITY lol "lol"><!ENTITY lol2 "&lol;&lol;&lol;&lol;&lol;&lol;&lol;&lol;">
<!ENTITY lol3 "&lol2;&lol2;&lol2;&lol2;&lol2;&lol2;&lol2;&lol2;">]><kml>&lol3;</kml>"""
LETTERS = b"abcdefghijklmnopqrstuvwxyz"
ELSEWHERE = b'<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/passwd">]><kml>&x;</kml>'


def packed(path: Path, files: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", how) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return path


def written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def told_of(path: Path) -> str:
    """Why a file is refused; it is looked at without unpacking it into memory."""
    tracemalloc.start()
    try:
        with pytest.raises(InputError) as caught:
            vetted(path)
        assert tracemalloc.get_traced_memory()[1] < 8e6
    finally:
        tracemalloc.stop()
    (fault,) = caught.value.faults
    assert fault.mend
    return f"{fault.where} {fault.what}"


@pytest.mark.parametrize("name", ["lot.zip", "lot.kmz"])
def test_a_zip_of_much_more_than_its_size_is_not_unpacked(name: str, tmp_path: Path) -> None:
    inner = "doc.kml" if name.endswith("kmz") else "lot.gpkg"
    bomb = packed(tmp_path / name, {inner: bytes(30_000_000)})
    # DEFLATE packs at most about 1,032 to one (RFC 1951: 258 bytes in two bits)
    assert MOST_PACKED < 30_000_000 / bomb.stat().st_size < 1040
    assert told_of(bomb) == f"{name} would unpack to 30.0 MB."


def test_files_of_a_zip_count_together(tmp_path: Path) -> None:
    parts = {f"{number}.dbf": bytes(1_000_000) for number in range(30)}
    assert told_of(packed(tmp_path / "lot.zip", parts)) == "lot.zip would unpack to 30.0 MB."


def test_a_zip_unpacks_to_no_more_than_is_sane_however_large_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = packed(tmp_path / "lot.zip", {"lot.gpkg": b"SQLite format 3\0" + bytes(3000)})
    assert vetted(path)
    monkeypatch.setattr("siteplan.site.readers.vetted.MOST_UNPACKED", 3000)
    assert "would unpack to" in told_of(path)


def test_a_zip_of_very_many_files_is_refused(tmp_path: Path) -> None:
    many = {f"{number}.shp": b"" for number in range(MOST_ZIPPED + 1)}
    assert (
        told_of(packed(tmp_path / "lot.zip", many)) == f"lot.zip holds {MOST_ZIPPED + 1:,} files."
    )


@pytest.mark.parametrize("name", ["../lot.kml", "/etc/lot.kml", "lot/../../lot.kml"])
def test_a_zip_whose_names_lead_out_of_it_is_refused(name: str, tmp_path: Path) -> None:
    path = packed(tmp_path / "lot.zip", {"lot.kml": KML, name: KML})
    assert told_of(path) == "lot.zip holds names that lead out of it."


def test_a_zip_within_a_zip_is_not_opened(tmp_path: Path) -> None:
    inner = packed(tmp_path / "inner.zip", {"lot.kml": KML}).read_bytes()
    assert "holds none of" in told_of(packed(tmp_path / "lot.zip", {"inner.zip": inner}))


def test_what_says_it_is_smaller_than_it_is_cannot_be_unpacked(tmp_path: Path) -> None:
    path = packed(tmp_path / "lot.kmz", {"doc.kml": KML + bytes(9_000_000)})
    content = bytearray(path.read_bytes())
    said = content.rfind(b"PK\x01\x02") + 24
    content[said : said + 4] = len(KML).to_bytes(4, "little")
    assert "lot.kmz cannot be unpacked" in told_of(written(path, bytes(content)))


def each_way(path: Path, xml: bytes) -> list[Path]:
    """XML as a file, in a KMZ and in a zip."""
    return [
        written(path / "lot.kml", xml),
        packed(path / "lot.kmz", {"doc.kml": xml}),
        packed(path / "lot.zip", {"sub/lot.kml": xml}),
    ]


@pytest.mark.parametrize(
    "xml",
    [
        LAUGHS,
        ELSEWHERE,
        ELSEWHERE.replace(b"DOCTYPE", b"doctype"),
        LAUGHS.decode().encode("utf-16"),
        LAUGHS.decode().encode("utf-16-le"),
        # behind a long comment
        b"<!--"
        + bytes(Random(1).choices(b"abcdefghijklmnopqrstuvwxyz", k=200_000))
        + b"-->"
        + ELSEWHERE,
        b"<OGRVRTDataSource><OGRVRTLayer/></OGRVRTDataSource>",
    ],
    ids=["laughs", "elsewhere", "lower case", "utf-16", "utf-16-le", "far in", "other data"],
)
def test_xml_that_declares_entities_is_refused_wherever_it_lies(xml: bytes, tmp_path: Path) -> None:
    for path in each_way(tmp_path, xml):
        told = told_of(path)
        assert "declares more than a KML needs" in told or "is no .kml file inside" in told


@pytest.mark.parametrize("back", range(1, len("<!DOCTYPE")))
def test_a_declaration_between_two_pieces_that_are_read_is_seen(back: int, tmp_path: Path) -> None:
    comment = b"<!--" + b"x" * (LOOKED_AT - back - 7) + b"-->"
    assert len(comment) == LOOKED_AT - back
    assert "declares more" in told_of(written(tmp_path / "lot.kml", comment + ELSEWHERE))


@pytest.mark.parametrize("way", [0, 1, 2])
def test_kml_beyond_its_limit_is_refused_in_a_zip_too(way: int, tmp_path: Path) -> None:
    # what is packed little is no bomb, and too large all the same
    xml = KML + b" " * MOST_XML_BYTES
    path = (
        written(tmp_path / "lot.kml", xml)
        if way == 0
        else packed(tmp_path / ("lot.kmz" if way == 1 else "lot.zip"), {"doc.kml": xml}, 0)
    )
    with pytest.raises(InputError, match=r"has 20 MB; 20 MB are read"):
        vetted(path)


def with_view(path: Path, query: str) -> Path:
    """A GeoPackage of one parcel, and a layer that is a view."""
    lot = geopandas.GeoDataFrame(
        {"name": ["lot"]}, geometry=[shapely.box(5e5, 4.5e6, 500100, 4500100)], crs="EPSG:32612"
    )
    lot.to_file(path, layer="parcels", driver="GPKG")
    with sqlite3.connect(path) as base:
        base.execute(f"CREATE VIEW trees AS {query}")
        base.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id)"
            " VALUES ('trees', 'features', 'trees', 32612)"
        )
        base.execute(
            "INSERT INTO gpkg_geometry_columns VALUES ('trees', 'geom', 'POLYGON', 32612, 0, 0)"
        )
    base.close()
    return path


ENDLESS = """WITH RECURSIVE c (x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c)
SELECT x AS fid, (SELECT geom FROM parcels) AS geom FROM c"""


def zipped(path: Path) -> Path:
    return packed(path.with_suffix(".zip"), {path.name: path.read_bytes()})


@pytest.mark.parametrize("as_it_comes", [Path, zipped], ids=["plain", "zipped"])
def test_a_layer_that_is_a_query_without_an_end_is_not_asked(
    as_it_comes: Callable[[Path], Path], tmp_path: Path
) -> None:
    path = as_it_comes(with_view(tmp_path / "lot.gpkg", ENDLESS))
    with pytest.raises(InputError, match=r"has layers that are views: trees\. Export them as"):
        layers_of(path)


def test_a_view_that_is_no_layer_is_left_alone(tmp_path: Path) -> None:
    path = with_view(tmp_path / "lot.gpkg", "SELECT fid, geom FROM parcels")
    with sqlite3.connect(path) as base:
        base.execute("DELETE FROM gpkg_geometry_columns WHERE table_name = 'trees'")
        base.execute("UPDATE gpkg_contents SET data_type = 'attributes' WHERE table_name = 'trees'")
    base.close()
    assert [layer.name for layer in layers_of(path)] == ["parcels"]


@pytest.mark.parametrize("rows", [30, 3000])
def test_a_table_whose_rows_all_are_one_is_counted_row_by_row(rows: int, tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    lot = shapely.Point(5e5, 4.5e6).buffer(50.0, quad_segs=100)
    path = tmp_path / "lots.parquet"
    frame = geopandas.GeoDataFrame(geometry=[lot] * rows, crs="EPSG:32612")
    frame.to_parquet(path, compression="zstd")
    # 400 corners of two times 8 bytes in each row, written once
    assert 6400 * rows > MOST_PACKED * path.stat().st_size or rows == 30
    if rows == 30:
        assert layers_of(path)[0].rows == rows
    else:
        with pytest.raises(InputError, match=r"lots\.parquet: would unpack to more than"):
            layers_of(path)
