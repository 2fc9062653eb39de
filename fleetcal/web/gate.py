"""Who may use the served pages: whoever started the program, from its own pages, and nobody else.

Everybody on a machine can reach what listens on its loopback address, and so can the pages of any
other site that is open in the same browser. So:

- the pages lie below a secret path, and need a cookie that a link sets which works once;
- the cookie is sent to that path alone, so that a program of somebody else that listens on another
  port of this machine never sees it, and never with a request that another site began;
- the name the request was sent to must be this machine's own, or a name that somebody points at
  this address would make his pages ours (DNS rebinding);
- what changes something must come from our own pages (``Origin``, ``Sec-Fetch-Site``: Fetch
  standard, W3C Fetch Metadata).
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from hmac import compare_digest
from threading import Lock
from typing import Final

#: Requests that change nothing.
SAFE: Final = frozenset({"GET", "HEAD"})
_HOSTS: Final = ("127.0.0.1", "localhost")

#: On every answer. Nothing within a page may run or load that is not a file of this program.
#: Without a referrer even for our own pages a browser would say of their forms that they come from
#: nowhere (``Origin: null``, Fetch standard, 3.1).
HEADERS: Final[Mapping[str, str]] = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cache-Control": "no-store",
}


class Gate:
    """Lets one user in.

    Attributes:
        key: Of the path that all pages lie below.
        port: That the program listens on.
    """

    def __init__(self, port: int) -> None:
        """Make secrets for the program that listens on a port."""
        self.key = secrets.token_urlsafe(12)
        self.port = port
        self._hosts = frozenset(f"{host}:{port}" for host in _HOSTS)
        self._tokens: set[str] = set()
        self._lock = Lock()

    @property
    def root(self) -> str:
        """Path that all pages lie below."""
        return f"/{self.key}/"

    def new_token(self) -> str:
        """Return a word that lets a browser in once."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._tokens.add(token)
        return token

    def admits(self, token: str) -> bool:
        """Tell whether a word lets a browser in; it does so once."""
        with self._lock:
            found = [one for one in self._tokens if compare_digest(one.encode(), token.encode())]
            self._tokens.difference_update(found)
        return bool(found)

    def is_ours(self, path: str) -> bool:
        """Tell whether a path lies below the secret one."""
        start = path[: len(self.root)]
        return compare_digest(start.encode(), self.root.encode())

    def why_refused(self, method: str, headers: Mapping[str, str]) -> str:
        """Return why a request may not be answered, empty if it may.

        Args:
            headers: ``Host``, ``Origin`` and ``Sec-Fetch-Site`` are looked at.
        """
        host = headers.get("Host", "")
        if host not in self._hosts:
            return "the address is not this machine's own"
        site = headers.get("Sec-Fetch-Site", "")
        if site not in ("", "none", "same-origin"):
            return "the request comes from another site"
        if method in SAFE:
            return ""
        origin = headers.get("Origin", "")
        if origin != f"http://{host}" and (origin or site != "same-origin"):
            return "the request does not come from a page of this program"
        return ""
