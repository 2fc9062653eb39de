"""Eight writers and four readers at once, for seconds here and longer in the long test.

``python -m tests.store.crowd`` lets them work for minutes.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcal.store import open_store
from tests.store.crowd.campaign import crowd, told
from tests.store.crowd.looking import wrong_at_the_end
from tests.store.crowd.work import Line


def nothing_was_wrong(place: str, folder: Path, seconds: float) -> None:
    outcome = crowd(place, folder, seconds)
    print("\n".join(told(outcome)))
    assert outcome.wrong == ()
    assert outcome.errors == []
    assert len(outcome.acknowledged) >= 8
    assert outcome.read_s


@pytest.mark.long
def test_a_crowd_loses_nothing(place: str, tmp_path: Path) -> None:
    nothing_was_wrong(place, tmp_path, 8.0)


@pytest.mark.long
def test_the_judge_misses_no_write_that_is_not_there_or_there_twice(
    place: str, tmp_path: Path
) -> None:
    outcome = crowd(place, tmp_path, 0.5, writers=2, readers=1)
    assert outcome.wrong == ()
    lines = list(outcome.acknowledged)
    with open_store(place) as store:
        never = Line(label="import 1-999", kind="import", file="w1-999-p3.csv")
        assert len(wrong_at_the_end(store, [*lines, never])) == 2
        assert any("never acknowledged" in said for said in wrong_at_the_end(store, lines[1:]))
        with store.writing() as session:
            session.connection().exec_driver_sql(
                "DELETE FROM uncertainty_term WHERE id = (SELECT min(id) FROM uncertainty_term)"
            )
        assert any("terms" in said for said in wrong_at_the_end(store, lines))
