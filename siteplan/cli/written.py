"""What a command has truly written, told where it ends otherwise than it should."""

from __future__ import annotations

from pathlib import Path

Stamp = tuple[int, int, int]

_BEFORE: dict[Path, dict[str, Stamp]] = {}
"""Files where a command may write, as they were before."""

_KEPT: list[str] = []
"""From where the same command goes on when it is stopped, in words."""


def begin() -> None:
    """Forget what an earlier command in this process was to write."""
    _BEFORE.clear()
    _KEPT.clear()


def goes_on(words: str) -> None:
    """Remember from where the same command goes on; none: from its beginning."""
    _KEPT[:] = [words] if words else []


def may_write(target: Path) -> None:
    """Remember how a file, or the files of a folder, are before a command may write them."""
    _BEFORE[target] = _stamps(target)


def told() -> str:
    """What was written, in words.

    Examples
    --------
    >>> begin(); told()
    'nothing was written'
    """
    changed = []
    for target, before in _BEFORE.items():
        now = _stamps(target)
        names = sorted(name for name in now if before.get(name) != now[name])
        if target.is_dir():
            names = [", ".join(names)] if names else []
            changed += [f"{target}: {name}" for name in names]
        else:
            changed += [str(target) for _ in names]
    written = f"written before that: {'; '.join(changed)}" if changed else "nothing was written"
    return "; ".join([written, *(f"the same command goes on from {words}" for words in _KEPT)])


def _stamps(target: Path) -> dict[str, Stamp]:
    """What tells a file from the one that was there before, by name."""
    try:
        files = list(target.iterdir()) if target.is_dir() else [target]
        stats = {path.name: path.stat() for path in files if path.is_file()}
    except OSError:
        return {}
    return {name: (told.st_ino, told.st_mtime_ns, told.st_size) for name, told in stats.items()}
