"""A server of `siteplan edit` in a thread, and a plain client of it."""

from __future__ import annotations

import http.client
import json
import threading
import time
from pathlib import Path
from typing import Any

from siteplan.web.serve import server_of

PATIENCE_S = 60.0


class Served:
    """A running server of one lot."""

    def __init__(self, path: Path) -> None:
        self.server, self._socket, self.address = server_of(path)
        self.base, _, self.token = self.address.partition("/#")
        self.host = self.base.removeprefix("http://")
        self._thread = threading.Thread(
            target=self.server.run, kwargs={"sockets": [self._socket]}, daemon=True
        )
        self._thread.start()
        self.until(lambda: self.server.started)

    def stop(self) -> None:
        """Stop it and wait for its end."""
        self.server.should_exit = True
        self._thread.join(PATIENCE_S)
        self._socket.close()

    def ask(self, path: str, values: Any = None, **headers: str) -> tuple[int, bytes]:
        """Status and body of an answer; POST where values are sent. An empty header is left out."""
        known = {"x-siteplan-token": self.token}
        if values is not None:
            known["origin"] = self.base
        known |= {name.replace("_", "-"): value for name, value in headers.items()}
        body = values if values is None or isinstance(values, bytes) else json.dumps(values)
        connection = http.client.HTTPConnection(self.host, timeout=PATIENCE_S)
        try:
            sent = {name: value for name, value in known.items() if value}
            connection.request("GET" if values is None else "POST", path, body, sent)
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()

    def lot(self) -> dict[str, Any]:
        """The lot as the page has it."""
        return json.loads(self.ask("/lot")[1])

    def change(self, *ops: dict[str, Any]) -> dict[str, Any]:
        """The lot after changes."""
        status, body = self.ask("/do/change", {"digest": self.lot()["digest"], "ops": list(ops)})
        assert status == 200, body
        return json.loads(body)

    def planned(self) -> dict[str, Any]:
        """The plan, once it is made."""
        self.until(lambda: {"plan", "faults"} & set(self.lot()["stages"]))
        return self.lot()["stages"]

    @staticmethod
    def until(true: Any) -> None:
        """Wait for something."""
        end = time.monotonic() + PATIENCE_S
        while not true():
            assert time.monotonic() < end, "waited in vain"
            time.sleep(0.02)
