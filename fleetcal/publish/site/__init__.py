"""The static fleet site: pages of plain values that open from a folder, without a server.

Its charts are SVG written by hand: hundreds of pages at a tenth of a second each would take
minutes.
"""

from __future__ import annotations

from fleetcal.publish.site.content import (
    AirframePage,
    CarriedLine,
    ChangeBlock,
    FleetSite,
    GroupPage,
    GroupStanding,
    HandbookBlock,
    MemberLine,
    RunPicture,
    SiteFacts,
    SiteFit,
    SiteGroup,
    SitePoint,
    SortiePage,
    TermLine,
)
from fleetcal.publish.site.write_site import SiteFiles, write_site

__all__ = [
    "AirframePage",
    "CarriedLine",
    "ChangeBlock",
    "FleetSite",
    "GroupPage",
    "GroupStanding",
    "HandbookBlock",
    "MemberLine",
    "RunPicture",
    "SiteFacts",
    "SiteFiles",
    "SiteFit",
    "SiteGroup",
    "SitePoint",
    "SortiePage",
    "TermLine",
    "write_site",
]
