"""What stands around the content of a page, in a folder or served to work in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fleetcal.publish.site.content import SiteFacts


@dataclass(frozen=True, kw_only=True)
class BarLink:
    """A link of the bar on top of served pages; `path` counts from the root."""

    words: str
    path: str
    current: bool = False


@dataclass(frozen=True, kw_only=True)
class Switches:
    """What the numbers of a page are for, as it was typed; `units` are those of speed."""

    weight_kg: str
    altitude_ft: str
    speed_unit: str
    units: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Served:
    """What a page has more when it is served to work in.

    Attributes:
        store_name: Of the store that is worked on.
        bar: Links on every page.
        done: What was done just now; empty otherwise.
        refused: What could not be done, and what to do about it; empty otherwise.
        switches: None where there is nothing to choose.
    """

    store_name: str
    bar: tuple[BarLink, ...]
    done: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    switches: Switches | None = None


@dataclass(frozen=True, kw_only=True)
class PageFrame:
    """Where a page stands.

    Attributes:
        to: Gives the address of another page or file, named by its path from the root of the
            site, as seen from this page.
        served: None for a page in a folder, which holds its style and script itself and offers
            nothing that needs a program.
    """

    facts: SiteFacts
    to: Callable[[str], str]
    served: Served | None = None
