"""The static fleet site: pages of plain values that open from a folder, without a server.

Its charts are SVG written by hand: hundreds of pages at a tenth of a second each would take
minutes.
"""

from __future__ import annotations

from fleetcal.publish.site.content import (
    AirframePage,
    CarriedLine,
    ChangeBlock,
    FitLine,
    FleetSite,
    GroupLine,
    GroupPage,
    GroupStanding,
    HandbookBlock,
    MemberLine,
    PointLine,
    RunPicture,
    SiteFacts,
    SortiePage,
    TermLine,
)
from fleetcal.publish.site.write_site import SiteFiles, write_site

__all__ = [
    "AirframePage",
    "CarriedLine",
    "ChangeBlock",
    "FitLine",
    "FleetSite",
    "GroupLine",
    "GroupPage",
    "GroupStanding",
    "HandbookBlock",
    "MemberLine",
    "PointLine",
    "RunPicture",
    "SiteFacts",
    "SiteFiles",
    "SortiePage",
    "TermLine",
    "write_site",
]
