"""The server on this machine: its socket, its address, and the browser that is opened there."""

from __future__ import annotations

import datetime
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Final

import uvicorn

from siteplan.errors import Fault, InputError
from siteplan.intake.folder import SITE_FILE, NewFolder, write_folder
from siteplan.intake.site_text import Stated, site_text
from siteplan.web.app import app_of
from siteplan.web.session import Session

HOST: Final = "127.0.0.1"


def site_file_of(path: Path, unit: str) -> Path:
    """The site file to edit; where there is none, one is made that waits for its parcel.

    Raises
    ------
    InputError
        It cannot be written.
    """
    file = path if path.suffix == ".toml" else path / SITE_FILE
    if not file.exists():
        stated = Stated(unit, (), datetime.date.today())
        text = site_text(
            stated,
            understood=("a lot that is drawn on the page of siteplan edit",),
            geometry="# parcel = [[x, y], ...]        # drawn on the page",
            entry='entry = "any wall"              # of the house, or [[x, y]] of the pipes',
        )
        write_folder(
            file.parent, NewFolder({file.name: text.split("\n# What is on the lot")[0] + "\n"}, ())
        )
    return file


def server_of(path: Path, *, port: int = 0) -> tuple[uvicorn.Server, socket.socket, str]:
    """A server for a site file, its socket and its address with the token of this start.

    Raises
    ------
    InputError
        The port is taken, or is no port.
    """
    # asyncio has a socket send at once only where it says that it is one of TCP: else the body of
    # every second answer waits 40 ms for the browser to confirm its head (RFC 1122, 4.2.3)
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
    except (OSError, OverflowError) as error:
        listening.close()
        mend = "Leave it out: any free one is taken."
        raise InputError([Fault("--port", f"{port} cannot be had ({error}).", mend)]) from None
    # whoever is told the address may ask at once, before the server is up
    listening.listen(64)
    own, token = listening.getsockname()[1], secrets.token_urlsafe(24)
    app = app_of(Session(path), port=own, token=token)
    config = uvicorn.Config(
        app, log_level="error", access_log=False, ws="websockets-sansio", ws_max_size=65536,
        timeout_graceful_shutdown=1, server_header=False,
    )  # fmt: skip
    # behind the number sign it is sent to nobody and stands in no log
    return uvicorn.Server(config), listening, f"http://{HOST}:{own}/#{token}"


def serve(path: Path, *, port: int, browser: bool, say: Callable[[str], None]) -> None:
    """Serve the page until it is stopped."""
    server, listening, address = server_of(path, port=port)
    # on a line of its own: a narrow terminal must not break it
    say(f"{path} is drawn and planned on this page, which this machine alone can open:")
    say(address)
    say("Every change is saved at once. Stop with Ctrl-C.")
    if browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    server.run(sockets=[listening])
