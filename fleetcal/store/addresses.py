"""Addresses of servers: several hosts in one, and what is shown of them.

Several hosts hold copies of one database, of which one takes writes. Two spellings mean the same:
``postgresql://user@a:5432,b:5432/club``, as PostgreSQL's own programs have it, and
``postgresql://user@/club?host=a:5432&host=b:5432``.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from sqlalchemy.engine import URL

# scheme, user with password, hosts, the rest
_PARTS: Final = re.compile(
    r"(?P<scheme>[^:/?#]+://)(?P<who>[^/?#]*@)?(?P<hosts>[^/?#@]*)(?P<rest>.*)"
)
# A host that is gone without a word must not hold up a command for the minutes that the network
# takes to give up; libpq's own words, each of which the address may give another value.
_CONNECTING: Final = {"connect_timeout": "10", "keepalives_idle": "15", "keepalives_interval": "5"}
# Of several hosts the one that takes writes is meant.
_OF_SEVERAL: Final = {"connect_timeout": "5", "target_session_attrs": "read-write"}


def with_hosts_apart(address: str) -> str:
    """Return an address whose several hosts stand as options, any other as it is."""
    found = _PARTS.fullmatch(address)
    if found is None or "," not in found["hosts"]:
        return address
    path, _, options = found["rest"].partition("?")
    hosts = "&".join(f"host={host}" for host in found["hosts"].split(","))
    return f"{found['scheme']}{found['who'] or ''}{path or '/'}?{hosts}{options and '&'}{options}"


def hosts_of(url: URL) -> tuple[str, ...]:
    """Return every host of an address, with its port if it has one."""
    named = url.query.get("host", ())
    several = (named,) if isinstance(named, str) else tuple(named)
    if several:
        return tuple(host for one in several for host in one.split(","))
    if url.host is None:
        return ()
    return (url.host if url.port is None else f"{url.host}:{url.port}",)


def connecting(url: URL) -> dict[str, Any]:
    """Return how a connection is made, for what the address leaves open."""
    usual = _CONNECTING | (_OF_SEVERAL if len(hosts_of(url)) > 1 else {})
    return {name: value for name, value in usual.items() if name not in url.query}


def shown(url: URL) -> str:
    """Return an address without password and options: safe to print."""
    plain = type(url).create(
        url.get_backend_name(),
        username=url.username,
        host=url.host,
        port=url.port,
        database=url.database,
    )
    hosts = hosts_of(url)
    if len(hosts) < 2:
        return str(plain)
    return str(plain.set(host="HOSTS", port=None)).replace("HOSTS", ",".join(hosts), 1)
