"""One file per command; heavy imports stand inside the command, so that help is instant."""

from __future__ import annotations

import argparse
import errno
import gc
import sys
from collections.abc import Sequence
from importlib import import_module

from siteplan.cli.options import parser
from siteplan.cli.streams import complain, flush, give_up_stdout, show_what_can_be
from siteplan.cli.written import begin, told
from siteplan.errors import CheckError, InputError, RuleError, SitePlanError

TOLD = 100
"""So many faults are printed: a column of wrong words is one slip, and a fault in every row."""
OBJECTS = 50_000
"""So many more objects before Python looks for circles that nobody holds."""
NOT_PRINTED, STOPPED = 3, 130
"""Exit codes of a report that cannot be printed, and of a command stopped by Ctrl-C."""
UNPRINTED = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG, errno.EDQUOT)
"""What a full disk, a lost terminal or a closed stream behind stdout says."""


def main(argv: Sequence[str] | None = None) -> int:
    """Exit code of one command line."""
    show_what_can_be()
    begin()
    # a plan makes many small objects that live to its end: to look among them for circles after
    # every few hundred took a twelfth of the time, and found next to none
    gc.set_threshold(OBJECTS)
    try:
        return _code(argv)
    except KeyboardInterrupt:
        complain(f"siteplan: stopped; {told()}.")
        return STOPPED


def _code(argv: Sequence[str] | None) -> int:
    """Exit code of one command line that nobody stops."""
    arguments = parser().parse_args(_whole(sys.argv[1:] if argv is None else argv))
    try:
        code = _run(arguments)
        flush()
    except BrokenPipeError:
        # whoever reads has had enough, as `head` has
        give_up_stdout()
        return 0
    except Exception as error:
        if arguments.debug:
            raise
        return _ended(error)
    return code


def _ended(error: Exception) -> int:
    """Exit code of a command that an error has ended; what is wrong goes to stderr."""
    if isinstance(error, SitePlanError):
        _complain(error)
        return 1 if isinstance(error, CheckError) else 2
    if isinstance(error, OSError) and error.filename is None and error.errno in UNPRINTED:
        give_up_stdout()
        complain(f"siteplan: the report cannot be printed ({error.strerror}); {told()}.")
        return NOT_PRINTED
    complain(
        f"siteplan: {type(error).__name__}: {error}\nThis is a fault of siteplan, not of the "
        f"lot; {told()}. Please report it with the site file and the output of --debug."
    )
    return 1


def _whole(argv: Sequence[str]) -> list[str]:
    """Arguments, a point behind its option in one: west of Greenwich it begins with a minus.

    Examples
    --------
    >>> _whole(["new", "lot", "--at", "-71.4,42.6"])
    ['new', 'lot', '--at=-71.4,42.6']
    """
    whole: list[str] = []
    for argument in argv:
        if whole and whole[-1] == "--at":
            whole[-1] = f"--at={argument}"
        else:
            whole.append(argument)
    return whole


def _run(arguments: argparse.Namespace) -> int:
    """Exit code of a command: of the function ``run_NAME`` of the file of its name."""
    name = arguments.command
    code: int = getattr(import_module(f"siteplan.cli.{name}"), f"run_{name}")(arguments)
    return code


def _complain(error: SitePlanError) -> None:
    if isinstance(error, (InputError, RuleError)):
        count = len(error.faults)
        complain(f"siteplan: {count} fault{'s' if count > 1 else ''} in the input:")
        for fault in error.faults[:TOLD]:
            complain(f"  - {fault}")
        if count > TOLD:
            complain(f"  - and {count - TOLD} more: mend these first")
    else:
        complain(f"siteplan: {error}")
