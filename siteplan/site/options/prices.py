"""The price list of a site file, or of the file that it names."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from siteplan.errors import InputError
from siteplan.reading import Table, is_beside, load_toml
from siteplan.site.options.declared import declared
from siteplan.site.options.read import Read, read_table
from siteplan.site.prices import GOODS, PriceList

FILE: Final = "file"


def read_price_list(given: Read | None, folder: Path) -> PriceList | None:
    """Prices of a site file; None where it has none.

    Parameters
    ----------
    given
        Its table of prices.
    folder
        Where a file of prices is looked up.
    """
    if given is None:
        return None
    if not given.says(FILE):
        return _list(given)
    if len(given.table.values) > 1:
        given.fault(FILE, "stands beside other keys.", "Keep prices here, or all in the file.")
        return None
    table = given.table
    path = folder / (given[FILE] or "")
    if not is_beside(path, folder, table, FILE):
        return None
    try:
        values = load_toml(path)
    except InputError as error:
        table.faults.extend(error.faults)
        return None
    options = {key: option for key, option in declared("prices").options.items() if key != FILE}
    return _list(read_table(Table(values, given[FILE], table.faults, table.unit), options))


def _list(given: Read) -> PriceList | None:
    if not given["currency"]:
        given.fault("currency", "is missing.", f"Add {declared('prices.currency').line}.")
        return None
    prices = PriceList(
        currency=given["currency"],
        goods=tuple((name, given[name]) for name in GOODS if given[name] is not None),
        trench=given["trench"] or (),
        pipe=given["pipe"] or (),
        fittings=given["fittings"] or (),
        mobilization=given["mobilization"] or (),
        as_of=given["as_of"] or "",
        source=given["source"] or "",
    )
    if not any((prices.goods, prices.trench, prices.pipe, prices.fittings, prices.mobilization)):
        given.fault("", "has no price.", f"Add some, such as {declared('prices.bore').line}.")
    return prices
