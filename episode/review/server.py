"""The local page's server: this machine only, this person only, reading only.

It binds to the loopback address, answers only to its own Host name (so that a foreign name that was rebound to the
loopback address gets nothing), and asks for a token that stands in the address it prints, then in a cookie. It
gives out the page, its stills and the clips, and no other file.
"""

from __future__ import annotations

import contextlib
import hmac
import re
import secrets
import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from episode.errors import UnusableInput

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.types import ASGIApp, Receive, Scope, Send

ADDRESS = "127.0.0.1"
_HTML_POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"<>]{1,600})">')
_BARE_POLICY = "default-src 'none'; img-src 'self'; base-uri 'none'; form-action 'none'"
_STILLS = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png"}


def serve(day: Path, *, port: int = 0, said: Callable[[str], None] = print) -> None:
    """Serve the day's page until Ctrl-C; ``said`` is told the address.

    Raises:
        UnusableInput: the day has no page yet, or the port is taken.
    """
    import uvicorn

    if not (day / "out" / "review.html").is_file():
        raise UnusableInput(
            "has no page yet", where=str(day / "out"), remedy=f"Run `episode make {day}` first; it writes the page."
        )
    token = secrets.token_urlsafe(24)
    with _listening(port) as listener:
        own = listener.getsockname()[1]
        config = uvicorn.Config(
            application(day, token, own), log_level="warning", access_log=False, server_header=False, lifespan="off"
        )
        said(f"The day's page is at http://{ADDRESS}:{own}/?token={quote(token)}")
        said("Only this machine can reach it. Ctrl-C ends it.")
        with contextlib.suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
    said("Stopped.")


def application(day: Path, token: str, port: int) -> Starlette:
    """The server's application: the page, stills and clips of ``day``, for who holds ``token``."""
    from starlette.applications import Starlette
    from starlette.middleware import Middleware
    from starlette.responses import FileResponse, HTMLResponse, PlainTextResponse
    from starlette.routing import Route

    def still(request: Request) -> Response:
        path = inside(day / "out" / "stills", request.path_params["name"])
        kind = _STILLS.get(path.suffix.lower()) if path else None
        return FileResponse(path, media_type=kind) if path and kind else _missing()

    def clip(request: Request) -> Response:
        path = inside(day / "footage", request.path_params["name"])
        kind = _media_type(path) if path else None
        return FileResponse(path, media_type=kind) if path and kind else _missing()

    def page(_: Request) -> Response:
        path = inside(day / "out", "review.html")
        if path is None:
            return _missing()
        text = path.read_text(encoding="utf-8")
        stated = _HTML_POLICY.search(text[:20_000])
        policy = stated.group(1).replace("&#39;", "'") if stated else _BARE_POLICY
        return HTMLResponse(text, headers={"Content-Security-Policy": f"{policy}; frame-ancestors 'none'"})

    def _missing() -> Response:
        return PlainTextResponse("There is no such file here.\n", status_code=404)

    return Starlette(
        routes=[
            Route("/out/review.html", page, methods=["GET"]),
            Route("/out/stills/{name:path}", still, methods=["GET"]),
            Route("/footage/{name:path}", clip, methods=["GET"]),
        ],
        middleware=[Middleware(_Doorkeeper, token=token, port=port)],
    )


def inside(folder: Path, name: str) -> Path | None:
    """The regular file ``name`` below ``folder``, or None if it is none or leads out of it by dots or links."""
    try:
        # The day folder may itself be reached by a link; what is in it may not lead out of it.
        base = folder.parent.resolve(strict=True) / folder.name
        path = (base / name).resolve(strict=True)
    except (OSError, ValueError, RuntimeError):
        return None
    return path if path.is_file() and path.is_relative_to(base) and path != base else None


class _Doorkeeper:
    """Turns away every request that is not from the person who started the server."""

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self.app = app
        self.token = token
        self.hosts = {f"{ADDRESS}:{port}", f"localhost:{port}"}
        self.cookie = f"episode-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        from starlette.requests import Request
        from starlette.responses import PlainTextResponse, RedirectResponse

        if scope["type"] != "http":
            return
        request = Request(scope)
        response: Response | None = None
        if request.headers.get("host", "") not in self.hosts:
            response = PlainTextResponse("This address is not mine.\n", status_code=421)
        elif request.method not in {"GET", "HEAD"}:
            response = PlainTextResponse("This page is for reading.\n", status_code=405)
        elif request.url.path == "/" and self._right(request.query_params.get("token", "")):
            response = RedirectResponse("/out/review.html", status_code=303)
            response.set_cookie(self.cookie, self.token, httponly=True, samesite="strict", path="/")
        elif not self._right(request.cookies.get(self.cookie, "")):
            response = PlainTextResponse("Open the address that `episode review` printed.\n", status_code=403)
        elif request.url.path == "/":
            response = RedirectResponse("/out/review.html", status_code=303)
        await (response or self.app)(scope, receive, _with_headers(send))

    def _right(self, given: str) -> bool:
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.token.encode())


def _with_headers(send: Send) -> Send:
    """Every answer, whoever gives it, carries the headers that keep a browser from doing more than asked."""
    from starlette.datastructures import MutableHeaders
    from starlette.types import Message

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["X-Content-Type-Options"] = "nosniff"
            headers["Referrer-Policy"] = "no-referrer"
            headers["Cross-Origin-Resource-Policy"] = "same-origin"
            headers["Cross-Origin-Opener-Policy"] = "same-origin"
            headers["Cache-Control"] = "no-store"
            headers.setdefault(
                "Content-Security-Policy", "default-src 'none'; media-src 'self'; frame-ancestors 'none'"
            )
        await send(message)

    return sending


def _media_type(path: Path) -> str | None:
    """The type of a clip by its name; None for whatever is neither picture nor sound, which is not given out."""
    import mimetypes

    own = {".mts": "video/mp2t", ".m2ts": "video/mp2t", ".mkv": "video/x-matroska", ".opus": "audio/ogg"}
    kind = own.get(path.suffix.lower()) or mimetypes.guess_type(path.name)[0] or ""
    return kind if kind.startswith(("video/", "audio/")) else None


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.bind((ADDRESS, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise UnusableInput(
            "cannot be used", where=f"port {port}", remedy="Leave --port out, and a free one is taken."
        ) from error
    return listener
