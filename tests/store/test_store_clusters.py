"""The machine that leads an engine of several is killed while eight programs write.

What has to be installed stands in `tests.store.cluster.patroni` and `dqlite`.
"""

from __future__ import annotations

import pytest

from tests.store.cluster.campaign import Outcome, campaign, told
from tests.store.cluster.dqlite import Dqlite, able_python
from tests.store.cluster.patroni import Patroni
from tests.store.cluster.processes import servers

_SECONDS = 10.0


def _judge(outcome: Outcome) -> None:
    print("\n".join(told(outcome)))
    assert outcome.wrong == []
    assert outcome.kept == outcome.acknowledged > 0
    assert outcome.after > 0


@pytest.mark.long(minutes=2.0)
def test_a_synchronous_replica_takes_over_and_no_acknowledged_change_is_lost() -> None:
    with servers("patroni") as started:
        outcome = campaign(Patroni(started), _SECONDS)
    _judge(outcome)
    assert outcome.waited > 0


@pytest.mark.long(minutes=3.0)
@pytest.mark.skipif(
    able_python() is None, reason="NOT TRIED: the driver of dqlite needs a Python 3.13"
)
def test_a_cluster_that_votes_chooses_a_leader_and_no_acknowledged_change_is_lost() -> None:
    with servers("dqlite") as started:
        _judge(campaign(Dqlite(started), _SECONDS))
