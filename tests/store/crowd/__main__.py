"""Eight writers and four readers on one store: python -m tests.store.crowd --seconds 120.

Writers import flights, decide on all points of a flight at once and merge small shares;
readers look whether each flight has all its points, budgets and one decision, and whether the
history tells of what is there. At the end each acknowledged write must be there once.
"""

from __future__ import annotations

import argparse
import tempfile
from contextlib import ExitStack
from pathlib import Path

from tests.postgres_server import make_database, serving

from .campaign import crowd, told


def main() -> None:
    """Print what came of it; end in 1 if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--engine", choices=["file", "server", "both"], default="both")
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--readers", type=int, default=4)
    parser.add_argument("--no-fsync", action="store_true", help="let the server not wait for disk")
    chosen = parser.parse_args()
    wrong = 0
    for engine in ("file", "server") if chosen.engine == "both" else (chosen.engine,):
        with ExitStack() as stack:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="fleetcal-")))
            place = str(folder / "store.sqlite3")
            if engine == "server":
                server = stack.enter_context(serving(fsync=not chosen.no_fsync))
                place = make_database(server, "crowd")
            outcome = crowd(place, folder, chosen.seconds, chosen.writers, chosen.readers)
        print("\n".join(told(outcome)), flush=True)
        wrong += len(outcome.wrong)
    raise SystemExit(wrong > 0)


if __name__ == "__main__":
    main()
