"""Warnings on what is drawn or wished and hardly can be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.advisories.plausible import implausible
from siteplan.site.readers.site_file import read_site


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        # 30 ft above the north wall at y = 70
        ("entry = [[80, 70]]", "entry = [[80, 100]]", "entry-off-the-wall", "30.0 ft from the"),
        ("at = [20, 180]", "at = [80, 55]", "overlap", "house (building) and well (potable well)"),
        (
            "entry = [[80, 70]]",
            'entry = [[80, 70]]\n[vertical]\nspacing = "3 ft"',
            "tight-spacing",
            "[vertical] spacing of 3.0 ft is less than 10.0 ft",
        ),
        (
            "entry = [[80, 70]]",
            'entry = [[80, 70]]\n[vertical]\nspacing = "60 ft"',
            "wide-spacing",
            "[vertical] spacing of 60.0 ft is more than 50.0 ft",
        ),
        (
            "entry = [[80, 70]]",
            'entry = [[80, 70]]\n[header]\ndepth = "21 ft"',
            "deep-trench",
            "[header] depth of 21.0 ft is more than 20.0 ft",
        ),
    ],
)
def test_what_hardly_can_be_is_told(
    old: str,
    new: str,
    code: str,
    words: str,
    lot_text: str,
    write_site: Callable[..., Path],
) -> None:
    (finding,) = implausible(read_site(write_site(lot_text.replace(old, new))))
    assert (finding.code, finding.severity) == (code, "warning")
    assert words in in_words(finding)


def test_an_ordinary_lot_gives_no_remark(lot_text: str, write_site: Callable[..., Path]) -> None:
    assert implausible(read_site(write_site(lot_text))) == ()
