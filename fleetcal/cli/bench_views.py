"""How bench and leak checks are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.wording import there_are

if TYPE_CHECKING:
    from fleetcal.services.bench.bench_checks import CheckList


def _answer(found: CheckList) -> Iterator[str]:
    gone = sum(bool(one.withdrawn) for one in found.checks)
    failed = sum(one.passed is False and not one.withdrawn for one in found.checks)
    parts = [there_are(len(found.checks), "check")]
    parts += [f"{failed} failed"] if failed else []
    parts += [f"{gone} {'is' if gone == 1 else 'are'} withdrawn"] if gone else []
    yield f"{'; '.join(parts)}."


CHECKS: View[CheckList] = View(
    kind="checks",
    rows="checks",
    columns=[
        Column("kind", importance=ALWAYS),
        Column("number", importance=ALWAYS),
        Column("airframe"),
        Column("checked_on"),
        Column("lowest", 0, to="highest", heading="range"),
        Column("largest_correction", 1, sign=True),
        Column("u", 2),
        Column("unit"),
        Column("loss_ft", 0),
        Column("limit_ft", 0),
        Column("passed"),
        Column("withdrawn", wraps=True),
        Column("note", wraps=True, importance=SPARE),
        Column("lines", importance=SPARE),
    ],
    answer=_answer,
)
