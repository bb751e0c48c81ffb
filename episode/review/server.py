"""The local page's server: this machine only, this person only.

It binds to the loopback address and gives out the page, its stills, frames and the clips, and no other file.
"""

from __future__ import annotations

import contextlib
import re
import secrets
import socket
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from episode.errors import CannotWrite, EpisodeError, UnusableInput
from episode.models import Clip
from episode.review.asking import Refused, asked, find_clip, find_moment
from episode.review.desk import Desk
from episode.review.doorkeeper import ADDRESS, HOME, Doorkeeper
from episode.review.hand import hand
from episode.review.keys import clip_key

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
    from starlette.concurrency import run_in_threadpool
    from starlette.middleware import Middleware
    from starlette.responses import FileResponse, HTMLResponse, JSONResponse, PlainTextResponse
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
        text = desk.page()
        stated = _HTML_POLICY.search(text[:20_000])
        policy = stated.group(1).replace("&#39;", "'") if stated else _BARE_POLICY
        return HTMLResponse(text, headers={"Content-Security-Policy": f"{policy}; frame-ancestors 'none'"})

    def in_hand(request: Request) -> Response:
        key = request.path_params["key"]
        moment = find_moment(key, desk.day)
        name = moment.clip if moment else request.query_params.get("clip", "")
        found = _clip_named(name) if name else find_clip(key, desk.day)
        at = _number(request.query_params.get("at", ""))
        return HTMLResponse(hand(desk.day, found, moment, at)) if found else _missing()

    def _clip_named(name: str) -> Clip | None:
        return find_clip(clip_key(name), desk.day)

    def frame(request: Request) -> Response:
        from episode.footage.stills import still as take

        found, at = find_clip(request.path_params["key"], desk.day), _number(request.path_params["at"])
        if found is None or at is None or inside(day / "footage", found.name) is None:
            return _missing()
        with tempfile.TemporaryDirectory(prefix="episode-frame-") as scratch:
            target = Path(scratch) / "frame.jpg"
            try:
                if not take(found, at, target, width=320):
                    return _missing()
            except EpisodeError:
                return _missing()
            picture = target.read_bytes()
        return _bytes(picture, "image/jpeg")

    def sound(request: Request) -> Response:
        from episode.footage.excerpt import excerpt

        found = find_clip(request.path_params["key"], desk.day)
        begin, end = (_number(request.query_params.get(name, "")) for name in ("from", "to"))
        if found is None or begin is None or end is None or inside(day / "footage", found.name) is None:
            return _missing()
        try:
            return _bytes(excerpt(found, begin, end), "audio/wav")
        except EpisodeError:
            return _missing()

    def changes(request: Request) -> Response:
        since = request.query_params.get("since", "")
        return JSONResponse(desk.since(int(since) if since.isascii() and since.isdigit() and len(since) < 12 else 0))

    async def decide(request: Request) -> Response:
        body = b""
        async for part in request.stream():
            body += part
            if len(body) > LARGEST_REQUEST:
                return JSONResponse({"refused": "that is too much to write"}, status_code=413)
        since = request.query_params.get("since", "0")

        def done() -> Response:
            try:
                ask = asked(body)
                if ask.action == "undo" and not ask.value:
                    ask = ask.model_copy(update={"value": desk.undo_last()})
                made, words = desk.decide(ask)
            except Refused as refused:
                return JSONResponse({"refused": str(refused)}, status_code=422)
            except (CannotWrite, UnusableInput) as error:
                return JSONResponse({"refused": str(error)}, status_code=507)
            stands = desk.since(int(since) if since.isascii() and since.isdigit() and len(since) < 12 else 0)
            return JSONResponse({"done": words, "id": made.id, **stands})

        return await run_in_threadpool(done)

    def _missing() -> Response:
        return PlainTextResponse("There is no such file here.\n", status_code=404)

    def _bytes(content: bytes, kind: str) -> Response:
        from starlette.responses import Response as Plain

        return Plain(content, media_type=kind)

    return Starlette(
        routes=[
            Route(HOME, page, methods=["GET"]),
            Route("/out/stills/{name:path}", still, methods=["GET"]),
            Route("/footage/{name:path}", clip, methods=["GET"]),
            Route("/hand/{key}", in_hand, methods=["GET"]),
            Route("/frame/{key}/{at}.jpg", frame, methods=["GET"]),
            Route("/sound/{key}.wav", sound, methods=["GET"]),
            Route("/changes", changes, methods=["GET"]),
            Route("/decide", decide, methods=["POST"]),
        ],
        middleware=[Middleware(Doorkeeper, token=token, port=port)],
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
    try:
        listener.bind((ADDRESS, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise UnusableInput(
            "cannot be used", where=f"port {port}", remedy="Leave --port out, and a free one is taken."
        ) from error
    return listener
