"""What works on one machine works on another: names, links, encodings."""

from __future__ import annotations

import ast
from pathlib import Path

from places import ROOT
from sources import nodes, trees

WRITERS = ("read_text", "write_text")


def shipped() -> list[Path]:
    """Files of the project, without what tools leave behind."""
    folders = [ROOT / name for name in ("siteplan", "tests", "samples", "docs")]
    return [
        path for folder in folders for path in folder.rglob("*") if "__pycache__" not in str(path)
    ]


def test_no_two_names_differ_only_in_case() -> None:
    names = [str(path).casefold() for path in shipped()]
    assert len(names) > 300
    assert len(names) == len(set(names))


def test_no_file_is_a_link() -> None:
    assert [path for path in shipped() if path.is_symlink()] == []


def test_no_name_is_one_that_windows_keeps_for_itself() -> None:
    kept = {"aux", "con", "nul", "prn", *(f"com{k}" for k in range(1, 10))}
    assert [path for path in shipped() if path.stem.casefold() in kept] == []
    assert [path for path in shipped() if set(path.name) & set('<>:"|?*\\')] == []


BYTES_ALONE = ("os", "packed")
"""What opens bytes and no text: the system, and a zip file."""


def unnamed_encodings(tree: ast.Module) -> list[int]:
    """Lines at which a file opens a text without naming its encoding."""
    found = []
    for node in nodes(tree):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        # of a path's own method the mode comes first, of the function it comes second
        arguments = node.args if isinstance(node.func, ast.Attribute) else node.args[1:]
        modes = [arg.value for arg in arguments if isinstance(arg, ast.Constant)]
        modes += [
            word.value.value
            for word in node.keywords
            if word.arg == "mode" and isinstance(word.value, ast.Constant)
        ]
        binary = any(set(str(mode)) <= set("rwaxb+") and "b" in str(mode) for mode in modes)
        owner = getattr(getattr(node.func, "value", None), "id", "")
        binary = binary or owner in BYTES_ALONE
        opens = name in WRITERS or (name == "open" and not binary)
        texts = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
        named = any(word.arg == "encoding" for word in node.keywords) or "utf-8" in texts
        if opens and not named:
            found.append(node.lineno)
    return found


def test_every_text_is_opened_with_its_encoding_named() -> None:
    bare = {
        str(path.relative_to(ROOT)): lines
        for path, tree in trees()
        if (lines := unnamed_encodings(tree))
    }
    assert bare == {}


def test_a_text_opened_without_its_encoding_is_seen() -> None:
    source = 'p.read_text()\nopen("a", "rb")\nopen("b")\n'
    assert unnamed_encodings(ast.parse(source)) == [1, 3]
