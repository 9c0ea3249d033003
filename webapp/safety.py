"""What keeps other web pages from driving the local server, as plain ASGI.

Any page the person visits can send requests to 127.0.0.1. Three things stop it: the Host must be
a local name (a rebound name is refused), the Origin must be our own, and where a browser says by
Sec-Fetch-Site that a request came from elsewhere, it may only look. A request that carries
neither header comes from a program. The content policy stops injected script (OWASP ASVS 5.0,
3.4.3, 3.5.1 to 3.5.3, 4.4.2).
"""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from webapp.errors import Refused, answer, is_for_programs, problem

LOCAL_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
LOOKING = frozenset({"GET", "HEAD", "OPTIONS"})
OWN_SITES = frozenset({"same-origin", "none"})
MOST_THROWN_AWAY = 128 * 1024 * 1024


def _host_fault(headers: Headers) -> str | None:
    hosts = headers.getlist("host")
    if len(hosts) != 1 or _name_and_port(hosts[0]) is None:
        return "This server answers to 127.0.0.1 and localhost only."
    return None


def _name_and_port(host: str) -> tuple[str, str] | None:
    """The local name and port of a Host header; None when it is not a local name."""
    name, colon, port = host.lower().rpartition(":")
    if not colon or host.endswith("]"):
        name, port = host.lower(), "80"
    if name not in LOCAL_NAMES or not (port.isascii() and port.isdecimal() and len(port) <= 5):
        return None
    return name, port


def _origin_fault(scope: Scope, headers: Headers) -> str | None:
    origins = headers.getlist("origin")
    foreign = "This request came from another web page and was refused."
    if len(origins) > 1:
        return foreign
    if origins and not _is_own(origins[0], headers["host"]):
        return foreign
    looks = scope["type"] == "http" and scope["method"] in LOOKING
    sites = headers.getlist("sec-fetch-site")
    if not looks and any(site not in OWN_SITES for site in sites):
        return foreign
    return None


def _is_own(origin: str, host: str) -> bool:
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    if parts.scheme != "http" or parts.path or parts.query or parts.fragment:
        return False
    return _name_and_port(parts.netloc) == _name_and_port(host)


class Gate:
    """ASGI: refuses a foreign Host (421) and what another page sends (403), WebSockets too."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        status, fault = 421, _host_fault(headers)
        if fault is None:
            status, fault = 403, _origin_fault(scope, headers)
        if fault is None:
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008, "reason": fault})
        else:
            await _refusal(scope, status, fault)(scope, receive, send)


def _refusal(scope: Scope, status: int, detail: str) -> Response:
    if is_for_programs(scope["path"]):
        return problem(status, detail)
    return Response(f"{detail}\n", status, media_type="text/plain; charset=utf-8")


def policy(host: str) -> str:
    """The content security policy; `connect-src 'self'` does not cover ws in every browser."""
    return (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        f"connect-src 'self' ws://{host} wss://{host}; font-src 'self'; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
    )


class SafeHeaders:
    """ASGI: puts the safety headers on every answer, and "kept by nobody" where it says nothing."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request with the headers added."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        host = Headers(scope=scope).get("host", "")
        own = host if _name_and_port(host) else "127.0.0.1"

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                _add_headers(MutableHeaders(scope=message), own)
            await send(message)

        await self.app(scope, receive, with_headers)


def _add_headers(headers: MutableHeaders, host: str) -> None:
    headers.setdefault("content-security-policy", policy(host))
    headers["x-content-type-options"] = "nosniff"
    headers["referrer-policy"] = "same-origin"
    headers["cross-origin-opener-policy"] = "same-origin"
    headers["cross-origin-resource-policy"] = "same-origin"
    headers.setdefault("cache-control", "no-store")


class BodyLimit:
    """ASGI: refuses bodies over a size (413), also those that do not tell their length.

    What is too much is read and thrown away (up to a bound) before the answer: a client that is
    still sending when the connection closes may never see why.
    """

    def __init__(self, app: ASGIApp, limit: Callable[[str], int]) -> None:
        self.app = app
        self.limit = limit

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on with its body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        limit = self.limit(scope["path"])
        detail = f"What was sent is larger than {limit // (1024 * 1024)} MiB."
        length = Headers(scope=scope).get("content-length", "")
        if length.isdecimal() and int(length[:18]) > limit:
            await _thrown_away(receive)
            await answer(Request(scope), Refused(413, detail))(scope, receive, send)
            return
        read = 0

        async def counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > limit:
                if message.get("more_body", False):
                    await _thrown_away(receive)
                raise Refused(413, detail)
            return message

        await self.app(scope, counted, send)


async def _thrown_away(receive: Receive) -> None:
    read, more = 0, True
    while more and read < MOST_THROWN_AWAY:
        message = await receive()
        read += len(message.get("body", b""))
        more = message["type"] == "http.request" and message.get("more_body", False)
