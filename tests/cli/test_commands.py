"""The commands as a user types them: exit codes, messages, nothing lost."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from places import SAMPLES
from planned import written_quickly

from siteplan.cli import main
from siteplan.export.overwrite import FILES

SUBURB = str(SAMPLES / "small-suburban")


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The commands take over what other tests have had planned and composed."""
    written_quickly(monkeypatch)


@pytest.mark.usefixtures("once")
def test_the_report_says_what_was_drawn_and_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", SUBURB, "--out", str(tmp_path / "p")]) == 0
    out = capsys.readouterr().out
    assert "FITS: vertical" in out
    assert "no pond on this lot" in out
    assert "of 2 entry points" in out
    assert "separations kept" in out
    assert "plan.dxf, plan.png, plan.pdf, owner.pdf, elements.csv, takeoff.csv, summary" in out
    assert "\x1b" not in out


@pytest.mark.usefixtures("once")
def test_json_prints_what_the_package_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", SUBURB, "--out", str(tmp_path / "p"), "--json"]) == 0
    out = capsys.readouterr().out
    assert out == (tmp_path / "p" / "summary.json").read_text(encoding="utf-8")


@pytest.mark.usefixtures("once")
def test_the_system_of_the_command_line_wins(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["plan", SUBURB, "--system", "open", "--out", str(tmp_path / "p"), "--json"])
    summary = json.loads(capsys.readouterr().out)
    assert (code, summary["system"], list(summary["systems"])) == (1, "open", ["open"])


@pytest.mark.usefixtures("once")
def test_a_package_is_not_overwritten_unless_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "p"
    folder.mkdir()
    (folder / "plan.dxf").write_text("mine", encoding="utf-8")
    (folder / "letter.txt").write_text("mine too", encoding="utf-8")
    assert main(["plan", SUBURB, "--out", str(folder)]) == 2
    assert "holds plan.dxf already. Say --force" in capsys.readouterr().err
    assert (folder / "plan.dxf").read_text(encoding="utf-8") == "mine"
    assert main(["plan", SUBURB, "--out", str(folder), "--force", "--quiet"]) == 0
    assert (folder / "plan.dxf").read_bytes()[:1] != b"m"
    assert (folder / "letter.txt").read_text(encoding="utf-8") == "mine too"
    assert capsys.readouterr().out == ""


def test_faults_end_with_code_2_and_nothing_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "site.toml"
    bad.write_text('[project]\ntitle = "x"\n', encoding="utf-8")
    assert main(["plan", str(bad), "--out", str(tmp_path / "p")]) == 2
    err = capsys.readouterr().err
    assert "faults in the input:" in err
    assert "- site.toml, [project], owner: is missing." in err
    assert "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["site.toml"]


@pytest.mark.usefixtures("once")
def test_a_failing_export_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("siteplan.export.package.write_dxf", full)
    assert main(["plan", SUBURB, "--out", str(tmp_path / "p")]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words", [[], ["plan"], ["plan", SUBURB, "--system", "steam"], ["draw", SUBURB]]
)
def test_wrong_usage_ends_with_code_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(words)
    assert "usage: siteplan" in capsys.readouterr().err


def test_an_unknown_paper_names_those_there_are(
    lot_text: str,
    write_site: Callable[..., Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    site = write_site(lot_text + '[sheet]\nsize = "ANSI X"\n')
    assert main(["plan", str(site), "--out", str(tmp_path / "p")]) == 2
    assert "[sheet], size: 'ANSI X' is not known; did you mean 'ANSI" in capsys.readouterr().err
    assert not (tmp_path / "p").exists()


@pytest.mark.usefixtures("once")
def test_an_unexpected_fault_is_one_plain_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("float division")

    monkeypatch.setattr("siteplan.export.package.compose_set", broken)
    assert main(["plan", SUBURB, "--out", str(tmp_path / "p")]) == 1
    err = capsys.readouterr().err
    assert "ZeroDivisionError: float division\nThis is a fault of siteplan" in err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_place_of_a_file_is_not_touched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "p" / "plan.pdf" / "inside").mkdir(parents=True)
    assert main(["plan", SUBURB, "--out", str(tmp_path / "p"), "--force"]) == 2
    assert "plan.pdf is a folder there" in capsys.readouterr().err
    assert (tmp_path / "p" / "plan.pdf" / "inside").is_dir()


@pytest.mark.usefixtures("once")
def test_a_file_that_cannot_be_replaced_leaves_the_old_package_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "p"
    folder.mkdir()
    for name in FILES[:4]:
        (folder / name).write_text(f"old {name}", encoding="utf-8")
    replace = os.replace

    def locked(source: Path, target: Path) -> None:
        if Path(source).parent == folder and Path(source).name == "plan.pdf":
            raise PermissionError(13, "open in another program")
        replace(source, target)

    monkeypatch.setattr(os, "replace", locked)
    assert main(["plan", SUBURB, "--out", str(folder), "--force"]) == 2
    assert "open in another program" in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == sorted(FILES[:4])
    for name in FILES[:4]:
        assert (folder / name).read_text(encoding="utf-8") == f"old {name}"


def test_help_loads_no_heavy_library() -> None:
    probe = (
        "import sys, siteplan.cli as cli\n"
        "try: cli.main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'shapely', 'matplotlib', 'ezdxf', 'pyproj', 'scipy', 'rich'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_the_module_runs_as_a_program() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "siteplan", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("siteplan ")


def test_rules_lists_shows_and_compares(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules"]) == 0
    listed = capsys.readouterr().out
    rows = {line.split()[0]: line for line in listed.splitlines()}
    assert "maine" in rows
    # a book of duties alone has rows too, and how a book was read stands beside it
    assert " 0 " not in listed
    assert "quoted" in rows["new-york"]
    assert rows["nebraska-178-nac-12"].split()[-1] == "superseded"
    assert "partly superseded" in rows["minnesota"]
    assert "common-practice" in listed
    assert main(["rules", "maine"]) == 0
    shown = capsys.readouterr().out
    assert "Verify with the authority before use." in shown
    assert "200 ft (public, pump rate over 50 gpm)" in shown
    assert main(["rules", "maine", "texas"]) == 0
    line = next(row for row in capsys.readouterr().out.splitlines() if "septic tank" in row)
    assert line.split() == ["bore", "septic", "tank", "30", "ft", "25", "ft"]


def test_rules_tells_of_a_place_and_names_the_books(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--for", "Nebraska"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Nebraska: partly.")
    for words in ("ravenna-ne", "us-class-v", '[rules] books = ["nebraska"]', "verify with the"):
        assert words in told
    assert main(["rules", "--for", "Alaska"]) == 0
    assert capsys.readouterr().out.startswith("Alaska: nothing found.")
    assert main(["rules", "--for", "Lancaster County, Nebraska"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Lancaster County: no book of it is here.")
    assert "\nNebraska: partly." in told
    assert main(["rules", "--for", "Tazewell County, Illinois"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Tazewell County: tazewell-county-il.")
    assert '[rules] books = ["illinois", "tazewell-county-il"]' in told
    # a county's book is nobody else's
    assert main(["rules", "--for", "Florida"]) == 0
    told = capsys.readouterr().out
    assert "No book holds in all of Florida" in told
    assert "[rules] books" not in told
    assert main(["rules", "--for", "Delaware"]) == 0
    # a book of distances alone says so
    assert "No row of its books is about permits, notices or records" in capsys.readouterr().out
    assert main(["rules", "--for", "Atlantis"]) == 2
    unknown = capsys.readouterr().err
    assert "siteplan rules --for all lists them all" in unknown
    assert "Wyoming" not in unknown
    assert main(["rules", "--for", "all"]) == 0
    assert {"Alaska", "Wyoming", "Sweden"} <= set(capsys.readouterr().out.split())


def test_rules_check_tells_every_fault_with_the_line_that_helps(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "town.toml"
    text = 'id = "town"\ntitle = "T"\nread_on = 2026-01-31\n[[rule]]\nfrom = "drainfield"\n'
    path.write_text(f"{text}distance = 10\n", encoding="utf-8")
    assert main(["rules", "check", str(path)]) == 2
    told = capsys.readouterr().err
    assert "2 faults" in told
    assert "[docs/rule-books.md, rule: source: section of the document" in told
    assert "[docs/rule-books.md, rule: distance: as printed" in told
    path.write_text(f'{text}distance = "10 ft"\nsource = "s. 1"\n', encoding="utf-8")
    assert main(["rules", "check", str(path)]) == 0
    told = capsys.readouterr().out
    assert "no fault. Rules: 1;" in told
    assert "does the reserve area count" in told
    assert main(["rules", "check"]) == 2


def test_rules_names_an_unknown_book_with_a_hint(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "mane"]) == 2
    assert "'mane' is not a book; did you mean 'maine'?" in capsys.readouterr().err


def test_why_answers_for_a_point(capsys: pytest.CaptureFixture[str]) -> None:
    # (40, 50) ft lies inside the house of the suburban sample
    assert main(["why", SUBURB, "40", "50", "--part", "bore"]) == 1
    out = capsys.readouterr().out
    assert "house" in out
    assert "10 ft from building" in out
    assert main(["why", SUBURB, "40", "90", "--part", "bore"]) == 0
    assert main(["why", SUBURB, "40", "90", "--part", "boar"]) == 2


@pytest.mark.parametrize("system", ["pond", "open"])
def test_a_loop_type_that_cannot_be_tried_still_gives_a_sheet(
    system: str, lot_text: str, write_site: Callable[..., Path], tmp_path: Path
) -> None:
    tank = '[[feature]]\nkind = "septic tank"\nat = [140, 90]\n[exchanger]'
    site = write_site(lot_text.replace("[exchanger]", tank))
    folder = tmp_path / "p"
    assert main(["plan", str(site), "--system", system, "--out", str(folder), "--quiet"]) == 1
    assert (folder / "plan.pdf").exists()
