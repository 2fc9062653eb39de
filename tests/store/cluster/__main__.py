"""Kill the machine that leads under eight writers: python -m tests.store.cluster patroni|dqlite.

Prints how many commands were acknowledged, how many of their changes are there once at the end,
how many were refused, how many of these did not know what became of their change, how many had
to wait and try again, and how many ended after the kill.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

from tests.store.cluster.campaign import Cluster, campaign, told
from tests.store.cluster.dqlite import Dqlite
from tests.store.cluster.patroni import Patroni
from tests.store.cluster.processes import Servers, servers

ENGINES: dict[str, Callable[[Servers], Cluster]] = {"patroni": Patroni, "dqlite": Dqlite}


def main() -> None:
    """Print what came of it; end in 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("engine", choices=ENGINES)
    parser.add_argument("--seconds", type=float, default=60.0)
    chosen = parser.parse_args()
    with servers(chosen.engine) as started:
        outcome = campaign(ENGINES[chosen.engine](started), chosen.seconds)
    print("\n".join(told(outcome)), flush=True)
    raise SystemExit(bool(outcome.wrong))


if __name__ == "__main__":
    main()
