"""The local page's server: this machine only, this person only.

It binds to the loopback address and gives out the page, its stills, frames and the clips, and no other file.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from episode.errors import CannotWrite, EpisodeError, UnusableInput
from episode.models import Clip
from episode.review.asking import Refused, asked, find_clip, find_moment, nearest_moment
from episode.review.desk import Desk
from episode.review.doorkeeper import ADDRESS, HOME, Doorkeeper
from episode.review.hand import hand
from episode.review.keys import clip_key
from episode.scratch import scratch

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response

_HTML_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"<>]{1,600})">')
_BARE_POLICY = "default-src 'none'; img-src 'self'; base-uri 'none'; form-action 'none'"
_STILLS = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".svg": "image/svg+xml"}
LARGEST_REQUEST = 20_000


def serve(day: Path, desk: Desk, *, port: int = 0, said: Callable[[str], None] = print) -> None:
    """Serve the day's page until Ctrl-C; ``said`` is told the address.

    Raises:
        UnusableInput: the port is taken.
    """
    import uvicorn

    token = secrets.token_urlsafe(24)
    with _listening(port) as listener:
        own = listener.getsockname()[1]
        config = uvicorn.Config(
            application(day, desk, token, own),
            log_level="warning",
            access_log=False,
            server_header=False,
            lifespan="off",
            timeout_graceful_shutdown=2,
        )
        said(f"The day's page is at http://{ADDRESS}:{own}/?token={quote(token)}")
        said("Only this machine can reach it. Ctrl-C ends it.")
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
    said("Stopped.")


def application(day: Path, desk: Desk, token: str, port: int) -> Starlette:
    """The server's application: the page of ``desk``, and stills and clips of ``day``, for who holds ``token``."""
    from starlette.applications import Starlette
    from starlette.middleware import Middleware
    from starlette.routing import Route

    rooms = _Rooms(day, desk)
    return Starlette(
        routes=[
            Route(HOME, rooms.page, methods=["GET"]),
            Route("/out/stills/{name:path}", rooms.still, methods=["GET"]),
            Route("/footage/{name:path}", rooms.clip, methods=["GET"]),
            Route("/hand/{key}", rooms.in_hand, methods=["GET"]),
            Route("/frame/{key}/{at}.jpg", rooms.frame, methods=["GET"]),
            Route("/sound/{key}.wav", rooms.sound, methods=["GET"]),
            Route("/changes", rooms.changes, methods=["GET"]),
            Route("/decide", rooms.decide, methods=["POST"]),
        ],
        middleware=[Middleware(Doorkeeper, token=token, port=port)],
    )


class _Rooms:
    """What is behind each address. All but ``decide`` run in threads of their own."""

    def __init__(self, day: Path, desk: Desk) -> None:
        self.folder = day
        self.desk = desk

    def page(self, _: Request) -> Response:
        from starlette.responses import HTMLResponse

        text = self.desk.page()
        stated = _HTML_POLICY.search(text[:20_000])
        policy = stated.group(1).replace("&#39;", "'") if stated else _BARE_POLICY
        return HTMLResponse(text, headers={"Content-Security-Policy": f"{policy}; frame-ancestors 'none'"})

    def still(self, request: Request) -> Response:
        path = inside(self.folder / "out" / "stills", request.path_params["name"])
        return _file(path, _STILLS.get(path.suffix.lower()) if path else None)

    def clip(self, request: Request) -> Response:
        path = inside(self.folder / "footage", request.path_params["name"])
        return _file(path, _media_type(path) if path else None)

    def in_hand(self, request: Request) -> Response:
        from starlette.responses import HTMLResponse

        day, key = self.desk.day, request.path_params["key"]
        moment = find_moment(key, day)
        at = _number(request.query_params.get("at", ""))
        was = find_clip(request.query_params.get("was", ""), day)
        if moment is None and was is not None and at is not None:
            moment = nearest_moment(was.name, at, day)  # split, joined or moved since the page was told
        name = moment.clip if moment else request.query_params.get("clip", "")
        found = find_clip(clip_key(name) if name else key, day)
        return HTMLResponse(hand(day, found, moment, at)) if found else _missing()

    def frame(self, request: Request) -> Response:
        from episode.footage.stills import still as take

        found, at = self._footage(request), _number(request.path_params["at"])
        if found is None or at is None:
            return _missing()
        with scratch() as folder:
            target = folder / "frame.jpg"
            try:
                taken = take(found, at, target, width=320)
            except EpisodeError:
                taken = False
            return _bytes(target.read_bytes(), "image/jpeg") if taken else _missing()

    def sound(self, request: Request) -> Response:
        from episode.footage.excerpt import excerpt

        found = self._footage(request)
        begin, end = (_number(request.query_params.get(name, "")) for name in ("from", "to"))
        if found is None or begin is None or end is None:
            return _missing()
        try:
            return _bytes(excerpt(found, begin, end), "audio/wav")
        except EpisodeError:
            return _missing()

    def changes(self, request: Request) -> Response:
        from starlette.responses import JSONResponse

        return JSONResponse(self.desk.since(_version(request)))

    async def decide(self, request: Request) -> Response:
        from starlette.concurrency import run_in_threadpool
        from starlette.responses import JSONResponse

        body = b""
        async for part in request.stream():
            body += part
            if len(body) > LARGEST_REQUEST:
                return JSONResponse({"refused": "that is too much to write"}, status_code=413)
        return await run_in_threadpool(self._decided, body, _version(request))

    def _decided(self, body: bytes, version: int) -> Response:
        from starlette.responses import JSONResponse

        try:
            ask = asked(body)
            if ask.action == "undo" and not ask.value:
                ask = ask.model_copy(update={"value": self.desk.undo_last()})
            made, words = self.desk.decide(ask)
        except Refused as refused:
            return JSONResponse({"refused": str(refused)}, status_code=422)
        except UnusableInput as error:
            return JSONResponse({"refused": error.what}, status_code=422)
        except CannotWrite as error:
            return JSONResponse({"refused": str(error)}, status_code=507)
        return JSONResponse({"done": words, "id": made.id, **self.desk.since(version)})

    def _footage(self, request: Request) -> Clip | None:
        """The clip asked for by its handle, as long as its file is still in the day's footage."""
        found = find_clip(request.path_params["key"], self.desk.day)
        return found if found and inside(self.folder / "footage", found.name) else None


def _file(path: Path | None, kind: str | None) -> Response:
    from starlette.responses import FileResponse

    return FileResponse(path, media_type=kind) if path and kind else _missing()


def _bytes(content: bytes, kind: str) -> Response:
    from starlette.responses import Response as Plain

    return Plain(content, media_type=kind)


def _missing() -> Response:
    from starlette.responses import PlainTextResponse

    return PlainTextResponse("There is no such file here.\n", status_code=404)


def _version(request: Request) -> int:
    since = request.query_params.get("since", "")
    return int(since) if since.isascii() and since.isdigit() and len(since) < 12 else 0


def inside(folder: Path, name: str) -> Path | None:
    """The regular file ``name`` below ``folder``, or None if it is none or leads out of it by dots or links."""
    try:
        # The day folder may itself be reached by a link; what is in it may not lead out of it.
        base = folder.parent.resolve(strict=True) / folder.name
        path = (base / name).resolve(strict=True)
    except (OSError, ValueError, RuntimeError):
        return None
    return path if path.is_file() and path.is_relative_to(base) and path != base else None


def _number(text: str) -> float | None:
    try:
        value = float(text[:20])
    except ValueError:
        return None
    return value if 0 <= value < 1e7 else None


def _media_type(path: Path) -> str | None:
    """The type of a clip by its name; None for whatever is neither picture nor sound, which is not given out."""
    import mimetypes

    own = {".mts": "video/mp2t", ".m2ts": "video/mp2t", ".mkv": "video/x-matroska", ".opus": "audio/ogg"}
    kind = own.get(path.suffix.lower()) or mimetypes.guess_type(path.name)[0] or ""
    return kind if kind.startswith(("video/", "audio/")) else None


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere it would let two servers share the port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # a port left a moment ago is free
    try:
        listener.bind((ADDRESS, port))
        listener.listen(64)  # who is told the address may come before the server does
    except (OSError, OverflowError) as error:
        listener.close()
        raise UnusableInput(
            "cannot be used", where=f"port {port}", remedy="Leave --port out, and a free one is taken."
        ) from error
    return listener
