"""Files that belong together are all there or none, whatever breaks a run off."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import ExportError
from siteplan.export.together import (
    LOCK,
    UNFINISHED,
    Together,
    broken_off,
    changed_files,
    checksums,
)
from siteplan.export.together import (
    OLD as REPLACED,
)
from tests.lots.killed import run_killed

NAMES = ("a.txt", "b.txt", "c.txt", "d.txt")
OLD, NEW = "old", "new"
OLD_NAMES, NEW_NAMES = NAMES[:3], NAMES[1:]
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a child that was forked")


def names(*_: Path) -> tuple[str, ...]:
    return NAMES


def together(folder: Path) -> Together:
    return Together(folder, "all.sha256", names)


def writing(text: str, which: tuple[str, ...]) -> Callable[[Path], None]:
    def draw(folder: Path) -> None:
        for name in which:
            (folder / name).write_text(f"{text} {name}", encoding="utf-8")

    return draw


def begin(folder: Path, before: str) -> None:
    """A folder as it was before: not there, there with something of the owner's, or with files."""
    shutil.rmtree(folder.parent, ignore_errors=True)
    folder.parent.mkdir(parents=True)
    if before != "absent":
        folder.mkdir()
        (folder / "mine.txt").write_text("mine", encoding="utf-8")
    if before == "old":
        together(folder).write(writing(OLD, OLD_NAMES))


def held(folder: Path) -> dict[str, str]:
    """Which run the files of a folder are of, by name."""
    there = [folder / name for name in NAMES if (folder / name).exists()]
    return {path.name: path.read_text(encoding="utf-8").split()[0] for path in there}


def replace(folder: Path) -> None:
    together(folder).write(writing(NEW, NEW_NAMES), force=True)


WHOLE = [{}, dict.fromkeys(OLD_NAMES, OLD), dict.fromkeys(NEW_NAMES, NEW)]


@needs_fork
@pytest.mark.parametrize(
    "before",
    [
        *(pytest.param(each, marks=pytest.mark.thorough) for each in ("absent", "other files")),
        "old",
    ],
)
def test_a_kill_at_any_change_of_a_name_leaves_no_mixture(tmp_path: Path, before: str) -> None:
    folder = tmp_path / "at" / "permit"
    told_whole = 0
    for at in range(200):
        begin(folder, before)
        killed = run_killed(lambda: replace(folder), at)
        files = held(folder)
        assert len(set(files.values())) <= 1, f"old and new are mixed at {at}"
        if (folder / "all.sha256").exists():  # then it is whole
            assert files in WHOLE
            assert changed_files(folder, "all.sha256") == []
            told_whole += 1
        elif before == "old":
            assert broken_off(folder, "all.sha256")
        if before != "absent":
            assert (folder / "mine.txt").read_text(encoding="utf-8") == "mine"
        if not killed:
            break
    assert not killed
    assert at >= {"absent": 8, "other files": 12, "old": 20}[before], "too few calls were seen"
    assert told_whole > 1


@needs_fork
def test_the_next_run_puts_the_old_files_back_and_says_so(tmp_path: Path) -> None:
    folder = tmp_path / "at" / "permit"
    put_back = 0
    for at in range(200):
        begin(folder, "old")
        if not run_killed(lambda: replace(folder), at):
            break
        moved = any((folder / UNFINISHED / REPLACED).glob("*"))
        was_half = moved and broken_off(folder, "all.sha256")
        told: list[str] = []
        with pytest.raises(ExportError, match=r"holds .* already"):
            together(folder).write(writing(NEW, NEW_NAMES), advise=told.append)
        assert held(folder) in WHOLE[1:]
        assert changed_files(folder, "all.sha256") == []
        assert any("begun to replace are back" in line for line in told) is was_half
        assert sorted(path.name for path in folder.iterdir() if path.name not in NAMES) == [
            "all.sha256",
            "mine.txt",
        ]
        put_back += was_half
    assert put_back > 4


@needs_fork
@pytest.mark.thorough
def test_two_hundred_kills_at_random_one_after_another_never_mix_or_lose(tmp_path: Path) -> None:
    random_ = random.Random(18)
    folder = tmp_path / "at" / "permit"
    begin(folder, "old")
    for turn in range(200):
        which = (OLD, OLD_NAMES) if turn % 2 else (NEW, NEW_NAMES)
        draw = writing(*which)
        run_killed(lambda: together(folder).write(draw, force=True) and None, random_.randrange(45))  # noqa: B023
        files = held(folder)
        assert len(set(files.values())) <= 1
        assert set(files) in (set(OLD_NAMES), set(NEW_NAMES)) or broken_off(folder, "all.sha256")
    replace(folder)
    assert held(folder) == WHOLE[2]
    assert not (folder / UNFINISHED).exists()


@needs_fork
def test_what_a_run_left_beside_a_folder_yet_to_come_is_removed_and_named(tmp_path: Path) -> None:
    folder = tmp_path / "at" / "permit"
    begin(folder, "absent")
    assert run_killed(lambda: replace(folder), 5)
    (left,) = folder.parent.iterdir()
    told: list[str] = []
    together(folder).write(writing(NEW, NEW_NAMES), advise=told.append)
    assert told == [f"{left}: left by a run that was broken off; removed"]
    assert list(folder.parent.iterdir()) == [folder]


def test_a_run_that_fails_in_the_middle_puts_the_old_files_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "at" / "permit"
    begin(folder, "old")
    move, moves = os.replace, 0

    def full(source: Path, target: Path) -> None:
        nonlocal moves
        moves += 1
        if moves == 6:
            raise OSError(28, "No space left on device")
        move(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(ExportError, match="No space left on device"):
        replace(folder)
    assert held(folder) == WHOLE[1]
    assert changed_files(folder, "all.sha256") == []
    assert not (folder / UNFINISHED).exists()


def test_old_files_that_cannot_be_put_back_are_kept_for_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "at" / "permit"
    begin(folder, "old")
    move, moves = os.replace, 0

    def dead(source: Path, target: Path) -> None:
        nonlocal moves
        moves += 1
        if moves > 5:
            raise OSError(5, "Input/output error")
        move(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", dead)
        with pytest.raises(ExportError, match="Input/output error"):
            replace(folder)
    assert broken_off(folder, "all.sha256")
    with pytest.raises(ExportError, match=r"holds a\.txt, b\.txt, c\.txt, all\.sha256 already"):
        together(folder).write(writing(NEW, NEW_NAMES))
    assert held(folder) == WHOLE[1]


def test_of_two_runs_at_once_one_writes_and_the_other_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "permit"
    script = (
        "import sys; from pathlib import Path; from tests.export.test_together import *\n"
        f"together(Path({str(folder)!r})).write(writing(OLD, OLD_NAMES), force=True)"
    )

    def draw(staged: Path) -> None:
        root = Path(__file__).parents[2]
        other = subprocess.run(
            [sys.executable, "-c", script], cwd=root, capture_output=True, text=True, check=False
        )
        assert "another run is writing there" in other.stderr
        writing(NEW, NEW_NAMES)(staged)

    together(folder).write(draw)
    assert held(folder) == WHOLE[2]
    assert list(tmp_path.iterdir()) == [folder]
    with pytest.raises(ExportError, match="already"):
        together(folder).write(writing(OLD, OLD_NAMES))


def test_a_lock_that_nobody_holds_stops_nobody(tmp_path: Path) -> None:
    folder = tmp_path / "permit"
    (folder / UNFINISHED).mkdir(parents=True)
    (folder / UNFINISHED / LOCK).touch()
    together(folder).write(writing(NEW, NEW_NAMES))
    assert held(folder) == WHOLE[2]


def test_the_list_is_what_sha256sum_reads(tmp_path: Path) -> None:
    # "abc" and its digest: FIPS 180-2, appendix B.1
    (tmp_path / "a.txt").write_bytes(b"abc")
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert checksums(tmp_path, ["a.txt"]) == f"{digest}  a.txt\n"
    (tmp_path / "all.sha256").write_text(checksums(tmp_path, ["a.txt"]), encoding="utf-8")
    if shutil.which("sha256sum"):
        subprocess.run(["sha256sum", "--check", "all.sha256"], cwd=tmp_path, check=True)
    (tmp_path / "a.txt").write_bytes(b"abd")
    assert changed_files(tmp_path, "all.sha256") == ["a.txt"]
    assert hashlib.sha256(b"abd").hexdigest() != digest


def test_files_that_are_not_listed_or_not_there_are_told(tmp_path: Path) -> None:
    folder = tmp_path / "permit"
    together(folder).write(writing(NEW, NEW_NAMES))
    (folder / "b.txt").unlink()
    assert changed_files(folder, "all.sha256") == ["b.txt"]
    assert changed_files(tmp_path, "all.sha256") is None


def test_a_file_that_cannot_be_read_is_not_as_the_list_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "permit"
    together(folder).write(writing(NEW, NEW_NAMES))
    assert changed_files(folder, "all.sha256") == []
    plain = Path.open

    def unreadable(path: Path, *mode: str, **named: Any) -> Any:
        if path.name == "b.txt":
            raise PermissionError(13, "Permission denied")
        return plain(path, *mode, **named)

    monkeypatch.setattr(Path, "open", unreadable)
    assert changed_files(folder, "all.sha256") == ["b.txt"]


NAMED_ELSEWHERE = ("../victim", "/dev/zero", "sub/../../victim", "..", "")


@pytest.mark.parametrize("name", NAMED_ELSEWHERE)
def test_a_list_that_leads_elsewhere_is_not_followed(name: str, tmp_path: Path) -> None:
    # names that lead out of a folder: Common Weakness Enumeration, CWE-22
    folder = tmp_path / "permit"
    (folder / "sub").mkdir(parents=True)
    (tmp_path / "victim").write_bytes(b"abc")
    digest = hashlib.sha256(b"abc").hexdigest()
    (folder / "all.sha256").write_text(f"{digest}  {name}\n", encoding="utf-8")
    assert changed_files(folder, "all.sha256") == [name]


def test_a_pipe_in_a_package_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.txt")
    (tmp_path / "all.sha256").write_text(f"{'0' * 64}  a.txt\n", encoding="utf-8")
    assert changed_files(tmp_path, "all.sha256") == ["a.txt"]
    os.mkfifo(tmp_path / "pipe.sha256")
    assert changed_files(tmp_path, "pipe.sha256") is None


def test_nothing_is_moved_that_lies_outside_of_a_package(tmp_path: Path) -> None:
    # a folder as if a run had been broken off in it, its list written by somebody else
    folder = tmp_path / "permit"
    together(folder).write(writing(OLD, OLD_NAMES))
    scratch = folder / UNFINISHED
    for name in (REPLACED, "new"):
        (scratch / name).mkdir(parents=True)
    (tmp_path / "victim").write_bytes(b"abc")
    (scratch / "new" / "all.sha256").write_text("0  ../victim\n", encoding="utf-8")
    together(folder).write(writing(NEW, NEW_NAMES), force=True)
    assert (tmp_path / "victim").read_bytes() == b"abc"
    assert held(folder) == WHOLE[2]
