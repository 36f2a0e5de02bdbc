"""What keeps strangers out: this machine's address alone, a token per start, no foreign page.

A page of another origin that is open in the same browser can send requests here; so every one is
looked at before anything is read or written.
"""

from __future__ import annotations

import secrets
from typing import Final

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN: Final = "x-siteplan-token"
MOST_BODY: Final = 60_000_000
"""Of an upload [bytes]: as much as a surveyor's drawing may have."""
OPEN: Final = ("/", "/page/")
"""What anybody on this machine may load: the page itself, which holds nothing of the lot."""
HEADERS: Final = {
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cache-control": "no-store",
}


class Guard:
    """Refuses a foreign host, a foreign origin, a wrong token and a body beyond all limits.

    Parameters
    ----------
    app
        What answers the others.
    port
        Port of the server.
    token
        What the page has to bring along.
    """

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self.app = app
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.origins = {f"http://{host}" for host in self.hosts}
        self.token = token
        self.policy = policy(port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        why = self._refused(scope)
        if why and scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 4403})
            return
        if why:
            await PlainTextResponse(why, 403)(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                told = {**HEADERS, "content-security-policy": self.policy}
                more = [(name.encode(), value.encode()) for name, value in told.items()]
                message = {**message, "headers": [*message["headers"], *more]}
            await send(message)

        await self.app(scope, receive, sent)

    def _refused(self, scope: Scope) -> str:
        """Why a request is refused; empty where it is not."""
        headers = {
            name.decode("latin1"): value.decode("latin1") for name, value in scope["headers"]
        }
        path, method = scope["path"], scope.get("method", "GET")
        if headers.get("host") not in self.hosts:
            return "This server answers to 127.0.0.1 alone."
        origin = headers.get("origin")
        writes = method not in ("GET", "HEAD") or scope["type"] == "websocket"
        if (writes or origin is not None) and origin not in self.origins:
            return "This page is not from here."
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BODY or "transfer-encoding" in headers:
            return "That is more than is read."
        if method in ("GET", "HEAD") and scope["type"] == "http" and _is_open(path):
            return ""
        given = headers.get(TOKEN, "")
        if scope["type"] == "websocket":
            given = scope["query_string"].decode("latin1").removeprefix("token=")
        if not secrets.compare_digest(given.encode(), self.token.encode()):
            return "Open the address that siteplan edit has printed: its token is of this start."
        return ""


def _is_open(path: str) -> bool:
    return path == OPEN[0] or path.startswith(OPEN[1])


def policy(port: int) -> str:
    """Content policy of the page: scripts and styles of this server, and nothing from elsewhere."""
    return (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
        f"connect-src 'self' ws://127.0.0.1:{port} ws://localhost:{port}; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
