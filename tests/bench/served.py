"""Times and memory of the served pages, as a browser waits for them.

``python -m tests.bench.served`` starts real servers and prints medians, with what else the machine
did meanwhile: from a dropped hour at 1 Hz to the page with the answer's sentences; from legs that
were moved to the new numbers; the overview of 300 airframes from the server's start, after a
change of the store and again; the memory at rest and after 300 pages of airframes. Limits are
those in ``LIMITS``; the program ends with 1 where one is passed. ``--repeats 3`` takes fewer;
``--airframes 30`` a smaller fleet.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final

from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.publish.site_store import run
from tests.publish.test_site_large import fleet_toml, points_csv
from tests.web.serving import Answer, Server, serving, wait_for

#: Seconds, at most.
LIMITS: Final = {
    "a dropped hour, to its sentences": 2.0,
    "moved legs, to new numbers": 0.3,
    "the overview, at once after the start": 1.0,
    "the overview, after a change of the store": 1.0,
    "the overview again": 1.0,
}


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--airframes", type=int, default=300)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        times = _flight(folder, chosen.repeats) | _fleet(folder, chosen)
    late = 0
    for words, seconds in times.items():
        most = LIMITS.get(words)
        median = statistics.median(seconds)
        note = "" if most is None else f"  (at most {most:g} s)"
        if most is not None and median > most:
            late, note = 1, f"{note}  TOO LONG"
        each = f"{min(seconds):.2f} to {max(seconds):.2f}"
        print(f"{words:46s} {median:7.3f} s{note}  [{each}]")
    print(f"load of the machine: {' '.join(f'{one:.1f}' for one in os.getloadavg())}, ", end="")
    print(f"{os.cpu_count()} processors")
    return late


def hour_log() -> bytes:
    """Return an hour of legs, a sample a second."""
    card = Card(airspeeds_kt=tuple(range(70, 126, 5)), legs=4, leg_s=60)
    text = log_text(fly(card, truth=Truth(kappa=0.05, roughness=1.0)))
    heading, *lines = text.splitlines(keepends=True)
    assert len(lines) >= 3600
    return "".join([heading, *lines[:3600]]).encode()


def timed(act: Callable[[], Answer], status: int = 200) -> tuple[float, Answer]:
    """Return how long an answer took, s, and the answer."""
    start = time.perf_counter()
    answer = act()
    seconds = time.perf_counter() - start
    assert answer.status == status, (answer.status, answer.text[:2000])
    return seconds, answer


def drop(server: Server, log: bytes, name: str) -> str:
    """Drop a log as a browser does, and return where its page is."""
    body = b"--b\r\nContent-Disposition: form-data; name=logs; filename=" + name.encode()
    body += b"\r\nContent-Type: text/csv\r\n\r\n" + log + b"\r\n--b--\r\n"
    answer = server.raw(
        "POST", f"{server.root}flight/", body, Content_Type="multipart/form-data; boundary=b"
    )
    assert answer.status == 303, answer.text[:2000]
    found = re.search(r"flight/\d+/", answer.headers["Location"] + "/")
    return found[0] if found else f"flight/{answer.headers['Location'].strip('./')}/"


def _flight(folder: Path, repeats: int) -> dict[str, list[float]]:
    log = hour_log()
    dropped, moved = [], []
    with serving(folder / "flights.store", folder / "private") as server:
        server.get()
        for number in range(repeats):
            start = time.perf_counter()
            place = drop(server, log + b"\n" * number, f"hour-{number}.csv")
            page = server.get(place)
            dropped.append(time.perf_counter() - start)
            assert page.status == 200
            assert "kt" in page.text
            legs = _legs(page.text)
            for step in range(4):
                legs[0]["stop_s"] -= 2.0 + step / 10.0
                sent = json.dumps({"legs": legs}).encode()
                solve = partial(server.raw, "POST", f"{server.root}{place}solve", sent)
                seconds, _ = timed(partial(solve, Content_Type="application/json"))
                moved.append(seconds)
        print(f"memory after {repeats} flights of an hour: {server.kilobytes / 1000:.0f} MB")
    return {"a dropped hour, to its sentences": dropped, "moved legs, to new numbers": moved}


def _legs(page: str) -> list[dict[str, float]]:
    found = re.search(r'data-legs="([^"]*)"', page)
    assert found, "the page shows no legs"
    given = json.loads(found[1].replace("&#34;", '"').replace("&quot;", '"'))["found"]
    return [
        {"run": leg["run"], "start_s": leg["start"], "stop_s": leg["stop"], "left_out": False}
        for leg in given
    ]


def _fleet(folder: Path, chosen: argparse.Namespace) -> dict[str, list[float]]:
    store = folder / "fleet.store"
    (folder / "fleet.toml").write_text(fleet_toml(chosen.airframes), encoding="utf-8")
    (folder / "points.csv").write_text(points_csv(chosen.airframes), encoding="utf-8")
    run(store, "fleet", "load", folder / "fleet.toml")
    run(store, "points", "import", folder / "points.csv")
    first, changed, again, page = [], [], [], []
    for _ in range(chosen.repeats):
        with serving(store, folder / "private") as server:
            first.append(timed(server.get)[0])
            again += [timed(server.get)[0] for _ in range(3)]
            run(store, "points", "reject", 1, "--reason", "tried")
            changed.append(timed(server.get)[0])
            run(store, "points", "accept", 1)
    with serving(store, folder / "private") as server:
        rest = server.kilobytes
        for number in range(chosen.airframes):
            page.append(timed(partial(server.get, f"airframes/C-{number:03d}.html"))[0])
        wait_for(lambda: server.get().status == 200, "it answers still")
        print(f"memory at rest {rest / 1000:.0f} MB, ", end="")
        print(f"after {len(page)} pages of airframes {server.kilobytes / 1000:.0f} MB")
    return {
        "the overview, at once after the start": first,
        "the overview, after a change of the store": changed,
        "the overview again": again,
        "the page of an airframe": page[1:],
        "the first page of an airframe": page[:1],
    }


if __name__ == "__main__":
    sys.exit(main())
