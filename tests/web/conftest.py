"""A server, and the page of a lot in a browser."""

from __future__ import annotations

import pytest
from browsed import Shown, begin_with


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """One server for every test here; each finds its own lot there."""
    pytest.importorskip("starlette", reason="the extra edit is not installed")
    from served import Served

    from siteplan.web.serve import site_file_of

    folder = tmp_path_factory.mktemp("home") / "lot"
    served = Served(site_file_of(folder, "ft"))
    served.folder = folder
    served.empty = (folder / "site.toml").read_text()
    yield served
    served.stop()


@pytest.fixture
def shown(request, browser, home):
    """The page of a lot: of the text asked for, else of a small one."""
    from test_edit_server import LOT

    begin_with(home, getattr(request, "param", LOT))
    one = Shown(browser, home)
    yield one
    assert one.trouble == []
    one.context.close()
