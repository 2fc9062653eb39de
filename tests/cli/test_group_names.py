"""A group has one curve, however it is named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import PAIRING, TAIL, WING, Group, fleet_toml, points_csv, tags
from tests.store_places import begun_at

pytestmark = [
    pytest.mark.long,
    pytest.mark.any_store("judges numbers by queries that other tests send"),
]

TURBO = "100 kW turbo four"
GROUPS = (Group(WING, 6, 0.04, -0.12), Group(TAIL, 10, -0.05, 0.10))
FULL = {port: f"{port} / {PAIRING[0]} / {PAIRING[1]}" for port in (WING, TAIL)}
#: Of the ten with the tail-boom pair, the last five have another engine, and other errors.
OTHER = {tag: 0.06 for tag, group in tags(GROUPS).items() if group.static_source == TAIL}
OTHER = dict(list(OTHER.items())[5:])


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A store where one static source has one pairing, and the other has two that differ."""
    folder = tmp_path_factory.mktemp("names")
    fleet = fleet_toml(GROUPS).replace("[[engine]]", f'[[engine]]\nname = "{TURBO}"\n[[engine]]', 1)
    parts = fleet.split("[[airframe]]")
    for i, part in enumerate(parts):
        if any(f'tag = "{tag}"' in part for tag in OTHER):
            parts[i] = part.replace(PAIRING[0], TURBO)
    (folder / "fleet.toml").write_text("[[airframe]]".join(parts), encoding="utf-8")
    speeds = (70.0, 95.0, 120.0)
    points = points_csv(GROUPS, OTHER, speeds_kt=speeds)
    (folder / "points.csv").write_text(points, encoding="utf-8")
    book = "ias_kt,cas_kt\n60,66\n80,84\n100,101\n130,129\n"
    (folder / "book.csv").write_text(book, encoding="utf-8")
    (folder / "speeds.csv").write_text("speed,ias_kt\nglide,75\nnever exceed,115\n")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    entered = ("--name", "first", "--static-source", TAIL, "--speeds", folder / "speeds.csv")
    program.output("handbook", "enter", folder / "book.csv", *entered)
    return program


def numbers(value: Any, path: str = "") -> dict[str, float]:
    """Return every number of a result by where it stands."""
    if isinstance(value, dict):
        parts = [numbers(inner, f"{path}.{key}") for key, inner in value.items()]
    elif isinstance(value, list):
        parts = [numbers(inner, f"{path}.{place}") for place, inner in enumerate(value)]
    elif isinstance(value, bool) or not isinstance(value, int | float):
        return {}
    else:
        return {path: float(value)}
    return {name: number for part in parts for name, number in part.items()}


@pytest.mark.parametrize(
    "words",
    [("curve",), ("outliers",), ("handbook", "compare"), ("handbook", "compare", "--carry")],
    ids=" ".join,
)
def test_the_short_and_the_full_name_of_the_same_points_give_the_same_numbers(
    words: tuple[str, ...], program: Program
) -> None:
    short, full = (program.json(*words, name) for name in (WING, FULL[WING]))
    found = numbers(full)
    assert len(found) > 10
    assert numbers(short) == pytest.approx(found, abs=1e-7)


def test_a_table_published_under_either_name_has_the_same_numbers(
    program: Program, tmp_path: Path
) -> None:
    tables = []
    for place, name in enumerate((WING, FULL[WING])):
        folder = tmp_path / str(place)
        wanted = ("--formats", "csv", "--date", "2024-06-01")
        program.output("publish", name, "--out", folder, *wanted)
        (file,) = folder.iterdir()
        lines = file.read_text(encoding="utf-8").splitlines()
        tables.append([line.split(",")[:10] for line in lines if line[:1].isdigit()])
    assert len(tables[0]) > 10
    assert tables[0] == tables[1]


def test_an_issue_under_either_name_has_the_numbers_of_the_curve(
    program: Program, tmp_path: Path
) -> None:
    rows = program.json("curve", FULL[WING])["rows"]
    for place, name in enumerate((WING, FULL[WING])):
        folder = tmp_path / str(place)
        program.output(
            "publish", name, "--issue", "--reason", "x", "--out", folder, "--formats", "csv"
        )
        (file,) = folder.iterdir()
        cells = [line.split(",") for line in file.read_text(encoding="utf-8").splitlines()]
        told = {float(c[0]): c for c in cells if c[0].replace(".", "").isdigit() and c[1]}
        for row in rows:
            # an issue tells what three airframes flew
            assert (row["ias_kt"] in told) is (row["airframes"] >= 3)
            if row["airframes"] >= 3:
                assert float(told[row["ias_kt"]][1]) == pytest.approx(row["cas_kt"], abs=0.051)
    assert program.json("show", "issues")["issues"]


def test_standing_says_of_an_airframe_what_the_list_of_either_name_says(program: Program) -> None:
    (mine,) = program.json("standing", "C-02")["airframes"]
    for name in (WING, FULL[WING]):
        found = program.json("outliers", name)["airframes"]
        (told,) = (one for one in found if one["airframe"] == "C-02")
        told["group"] = mine["group"]
        for row in told["rows"]:
            row["group"] = mine["group"]
        assert numbers(told) == pytest.approx(numbers(mine), abs=1e-7)


def test_pairings_that_are_pooled_leave_the_curve_of_another_source_as_it_is(
    program: Program,
) -> None:
    contrast = program.json("contrast", WING, TAIL)
    apart = program.json("contrast", FULL[WING], FULL[TAIL])
    assert contrast["second"]["airframes"] == apart["second"]["airframes"] + 5
    pooled, one = (program.json("curve", name) for name in (TAIL, FULL[TAIL]))
    assert (pooled["airframes"], one["airframes"]) == (10, 5)
