"""How bench and leak checks are printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View

if TYPE_CHECKING:
    from fleetcal.services.bench.bench_checks import CheckList


CHECKS: View[CheckList] = View(
    kind="checks",
    rows="checks",
    columns=[
        Column("kind"),
        Column("number"),
        Column("airframe"),
        Column("checked_on"),
        Column("lines"),
        Column("lowest", 0),
        Column("highest", 0),
        Column("largest_correction", 1, sign=True),
        Column("u", 2),
        Column("unit"),
        Column("loss_ft", 0),
        Column("limit_ft", 0),
        Column("passed"),
        Column("withdrawn"),
        Column("note"),
    ],
    head=lambda found: [f"{len(found.checks)} checks"],
)
