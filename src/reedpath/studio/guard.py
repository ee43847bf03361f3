"""The guard: nobody but the browser that the teacher opened is let in.

The studio listens on the loopback address alone; but other users of the machine reach that too, and so does every
page that a browser shows. So each request, and each WebSocket before it is accepted, must name the host and the port
that we listen on, come from our own pages, and bring a cookie that was given for a token used once. Plain ASGI, since
what stands in front of HTTP alone lets a WebSocket pass.
"""

from __future__ import annotations

import hmac
import secrets
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, QueryParams
from starlette.responses import HTMLResponse, PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# what a page of ours may do: its own scripts, styles, pictures and sounds, and no address but ours (W3C, Content
# Security Policy Level 3); "blob:" for what the page itself recorded
CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; media-src 'self' blob:; "
    "connect-src 'self'; frame-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
# random bytes of a token; 24 are 192 bits
TOKEN_BYTES = 24
# names by which a browser on this machine calls it
NAMES = ("127.0.0.1", "localhost")
# a WebSocket is refused with it before it is accepted, which becomes status 403 (RFC 6455, 7.4.1: policy violation)
POLICY_VIOLATION = 1008

_HEADERS = [
    (b"x-content-type-options", b"nosniff"),
    # not "no-referrer", by which a browser sends "Origin: null" with a form (Fetch, "append a request Origin header")
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
]


class Guard:
    """Stands before an application and lets in only who has our cookie, on our address, from our pages.

    token : opens the studio once, as ``/?token=...``; None when it was used. `new_token` makes another.
    """

    def __init__(self, app: ASGIApp, *, port: int) -> None:
        self.app, self.port = app, port
        self.hosts = {f"{name}:{port}" for name in NAMES}
        self.token: str | None = None
        self._session = secrets.token_urlsafe(TOKEN_BYTES)
        # cookies know no ports: another studio on this machine has a cookie of another name
        self.cookie = f"reedpath-studio-{port}"

    def new_token(self) -> str:
        """A token that lets one browser in; one that was not used does no longer."""
        self.token = secrets.token_urlsafe(TOKEN_BYTES)
        return self.token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refused(scope, headers)
        if refused is not None:
            await _refuse(scope, receive, send, *refused)
        elif self._token_given(scope):
            await self._let_in(scope, receive, send)
        elif not self._has_cookie(headers):
            await _refuse(scope, receive, send, 401, _KNOCK)
        else:
            await self.app(scope, receive, _with_headers(send))

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return 421, "This is another host's address."
        origins = headers.getlist("origin")
        reads = scope["type"] == "http" and scope["method"] in ("GET", "HEAD")
        if (origins and origins != [f"http://{hosts[0]}"]) or (not origins and not reads):
            return 403, "This did not come from a page of the studio."
        return None

    def _token_given(self, scope: Scope) -> bool:
        if scope["type"] != "http" or scope["method"] != "GET" or scope["path"] != "/" or self.token is None:
            return False
        given = QueryParams(scope.get("query_string", b"")).get("token", "")
        return hmac.compare_digest(given.encode(), self.token.encode())

    async def _let_in(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Turn a token into a cookie. No redirect: a strict cookie is not sent on one that a foreign link began."""
        self.token = None
        answer = HTMLResponse(
            '<!doctype html><html lang="en"><title>reedpath</title><meta http-equiv="refresh" content="0;url=/">'
            '<p><a href="/">reedpath</a></p></html>'
        )
        answer.set_cookie(self.cookie, self._session, httponly=True, samesite="strict", path="/")
        await answer(scope, receive, _with_headers(send))

    def _has_cookie(self, headers: Headers) -> bool:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(self.cookie)
        except CookieError:
            return False
        return morsel is not None and hmac.compare_digest(morsel.value.encode(), self._session.encode())


# said to who has no cookie: the language is not known yet, so both
_KNOCK = (
    "reedpath: this window is not let in. Press Enter where the studio was started, and open the address it says.\n"
    "reedpath : cette fenêtre n’a pas accès à l’atelier. Appuyer sur Entrée là où il a été lancé, puis ouvrir "
    "l’adresse affichée.\n"
)


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, why: str) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": POLICY_VIOLATION})
        return
    await PlainTextResponse(why, status)(scope, receive, _with_headers(send))


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            said = message.get("headers", [])
            names = {name.lower() for name, _value in said}
            own = [(b"content-security-policy", CONTENT_POLICY.encode()), (b"cache-control", b"no-store"), *_HEADERS]
            message = {**message, "headers": [*said, *(one for one in own if one[0] not in names)]}
        await send(message)

    return sent
