"""Every served page that links lead to from the first one, a few of each kind."""

from __future__ import annotations

import re
from collections import Counter
from html import unescape
from typing import Final
from urllib.parse import urljoin, urlsplit

from tests.web.serving import Answer, Server

_LINK: Final = re.compile(r'<a\s[^>]*?href="([^"]+)"')
_FORMAT: Final = re.compile(r"format=\w+|paper=\w+")
_EACH: Final = 2


def pages_found(
    server: Server, *more: str, each: int = _EACH, every_format: bool = True
) -> dict[str, Answer]:
    """Return pages by their path from the root.

    Args:
        more: Paths that no link leads to.
        each: How many of each kind: pages whose paths differ in names and numbers alone.
        every_format: Whether a file is fetched once in each of its formats, or once.
    """
    ahead, seen, kinds, files = ["index.html", *more], set[str](), Counter[str](), set[str]()
    found = {}
    while ahead:
        path = ahead.pop(0)
        kind = kind_of(path)
        file = kind + "".join(_FORMAT.findall(path) if every_format else [])
        if path in seen or kinds[kind] >= each or file in files:
            continue
        seen.add(path)
        answer = server.get(path)
        kept = "attachment" in answer.headers.get("Content-Disposition", "")
        if kept or "text/html" not in answer.headers.get("Content-Type", ""):
            files.add(file)
            continue
        if answer.status != 200:  # a link that leads nowhere is found by the reader of the result
            found[path] = answer
            continue
        kinds[kind] += 1
        found[path] = answer
        base = f"http://here{server.root}{path}"
        for link in _LINK.findall(answer.text):
            place = urlsplit(urljoin(base, unescape(link)))
            below = place.path.removeprefix(server.root)
            if place.netloc == "here" and place.path.startswith(server.root):
                ahead.append(f"{below}?{place.query}" if place.query else below)
    return found


def kind_of(path: str) -> str:
    """Return what pages have in common that show the same of another."""
    place, _, query = path.partition("?")
    for room in ("groups/", "airframes/", "sorties/"):
        if place.startswith(room):
            place = room + place.rpartition(".")[2]
    return re.sub(r"\d+", "N", place) + "?" + "&".join(re.findall(r"(\w+)=", query))
