"""The program and its commands."""

from __future__ import annotations

import click

from fleetcal.cli.bench_commands import bench
from fleetcal.cli.compare_commands import change, contrast
from fleetcal.cli.curve_command import curve
from fleetcal.cli.fleet_commands import fleet
from fleetcal.cli.handbook_commands import handbook
from fleetcal.cli.issue_commands import issue
from fleetcal.cli.judge_commands import groups, outliers, standing
from fleetcal.cli.kept_log_commands import logs
from fleetcal.cli.log_commands import columns
from fleetcal.cli.manual_command import manual
from fleetcal.cli.measure_commands import measure
from fleetcal.cli.owner_commands import owners
from fleetcal.cli.plan_commands import plan
from fleetcal.cli.point_commands import points
from fleetcal.cli.power_command import power
from fleetcal.cli.preferences_command import preferences_command
from fleetcal.cli.publish_commands import publish
from fleetcal.cli.reduce_command import reduce, settings
from fleetcal.cli.serve_command import serve
from fleetcal.cli.share_commands import merge, share
from fleetcal.cli.show_command import show, undo
from fleetcal.cli.store_commands import store as store_group
from fleetcal.cli.verbs import VerbGroup
from fleetcal.cli.watch_command import watch
from fleetcal.version import __version__


@click.group(cls=VerbGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="fleetcal")
def main() -> None:
    """Tell how far airspeed and altimeter readings of a light aircraft type can be trusted.

    A recorded flight goes in, with steady legs or an ordinary one; wind, true
    airspeed and position error are solved and kept with the equipment flown;
    the fleet's points become pooled curves, verdicts on single airframes, and
    published tables.

    \b
    Example:
      fleetcal fleet load fleet.toml
      fleetcal reduce flight.csv --airframe C-07 --weight-kg 580
      fleetcal curve "wing boom"
      fleetcal publish "wing boom" --out pages

    Exit codes: 0 done, 1 unforeseen, 2 usage, 3 and 31-39 bad or missing data,
    4 and 41-44 store, 5 fit not possible, 6 a flag was raised and failing on it
    was asked for, 7 workers cannot be used, 130 ended by Ctrl-C, 143 by TERM.

    Results are advisory. The approved flight manual, the kit maker, local rules
    and licensed practice come first.
    """


main.add_by_task(
    {
        "Fly and reduce": (reduce, columns, settings, measure, power, bench, plan),
        "Read the answer": (
            groups,
            curve,
            standing,
            outliers,
            watch,
            change,
            contrast,
            points,
            handbook,
        ),
        "Work in the browser": (serve,),
        "Publish": (publish, issue),
        "Exchange": (share, merge, owners),
        "Look after the store": (show, undo, fleet, logs, preferences_command, store_group),
        "Read about it": (manual,),
    }
)
