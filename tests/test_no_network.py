"""Nothing is fetched, whatever a file or the surroundings say."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
COUNTED = """
import socket, sys
opened = []
def refuse(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.sendto", "urllib.Request"):
        opened.append((event, arguments))
        raise OSError("no network")
    # matplotlib asks for the fonts of a machine that it has not seen before
    starts = event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn")
    if starts and arguments[0] != "fc-list":
        opened.append((event, arguments))
sys.addaudithook(refuse)
try:
    socket.create_connection(("192.0.2.1", 9), timeout=0.1)
except OSError:
    pass
assert opened, "a connection is not noticed"
opened.clear()
from siteplan.cli import main
code = main(sys.argv[1:])
from pyproj.network import is_network_enabled
print("connections", opened, "grids fetched", is_network_enabled(), "exit code", code)
"""


@pytest.mark.thorough
def test_a_plan_opens_no_connection_and_starts_no_program(tmp_path: Path) -> None:
    # audit events: PEP 578; 192.0.2.1 is kept for documents, RFC 5737
    site = ROOT / "samples" / "rural-acre"
    ended = subprocess.run(
        [sys.executable, "-c", COUNTED, "plan", str(site), "--out", str(tmp_path / "out")],
        cwd=ROOT, env={"PROJ_NETWORK": "ON", "HOME": str(tmp_path), "MPLCONFIGDIR": str(tmp_path)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    told = ended.stdout.splitlines()[-1:]
    assert told == ["connections [] grids fetched False exit code 0"], ended.stderr
