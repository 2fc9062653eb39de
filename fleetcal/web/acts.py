"""All that can be done from the pages."""

from __future__ import annotations

from typing import Final

from fleetcal.web.act_airframe import act_airframe
from fleetcal.web.act_bench import act_bench
from fleetcal.web.act_fleet import act_fleet
from fleetcal.web.act_issue import act_issue
from fleetcal.web.act_merge import act_merge
from fleetcal.web.act_owners import act_owners
from fleetcal.web.act_plan import act_plan
from fleetcal.web.act_points import act_points
from fleetcal.web.act_publish import act_publish
from fleetcal.web.act_share import act_share
from fleetcal.web.act_site import act_site
from fleetcal.web.history import history
from fleetcal.web.keeping import keeping

#: Parts of the pages.
ACTS: Final = (
    *(act_airframe, act_bench, act_fleet, act_issue, act_plan, act_points, act_publish),
    *(act_merge, act_owners, act_share, act_site, history, keeping),
)
