"""What every request has to pass before anything answers it, and what every answer says.

The desk listens on this machine only. That alone does not keep out a page of the web that is open in
the same browser: it may send requests here, or give itself a name that leads here. So a request must
name this host, must come from a page of this origin, and must bear the cookie of a session; and
what is sent out may run no script but its own, nor fetch anything from anywhere else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BYTES = 64 * 1024
"""Of what a request may bring."""

_CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        *(f"{what}-src 'self'" for what in ("script", "style", "img", "media", "connect", "font")),
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
ALWAYS = {
    "content-security-policy": _CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
"""Headers of every answer."""


class Guard:
    """Turns away what is not from a page of this desk; sessions are the business of the routes."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        """``hosts``: the names under which the desk answers, each with its port."""
        self._app = app
        self._hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on an HTTP request that may be answered; nothing else is spoken here."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    headers[name] = value
            await send(message)

        refused = self._refused(scope, Headers(scope=scope))
        if refused is not None:
            await refused(scope, receive, send_guarded)
        else:
            await self._app(scope, receive, send_guarded)

    def _refused(self, scope: Scope, headers: Headers) -> JSONResponse | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return error(421, "This desk answers on this machine only, under its own address.")
        foreign = headers.get("sec-fetch-site", "none") not in {"none", "same-origin"}
        if foreign or any(origin != f"http://{hosts[0]}" for origin in headers.getlist("origin")):
            return error(
                403,
                "That came from another page. Copy the address of the desk into the "
                "address line of the browser.",
            )
        return None if scope["method"] in {"GET", "HEAD"} else _refused_post(headers)


def _refused_post(headers: Headers) -> JSONResponse | None:
    """What sends something must say from where, as what, and how much; a form of a page cannot."""
    if "origin" not in headers:
        return error(403, "What changes something must come from a page of this desk.")
    if headers.get("content-type", "").split(";")[0].strip() != "application/json":
        return error(415, "The desk takes JSON only.")
    length = headers.get("content-length", "")
    if not length.isdecimal() or int(length) > LARGEST_BYTES:
        return error(413, f"That is longer than {LARGEST_BYTES} bytes, or does not say how long.")
    return None


def error(status: int, sentence: str, **more: object) -> JSONResponse:
    """An answer that says in one sentence what is wrong and what to do."""
    return JSONResponse({"error": sentence, **more}, status)
