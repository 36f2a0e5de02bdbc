"""What the server answers: the page, the lot, changes of it, its plan and its set."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from importlib.resources import files
from typing import Any, Final

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect

from siteplan.errors import FaultsError, SitePlanError
from siteplan.web.drawn import look_of_the_sheet, palette
from siteplan.web.fields import books, fields, other_fields, plainly
from siteplan.web.guard import Guard
from siteplan.web.intake import take_deed, take_file
from siteplan.web.own_rules import parts, subjects
from siteplan.web.pond_marks import with_ponds
from siteplan.web.session import Session, own_books

TYPES: Final = {"html": "text/html", "js": "text/javascript", "css": "text/css"}
DOWNLOADS: Final = {
    "package": ("application/zip", "permit-{name}.zip"),
    "page": ("text/html", "page-{name}.html"),
    "offer": ("image/png", "offer-{name}.png"),
}
Does = Callable[[Session, Any], Any]


def app_of(session: Session, *, port: int, token: str) -> ASGIApp:
    """The application, behind its guard."""

    @contextlib.asynccontextmanager
    async def alive(_: Starlette) -> AsyncIterator[None]:
        starting = asyncio.create_task(session.start())
        watching = asyncio.create_task(session.watch())
        yield
        watching.cancel()
        # a child on its way is waited for, so that it can be ended
        await starting
        session.close()

    app = Starlette(
        routes=[
            Route("/", _page),
            Route("/page/{name}", _page),
            Route("/lot", _lot),
            Route("/file", _site_file),
            Route("/get/{what}", _download, methods=["POST"]),
            Route("/parcel-file", _parcel_file, methods=["POST"]),
            Route("/do/{what}", _do, methods=["POST"]),
            WebSocketRoute("/live", _live),
        ],
        lifespan=alive,
    )
    app.state.session = session
    return Guard(app, port=port, token=token)


def _session(request: Request | WebSocket) -> Session:
    session: Session = request.app.state.session
    return session


async def _page(request: Request) -> Response:
    """A file of the page itself, by its plain name."""
    name = request.path_params.get("name", "edit.html")
    part = files("siteplan.web.page").joinpath(name)
    suffix = name.rpartition(".")[2]
    if suffix not in TYPES or "/" in name or "\\" in name or not part.is_file():
        return Response("not found", 404)
    return Response(part.read_text(encoding="utf-8"), media_type=TYPES[suffix])


async def _lot(request: Request) -> Response:
    session = _session(request)
    told = {**session.told(), "look": look_of_the_sheet(),
            "palette": with_ponds(palette()), "fields": fields(), "more": other_fields(),
            "own_rules": {"from": subjects(), "for": parts()}}  # fmt: skip
    return JSONResponse(told)


async def _site_file(request: Request) -> Response:
    """The site file itself."""
    store = _session(request).store
    return Response(store.files[store.path.name], media_type="text/plain")


async def _download(request: Request) -> Response:
    """A file made of the plan."""
    what = request.path_params["what"]
    session = _session(request)
    if what not in DOWNLOADS or session.engine is None:
        return Response("not found", 404)
    told = await session.engine.ask(what)
    if not isinstance(told, bytes):
        return JSONResponse(told, 409)
    kind, name = DOWNLOADS[what]
    headers = {"x-file-name": name.format(name=session.store.folder.name)}
    return Response(told, media_type=kind, headers=headers)


async def _parcel_file(request: Request) -> Response:
    """Take a lot from a file that the page sends along."""
    session, body = _session(request), await request.body()
    return await _done(take_file, session, {**dict(request.query_params), "body": body})


async def _do(request: Request) -> Response:
    """Do what the page asks for, and tell what has become of the lot."""
    does = DOES.get(request.path_params["what"])
    if does is None:
        return Response("not found", 404)
    try:
        values = json.loads(await request.body() or b"{}")
    except ValueError:
        return JSONResponse({"faults": ["That is no JSON."]}, 400)
    if not isinstance(values, dict):
        return JSONResponse({"faults": ["That is no mapping."]}, 400)
    return await _done(does, _session(request), values)


async def _done(does: Does, session: Session, values: Any) -> Response:
    try:
        told = does(session, values)
        if isinstance(told, Awaitable):
            told = await told
    except FaultsError as error:
        return JSONResponse({"faults": [plainly(fault) for fault in error.faults],
                             "outside": session.outside}, 409)  # fmt: skip
    except SitePlanError as error:
        return JSONResponse({"faults": [str(error)]}, 409)
    except (KeyError, TypeError, ValueError) as error:
        return JSONResponse({"faults": [f"This cannot be read ({error})."]}, 400)
    return JSONResponse(session.told() if told is None else told)


async def _live(socket: WebSocket) -> None:
    """Tell a tab what happens as long as it is open."""
    session = _session(socket)
    await socket.accept()
    session.tabs.append(socket)
    session.send({"type": "tabs", "count": len(session.tabs)})
    # what was told between the answer with the lot and now
    await session.tell_again(socket)
    try:
        while True:
            await socket.receive_text()
    except WebSocketDisconnect:
        pass
    finally:
        session.tabs.remove(socket)
        session.send({"type": "tabs", "count": len(session.tabs)})


# --- what the page may ask for


def _change(session: Session, values: Any) -> None:
    session.change(str(values["digest"]), values["ops"])


def _undo(session: Session, values: Any) -> None:
    session.go(str(values["digest"]), back=True, steps=int(values.get("steps", 1)))


def _redo(session: Session, values: Any) -> None:
    session.go(str(values["digest"]), back=False, steps=int(values.get("steps", 1)))


def _settle(session: Session, values: Any) -> None:
    session.settle(take=bool(values["take"]))


def _why(session: Session, values: Any) -> Any:
    ground = session.scene.ground
    return {"parts": ground.why(float(values["x"]), float(values["y"])) if ground else []}


async def _moved(session: Session, values: Any) -> Any:
    """The second opinion on the layout drawn, while things move."""
    if session.opinion is None:
        return {"broken": None}
    return await asyncio.to_thread(session.opinion.of_moved, values["moved"])


async def _ask(session: Session, values: Any) -> Any:
    if session.engine is None or values["about"] not in ("sheets", "costs"):
        return {"fault": "There is nothing to tell."}
    return await session.engine.ask(values["about"])


def _variant(session: Session, values: Any) -> Any:
    what, name = values.get("what", "list"), str(values.get("name", ""))
    if what == "add":
        session.add_variant(name, values.get("ops", []))
    elif what == "drop":
        session.variants.pop(name, None)
    elif what == "take":
        session.take_variant(str(values["digest"]), name)
        return None
    return {"variants": session.variants_told()}


def _books(session: Session, _: Any) -> Any:
    """Rule books to choose from: those that come along, and those beside the site file."""
    return {"books": [*books(), *own_books(session.store.folder)]}


def _again(session: Session, _: Any) -> None:
    session.refresh()


def _stop(session: Session, _: Any) -> Any:
    if session.engine is not None:
        session.engine.end_job()
    return {"stopped": True}


DOES: Final[dict[str, Does]] = {
    "change": _change,
    "undo": _undo,
    "redo": _redo,
    "settle": _settle,
    "why": _why,
    "moved": _moved,
    "ask": _ask,
    "variant": _variant,
    "deed": take_deed,
    "again": _again,
    "books": _books,
    "stop": _stop,
}
