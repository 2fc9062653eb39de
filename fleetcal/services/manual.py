"""The manual: one short Markdown file a topic, in the folder ``manual`` of the package."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from importlib.resources import files

from fleetcal.errors import UnknownNameError


@dataclass(frozen=True)
class Topic:
    """A topic of the manual.

    Attributes:
        title: First heading, without its mark.
        text: All of it, as Markdown.
    """

    name: str
    title: str
    text: str


def topics() -> tuple[Topic, ...]:
    """Return every topic, by name."""
    folder = files("fleetcal") / "manual"
    found = sorted((one for one in folder.iterdir() if one.name.endswith(".md")), key=str)
    texts = ((one.name.removesuffix(".md"), one.read_text(encoding="utf-8")) for one in found)
    return tuple(Topic(name, text.splitlines()[0].lstrip("# "), text) for name, text in texts)


def topic(name: str) -> Topic:
    """Return one topic.

    Raises:
        UnknownNameError: The hint names topics that are nearly the same.
    """
    known = {one.name: one for one in topics()}
    if name not in known:
        near = get_close_matches(name, known, n=3)
        meant = f"; did you mean {' or '.join(near)}?" if near else ""
        hint = f"'fleetcal manual' lists the topics{meant}"
        raise UnknownNameError(f"the manual has no topic '{name}'", hint)
    return known[name]
