"""What no page sends as the legs of a flight is refused in words, or answered, and never breaks."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import fleetcal
from tests.web.serving import Server, serving

LOG = Path(fleetcal.__file__).parents[1] / "seed_demo" / "first-hours" / "flight-1.csv"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("served")
    with serving(folder / "own.store", folder / "private") as opened:
        assert opened.drop((LOG.name, LOG.read_bytes())).status == 303
        assert opened.get("flight/1/").status == 200
        yield opened


def leg(**values: Any) -> dict[str, Any]:
    return {"run": 1, "start_s": 600.0, "stop_s": 660.0, "left_out": False, **values}


STRANGE: tuple[Any, ...] = (
    {},
    [],
    None,
    "legs",
    {"legs": None},
    {"legs": [None]},
    {"legs": [[1, 2]]},
    {"legs": []},
    {"legs": [leg(start_s=float("nan"))]},
    {"legs": [leg(stop_s=float("inf")), leg(start_s=float("-inf"))]},
    {"legs": [leg(start_s=1e308, stop_s=-1e308)]},
    {"legs": [leg(start_s=660.0, stop_s=600.0)]},
    {"legs": [leg(start_s=600.0, stop_s=600.0)]},
    {"legs": [leg(run=-5)]},
    {"legs": [leg(run=10**30)]},
    {"legs": [leg(run=True)]},
    {"legs": [leg(run="1")]},
    {"legs": [leg(start_s="<script>alert(1)</script>")]},
    {"legs": [leg(left_out="no")]},
    {"legs": [leg()] * 5},
    {"legs": [leg(start_s=float(n), stop_s=n + 1.0) for n in range(2000)]},
    {"legs": [leg(left_out=True)]},
)


@pytest.mark.parametrize("sent", STRANGE, ids=lambda one: json.dumps(one)[:60])
def test_strange_legs_break_nothing(server: Server, sent: Any) -> None:
    body = json.dumps(sent).encode()
    for path in ("flight/1/solve", "flight/9/solve"):
        answer = server.raw("POST", server.root + path, body, Content_Type="application/json")
        assert answer.status < 500, answer.text
        assert "<script>alert" not in answer.text
    assert server.get("flight/1/").status == 200


@pytest.mark.long
@pytest.mark.parametrize("body", [b"", b"{", b"\xff\xfe", b"[" * 100_000, b"1" * 100_000])
def test_what_is_no_list_of_legs_breaks_nothing(server: Server, body: bytes) -> None:
    for kind in ("application/json", "text/plain"):
        answer = server.raw("POST", f"{server.root}flight/1/solve", body, Content_Type=kind)
        assert 400 <= answer.status < 500, answer.text
    assert server.get("flight/1/").status == 200


@pytest.mark.long
@pytest.mark.parametrize(
    "query", ["", "start_s=nan", "start_s=inf&stop_s=-inf", "start_s=9&stop_s=1", "start_s=x"]
)
def test_strips_of_strange_times_break_nothing(server: Server, query: str) -> None:
    assert server.get(f"flight/1/strips?{query}").status < 500
