"""A command that takes long says so now and then."""

from __future__ import annotations

import io
import os
import pty
import subprocess
import sys
import time
from threading import Event

import places
import pytest

from siteplan.cli.patience import words_now_and_then

STEP = """
import sys, time
from siteplan.cli import report
report.WAITED_S = 0.2
with report.Terminal(quiet=sys.argv[1] == "quiet").progress("reading the lot") as told:
    told("fitting vertical")
    time.sleep({seconds})
"""


class Heard(io.StringIO):
    """A stream that tells when it was written to."""

    def __init__(self) -> None:
        super().__init__()
        self.heard = Event()

    def flush(self) -> None:
        self.heard.set()


def test_the_step_that_runs_is_named_while_nothing_else_is_said() -> None:
    stream = Heard()
    with words_now_and_then("reading the lot", every_s=0.01, to=stream) as told:
        told("fitting vertical")
        assert stream.heard.wait(30.0)
    lines = stream.getvalue().splitlines()
    assert all(line.startswith("siteplan: ") and line.endswith(" s") for line in lines)
    assert "fitting vertical" in lines[-1]


def test_what_is_quick_says_nothing_and_leaves_no_thread() -> None:
    stream = Heard()
    with words_now_and_then("reading the lot", to=stream):
        pass
    assert stream.getvalue() == ""


def test_an_error_passes_through_and_ends_the_words() -> None:
    stream = Heard()
    with pytest.raises(KeyboardInterrupt), words_now_and_then("x", every_s=60.0, to=stream):
        raise KeyboardInterrupt
    assert stream.getvalue() == ""


def seen_on_a_terminal(mode: str, seconds: float) -> bytes:
    """What a process shows on a terminal of its own."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", STEP.format(seconds=seconds), mode], cwd=places.ROOT, stderr=theirs,
        env={**os.environ, "TERM": "xterm", "PYTHONPATH": str(places.ROOT)},
    )  # fmt: skip
    os.close(theirs)
    seen = b""
    while True:
        try:
            piece = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        seen += piece
    assert process.wait() == 0
    os.close(ours)
    return seen


def test_a_terminal_shows_a_bar_with_the_step_once_somebody_waits() -> None:
    assert b"fitting vertical" in seen_on_a_terminal("loud", 1.5)


def test_a_terminal_shows_nothing_where_quiet_is_asked() -> None:
    assert seen_on_a_terminal("quiet", 0.5) == b""


def test_nothing_is_said_before_its_time() -> None:
    stream = Heard()
    with words_now_and_then("x", every_s=3600.0, to=stream):
        time.sleep(0.05)
    assert stream.getvalue() == ""
