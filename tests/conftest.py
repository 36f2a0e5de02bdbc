"""Shared by all tests: a small lot in feet whose distances anybody can work out by hand."""

from __future__ import annotations

import gc
import shutil
import sys
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import produced
import pytest
import rewritten
import taken_over
from _pytest.doctest import DoctestModule
from campaign import several
from hypothesis import settings
from places import SAMPLES
from small_lot import FIELD, GROUND, unsized
from together import LARGE, SAMPLE_NAMES, together, turn_of

from siteplan.cli import OBJECTS
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

# no test fails by the clock: machines differ and drift
settings.register_profile("unhurried", deadline=None, max_examples=several(15, 100))
settings.load_profile("unhurried")

rewritten.keep_compiled()
produced.watch()
taken_over.share()

MANY_OBJECTS = 10 * OBJECTS
"""So many are made before circles among them are looked for: a drawing that is read has that many,
and a run of the tests looked through half of them again and again."""

QUICK = "not thorough"
"""What is run where nobody says which tests."""


def pytest_sessionstart(session: pytest.Session) -> None:
    """Share the compiling of the tests, where several processes run all of them."""
    config = session.config
    told = getattr(config, "workerinput", None)
    if told is not None and config.args == config.getini("testpaths"):
        rewritten.import_in_turn(int(told["workerid"].removeprefix("gw")), told["workercount"])


def pytest_testnodedown(node: object, error: object) -> None:  # noqa: ARG001
    """Take over the codes that one process of a run has produced."""
    produced.CODES.update(getattr(node, "workeroutput", {}).get("codes", ()))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A whole run fails where no test has made the package say a code of the catalogue."""
    config = session.config
    if hasattr(config, "workeroutput"):
        config.workeroutput["codes"] = sorted(produced.CODES)
        return
    option = config.option
    whole = config.args == config.getini("testpaths") and option.markexpr == QUICK
    whole = whole and not (option.keyword or option.collectonly)
    missing = produced.unproduced() if whole and session.exitstatus == 0 else []
    if missing:
        print(f"\nCodes of the catalogue that no test produces: {', '.join(missing)}")  # noqa: T201
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


class OnlyExamples:
    """Look for examples of docstrings where a file has some: each other one costs a search too."""

    @pytest.hookimpl(wrapper=True)
    def pytest_collect_file(self, file_path: Path) -> Generator[None, list[Any], list[Any]]:
        found = yield
        if ">>> " in file_path.read_text(encoding="utf-8"):
            return found
        return [one for one in found if not isinstance(one, DoctestModule)]


def pytest_configure(config: pytest.Config) -> None:
    """Let the package's files, which lie beside the tests, be looked through as theirs are."""
    config.pluginmanager.register(OnlyExamples())


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Let one process run all tests of a sample, and all others of a file: each plans it once."""
    from xdist.scheduler import LoadScopeScheduling

    class Together(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return together(nodeid)

    # else the groups of most tests come first, and a long one of few tests last
    config.option.loadscopereorder = False
    return Together(config, log)


def pytest_collection_finish(session: pytest.Session) -> None:  # noqa: ARG001
    """Leave what was imported alone: to look through it again and again takes long."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(MANY_OBJECTS)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark what needs a browser and what is thorough; put what takes longest first in a run."""
    for item in items:
        if together(item.nodeid) in LARGE:
            item.add_marker("thorough")
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: turn_of(item.nodeid))


LOT = (
    GROUND
    + FIELD
    + """\
[exchanger]
capacity = "2 ton"
entry = [[80, 70]]
"""
)


@pytest.fixture
def lot_text() -> str:
    """Site file of the small lot."""
    return LOT


@pytest.fixture
def write_site(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Function that writes a site file and gives its path."""

    def write(text: str, name: str = "site.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture
def heated_site(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], Site]:
    """Function that reads the small lot with tables of loads and more, no size stated."""
    return lambda tables: read_site(write_site(f"{unsized(lot_text)}{tables}"))


@pytest.fixture(params=SAMPLE_NAMES)
def sample(request: pytest.FixtureRequest) -> Path:
    """Folder of each sample in turn."""
    return SAMPLES / str(request.param)


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Packages of sheets composed once and of pictures of few dots, which nobody looks at."""
    # loaded before the codes are watched, the package would have said some of them already
    from planned import drawn_quickly

    drawn_quickly(monkeypatch)


@pytest.fixture
def alone() -> Iterator[None]:
    """Each plan knows only what it worked out itself, as for a command."""
    with taken_over.alone():
        yield


@pytest.fixture
def forget():  # type: ignore[no-untyped-def]
    """Function that empties every cache of the package: what follows is worked out anew."""

    def clear() -> None:
        taken_over.forget()
        for name, module in list(sys.modules.items()):
            if name.split(".")[0] == "siteplan":
                for value in list(vars(module).values()):
                    getattr(value, "cache_clear", lambda: None)()

    return clear


@pytest.fixture(scope="module")
def browser():  # type: ignore[no-untyped-def]
    """Debian's chromium by Playwright; without them its tests are skipped."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("there is no Chromium")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium)
        yield started
        started.close()
