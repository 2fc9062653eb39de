"""Groups counted by the database, against counting the points that are read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.list_groups import GroupLine, list_groups
from fleetcal.services.points.decide_points import list_points, reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import (
    NewLeakCheck,
    PointFilter,
    Store,
    StoredPoint,
    add_leak_check,
    open_store,
    select_points,
)
from tests.services.invented_group import flown_points


def with_all_kinds(store: Store, folder: Path) -> None:
    """Points that count, were rejected, are barred, or both, flown with flaps up and down."""
    heading = "airframe,flown_on,sortie,flap_setting,weight_kg,vic_kt,pressure_altitude_ft"
    lines = [f"{heading},kappa,u_kappa,u_shared_kappa"]
    random = np.random.default_rng(3)
    for number in range(1, 8):
        for sortie in range(6):
            flaps = ("up", "20")[int(random.integers(2))]
            for _ in range(int(random.integers(1, 5))):
                day = f"20{20 + sortie}-0{number}-05"
                speed = random.uniform(55.0, 130.0)
                lines.append(f"C-{number:02d},{day},{sortie},{flaps},600,{speed:.2f},3000,0,0.01,0")
    (folder / "points.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    import_points(store, folder / "points.csv")
    numbers = [point.point_id for point in list_points(store, PointFilter()).points]
    for reason, share in (("hose loose", 7), ("rain", 5)):
        reject(store, numbers[::share], reason)
    for tag in ("C-02", "C-05"):
        own = [p.point_id for p in list_points(store, PointFilter(airframe=tag)).points]
        reject(store, own[1::2], "bumpy")
    reject(
        store, [p.point_id for p in list_points(store, PointFilter(airframe="C-07")).points], "-"
    )
    with store.writing() as session:
        for tag, checked in (("C-03", date(2019, 1, 1)), ("C-05", date(2022, 6, 1))):
            add_leak_check(
                session,
                NewLeakCheck(
                    airframe=tag,
                    checked_on=checked,
                    loss_ft=900.0,
                    limit_ft=100.0,
                    limit_source="-",
                ),
            )


def counted_by_reading(rows: Sequence[StoredPoint]) -> dict[tuple[str, str], tuple[object, ...]]:
    """Count the points of each group and flap setting, one at a time."""
    found: dict[tuple[str, str], tuple[object, ...]] = {}
    for key in {(row.static_source, row.engine, row.propeller, row.flap_setting) for row in rows}:
        own = [r for r in rows if (r.static_source, r.engine, r.propeller, r.flap_setting) == key]
        good = [r for r in own if r.accepted and not r.barred]
        speeds = [r.vic_kt for r in good]
        found[str(GroupName(*key[:3])), key[3]] = (
            len({r.airframe for r in good}),
            len({r.sortie_id for r in good}),
            len(good),
            sum(not r.accepted for r in own),
            sum(r.accepted and bool(r.barred) for r in own),
            len({r.airframe for r in own} - {r.airframe for r in good}),
            min(speeds, default=None),
            max(speeds, default=None),
        )
    return found


def counts_of(line: GroupLine) -> tuple[object, ...]:
    """Return what a line counts."""
    return (
        *(line.airframes, line.sorties, line.points, line.rejected_points, line.barred_points),
        *(line.set_aside_airframes, line.slowest_kt, line.fastest_kt),
    )


@pytest.mark.long
def test_the_database_counts_what_reading_every_point_counts(
    described_place: str, tmp_path: Path
) -> None:
    with open_store(described_place) as store:
        with_all_kinds(store, tmp_path)
        with store.reading() as session:
            rows = select_points(session)
        lines = list_groups(store).groups
    assert {(one.group, one.flap_setting): counts_of(one) for one in lines} == counted_by_reading(
        rows
    )
    assert sum(one.barred_points for one in lines) > 0
    assert [(one.type, one.group, one.flap_setting) for one in lines] == sorted(
        (one.type, one.group, one.flap_setting) for one in lines
    )


def test_reasons_of_those_set_aside_come_by_day_and_a_bar_before_a_rejection(
    described: Store, tmp_path: Path
) -> None:
    flown_points(tmp_path / "early.csv", ["C-02", "C-03"], "2021-03-05")
    flown_points(tmp_path / "late.csv", ["C-02"], "2022-03-05")
    for name in ("late.csv", "early.csv"):
        import_points(described, tmp_path / name)
    for flown, reason in ((date(2022, 3, 5), "zinc"), (date(2021, 3, 5), "rain")):
        chosen = PointFilter(airframe="C-02", flown_from=flown, flown_to=flown)
        reject(described, [p.point_id for p in list_points(described, chosen).points], reason)
    (note,) = list_groups(described).set_aside
    assert note.startswith("C-02 is set aside in wing boom / ")
    assert note.endswith(", flaps up: 3 points: rain; 3 points: zinc")
    with described.writing() as session:
        add_leak_check(
            session,
            NewLeakCheck(
                airframe="C-02",
                checked_on=date(2021, 6, 1),
                loss_ft=900.0,
                limit_ft=100.0,
                limit_source="-",
            ),
        )
    (barred,) = list_groups(described).set_aside
    assert "6 points: static leak check failed on 2021-06-01" in barred
    assert "rain" not in barred
