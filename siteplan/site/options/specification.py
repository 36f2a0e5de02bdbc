"""The specification of a site file."""

from __future__ import annotations

from siteplan.site.options.read import Read
from siteplan.site.specification import SpecificationOptions


def read_specification(given: Read) -> SpecificationOptions:
    """What a site file says for the specification."""
    return SpecificationOptions(
        fusion=given["fusion"] or "",
        casing=given["casing"] or "",
        tracer=given["tracer"] or "",
        backfill=given["backfill"] or "",
        abandoned=given["abandoned"] or "",
        test_minutes=given["test_minutes"],
        fill_pa=given["fill_pressure"],
        purge_minutes=given["purge_minutes"],
        service=given["service"] or "",
        stated=tuple(key for key in given.values if given.says(key)),
    )
