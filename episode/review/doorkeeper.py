"""Who may in: this machine's one person, and nobody who only borrows their browser."""

from __future__ import annotations

import hmac
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.types import ASGIApp, Receive, Scope, Send

ADDRESS = "127.0.0.1"
HOME = "/out/review.html"
READING = frozenset({"GET", "HEAD"})


class Doorkeeper:
    """Turns away every request that is not from the person who started the server.

    It answers only to its own Host name (a foreign name that was rebound to the loopback address gets nothing) and
    asks for a token that stands in the address, then in a cookie. What writes must besides come from the page
    itself: its Origin is this server's, and its body is JSON, which no form of another site can send.
    """

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self.app = app
        self.token = token
        self.hosts = {f"{ADDRESS}:{port}", f"localhost:{port}"}
        self.cookie = f"episode-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass it on."""
        from starlette.requests import Request
        from starlette.responses import PlainTextResponse, RedirectResponse

        if scope["type"] != "http":
            return
        request = Request(scope)
        response: Response | None = None
        if request.headers.get("host", "") not in self.hosts:
            response = PlainTextResponse("This address is not mine.\n", status_code=421)
        elif request.method not in READING | {"POST"}:
            response = PlainTextResponse("This page is read and decided on, nothing else.\n", status_code=405)
        elif request.url.path == "/" and self._right(request.query_params.get("token", "")):
            response = RedirectResponse(HOME, status_code=303)
            response.set_cookie(self.cookie, self.token, httponly=True, samesite="strict", path="/")
        elif not self._right(request.cookies.get(self.cookie, "")):
            response = PlainTextResponse("Open the address that `episode review` printed.\n", status_code=403)
        elif request.method == "POST" and not self._from_the_page(request):
            response = PlainTextResponse("Only the page itself may decide.\n", status_code=403)
        elif request.url.path == "/":
            response = RedirectResponse(HOME, status_code=303)
        await (response or self.app)(scope, receive, with_headers(send))

    def _right(self, given: str) -> bool:
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.token.encode())

    def _from_the_page(self, request: Request) -> bool:
        origin = request.headers.get("origin", "")
        site = request.headers.get("sec-fetch-site", "same-origin")
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        own = {f"http://{host}" for host in self.hosts}
        return origin in own and site == "same-origin" and kind == "application/json"


def with_headers(send: Send) -> Send:
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
