"""What a command says at its end is true: of what was written, and in signs that can be shown."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import places
import pytest
from campaign import thorough

import siteplan
from siteplan.cli import main, written

pytestmark = pytest.mark.usefixtures("coarse")

ROOT = Path(siteplan.__file__).parents[1]
FULL = Path("/dev/full")
STOPPED_AFTER = (
    "import signal, sys, threading, _thread; from siteplan.cli import main; "
    # a process that runs behind a shell is begun with Ctrl-C turned off
    "signal.signal(signal.SIGINT, signal.default_int_handler); "
    "threading.Timer(float(sys.argv[1]), _thread.interrupt_main).start(); "
    "sys.exit(main(sys.argv[2:]))"
)
"""A command that is interrupted as Ctrl-C does it, so many seconds after it began."""
METRIC = """\
[project]
title = "Größe ²"
owner = "A. Owner"
date = 2026-03-14
units = "m"
[geometry]
parcel = [[0, 0], [60, 0], [60, 45], [0, 45]]
[[feature]]
kind = "building"
area = [[20, 20], [32, 20], [32, 30], [20, 30]]
[exchanger]
entry = "any wall"
capacity = "2 ton"
"""


def run(*argv: str, cwd: Path, **more: object) -> subprocess.CompletedProcess[bytes]:
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), **more.pop("env", {})}  # type: ignore[dict-item]
    more.setdefault("stdout", subprocess.PIPE)
    return subprocess.run(
        [sys.executable, *argv], cwd=cwd, stderr=subprocess.PIPE, env=surroundings, check=False,
        **more,
    )  # type: ignore[call-overload,no-any-return]  # fmt: skip


@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full here")
def test_a_report_that_finds_no_room_tells_what_was_written(tmp_path: Path) -> None:
    with FULL.open("w") as full:
        done = run("-m", "siteplan", "new", "made", cwd=tmp_path, stdout=full)
    assert done.returncode == 3
    said = done.stderr.decode()
    assert said == (
        "siteplan: the report cannot be printed (No space left on device); "
        "written before that: made: site.toml.\n"
    )
    assert (tmp_path / "made" / "site.toml").exists()


@pytest.mark.skipif(not FULL.exists(), reason="no /dev/full here")
def test_a_report_that_finds_no_room_tells_that_nothing_was_written(tmp_path: Path) -> None:
    with FULL.open("w") as full:
        done = run("-m", "siteplan", "rules", cwd=tmp_path, stdout=full)
    assert done.returncode == 3
    assert done.stderr.decode().endswith("nothing was written.\n")
    assert list(tmp_path.iterdir()) == []


def plain_letters(monkeypatch: pytest.MonkeyPatch) -> tuple[io.TextIOWrapper, io.TextIOWrapper]:
    """Let this process have the output of one whose PYTHONIOENCODING is ascii."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii", errors="strict")
    # Python's manual: errors of stderr are always written with a backslash
    err = io.TextIOWrapper(io.BytesIO(), encoding="ascii", errors="backslashreplace")
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    return out, err


def said(stream: io.TextIOWrapper) -> bytes:
    stream.flush()
    assert isinstance(stream.buffer, io.BytesIO)
    return stream.buffer.getvalue()


def test_a_terminal_of_plain_letters_gets_plain_letters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "site.toml").write_text(METRIC, encoding="utf-8")
    out, err = plain_letters(monkeypatch)
    assert main(["inspect", str(tmp_path / "site.toml")]) == 0
    assert said(err) == b""
    told = said(out).decode("ascii")
    assert "Gr??e 2: " in told
    assert "120 m2" in told


def test_a_fault_in_signs_that_the_terminal_lacks_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "site.toml").write_text(METRIC.replace("2 ton", "2 °"), encoding="utf-8")
    _, err = plain_letters(monkeypatch)
    assert main(["inspect", str(tmp_path / "site.toml")]) == 2
    assert b"1 fault in the input" in said(err)


def test_a_closed_stdout_is_no_fault(tmp_path: Path) -> None:
    closed = {"preexec_fn": lambda: os.close(1), "stdout": None}
    done = run("-m", "siteplan", "rules", cwd=tmp_path, **closed)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("seconds", [0.05, 0.7, thorough(2.5)])
def test_ctrl_c_leaves_nothing_and_says_so(tmp_path: Path, seconds: float) -> None:
    site = str(places.SAMPLES / "tight-lot")
    done = run("-c", STOPPED_AFTER, str(seconds), "plan", site, "--out", "out", cwd=tmp_path)
    assert done.returncode == 130
    assert done.stderr.decode() == "siteplan: stopped; nothing was written.\n"
    assert list(tmp_path.iterdir()) == []


def test_half_a_new_folder_is_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = Path.write_bytes

    def stopped(path: Path, content: bytes) -> int:
        real(path, content[:100])
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "write_bytes", stopped)
    assert main(["new", str(tmp_path / "made")]) == 130
    assert capsys.readouterr().err == "siteplan: stopped; nothing was written.\n"
    assert list(tmp_path.iterdir()) == []


def test_a_fault_of_ours_tells_the_files_that_are_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("siteplan.cli.report.Terminal.say", broken)
    assert main(["new", str(tmp_path / "made")]) == 1
    assert f"written before that: {tmp_path / 'made'}: site.toml." in capsys.readouterr().err


def test_files_that_were_there_are_not_called_written(tmp_path: Path) -> None:
    (tmp_path / "old.txt").write_text("old", encoding="utf-8")
    written.begin()
    written.may_write(tmp_path)
    assert written.told() == "nothing was written"
    (tmp_path / "new.txt").write_text("new", encoding="utf-8")
    assert written.told() == f"written before that: {tmp_path}: new.txt"
