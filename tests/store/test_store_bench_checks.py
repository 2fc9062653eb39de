from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import event

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import (
    LeakCheckRow,
    NewBenchCheck,
    NewLeakCheck,
    PointFilter,
    Store,
    add_bench_check,
    add_leak_check,
    add_source,
    bench_check_in_force,
    list_bench_checks,
    list_leak_checks,
    pooled_leg_scatter,
    save_description,
    select_points,
    withdraw_check,
)
from fleetcal.store.leak_rows import barred_spans
from tests.store.invented_rows import FLEET, LEG, POINT, check_on_bench, fly, points

LINES = ((60.0, 0.5), (90.0, 0.0), (120.0, -1.5))


@pytest.fixture
def fleet_store(store: Store) -> Store:
    with store.writing() as session:
        save_description(session, FLEET)
    return store


def enter(store: Store, check: NewBenchCheck) -> int:
    with store.writing() as session:
        sha256 = hashlib.sha256(repr(check).encode()).hexdigest()
        return add_bench_check(session, add_source(session, sha256, "x.csv", "bench"), check)


def add(store: Store, day: date, tag: str = "C-01", kind: str = "airspeed") -> int:
    return enter(store, NewBenchCheck(airframe=tag, kind=kind, checked_on=day, u=0.4, rows=LINES))


def leak(store: Store, day: date, loss_ft: float, tag: str = "C-01") -> int:
    with store.writing() as session:
        return add_leak_check(
            session,
            NewLeakCheck(
                airframe=tag,
                checked_on=day,
                loss_ft=loss_ft,
                limit_ft=100.0,
                limit_source="invented",
            ),
        )


def test_a_bench_check_comes_back_as_it_went_in_with_its_lines_in_order(
    fleet_store: Store,
) -> None:
    with fleet_store.writing() as session:
        check_on_bench(session)
    with fleet_store.reading() as session:
        (check,) = list_bench_checks(session, "C-02")
        assert list_bench_checks(session, "C-01") == []
        assert list_bench_checks(session) == [check]
    assert check.rows == LINES
    assert (check.airframe, check.kind, check.u, check.note) == (
        "C-02",
        "airspeed",
        0.4,
        "invented",
    )
    assert (check.checked_on, check.source_name) == (date(2019, 5, 1), "indicator.csv")
    assert check.withdrawn == ""


def test_the_newest_check_not_later_than_the_flight_is_in_force(fleet_store: Store) -> None:
    first = add(fleet_store, date(2018, 3, 1))
    second = add(fleet_store, date(2020, 3, 1))
    add(fleet_store, date(2019, 3, 1), tag="C-02")
    add(fleet_store, date(2019, 3, 1), kind="altimeter")
    expected = {
        date(2018, 2, 28): None,
        date(2018, 3, 1): first,
        date(2020, 2, 29): first,
        date(2020, 3, 1): second,
        date(2030, 1, 1): second,
    }
    with fleet_store.reading() as session:
        for day, number in expected.items():
            found = bench_check_in_force(session, "C-01", "airspeed", day)
            assert (found.bench_check_id if found else None) == number


def test_a_withdrawn_check_counts_no_more_and_makes_room_for_a_right_one(
    fleet_store: Store,
) -> None:
    day = date(2018, 3, 1)
    wrong = add(fleet_store, day)
    better = NewBenchCheck(airframe="C-01", kind="airspeed", checked_on=day, u=0.2, rows=LINES)
    with pytest.raises(DataError, match=f"has one of that day, number {wrong}"):
        enter(fleet_store, better)
    with fleet_store.writing() as session:
        assert withdraw_check(session, "airspeed", wrong, " sign turned ") == "C-01"
    right = enter(fleet_store, better)
    with fleet_store.reading() as session:
        found = bench_check_in_force(session, "C-01", "airspeed", day)
        assert found is not None
        assert found.bench_check_id == right
        reasons = {c.bench_check_id: c.withdrawn for c in list_bench_checks(session)}
    assert reasons == {wrong: "sign turned", right: ""}


def test_withdrawing_needs_a_reason_and_a_check_that_stands(fleet_store: Store) -> None:
    number = add(fleet_store, date(2018, 3, 1))
    for kind, which, reason, error in (
        ("airspeed", number, "  ", DataError),
        ("airspeed", number + 1, "mistyped", UnknownNameError),
        ("altimeter", number, "mistyped", UnknownNameError),
        ("leak", number, "mistyped", UnknownNameError),
    ):
        with pytest.raises(error), fleet_store.writing() as session:
            withdraw_check(session, kind, which, reason)
    with fleet_store.writing() as session:
        withdraw_check(session, "airspeed", number, "mistyped")
    with pytest.raises(DataError, match="withdrawn already"), fleet_store.writing() as session:
        withdraw_check(session, "airspeed", number, "twice")


def test_a_check_without_lines_or_without_uncertainty_is_refused(fleet_store: Store) -> None:
    for lines, u, said in (((), 0.4, "no lines"), (LINES, 0.0, "u_positive")):
        check = NewBenchCheck(
            airframe="C-01", kind="airspeed", checked_on=date(2018, 3, 1), u=u, rows=lines
        )
        with pytest.raises(DataError, match=said):
            enter(fleet_store, check)
    with fleet_store.reading() as session:
        assert list_bench_checks(session) == []


DAYS = [date(2018, 1, 1) + timedelta(days=100 * i) for i in range(6)]


def barred_days(store: Store) -> list[date]:
    with store.reading() as session:
        return sorted({p.flown_on for p in select_points(session) if p.barred})


@pytest.fixture
def flown(fleet_store: Store) -> Store:
    """One flight on each of the days, and one of the other airframe on the first of them."""
    with fleet_store.writing() as session:
        for day in DAYS:
            fly(session, "C-01", day)
        fly(session, "C-02", DAYS[0])
    return fleet_store


def test_a_failed_check_bars_everything_ever_flown_when_none_has_passed(flown: Store) -> None:
    assert barred_days(flown) == []
    leak(flown, DAYS[3], 140.0)
    assert barred_days(flown) == DAYS
    with flown.reading() as session:
        for point in select_points(session):
            assert point.accepted
            assert bool(point.barred) == (point.airframe == "C-01")
            if point.barred:
                assert "140 ft lost in one minute, limit 100 ft" in point.barred
                assert "never passed before, not passed since" in point.barred


def test_a_failed_check_bars_from_the_last_passed_to_the_next_passed_one(flown: Store) -> None:
    leak(flown, DAYS[1] - timedelta(days=1), 20.0)
    leak(flown, DAYS[3], 101.0)
    assert barred_days(flown) == DAYS[1:]
    leak(flown, DAYS[4] + timedelta(days=1), 99.0)
    assert barred_days(flown) == DAYS[1:5]


def test_a_check_counts_from_the_start_of_its_day(flown: Store) -> None:
    leak(flown, DAYS[1], 20.0)
    leak(flown, DAYS[3], 140.0)
    leak(flown, DAYS[4], 20.0)
    assert barred_days(flown) == DAYS[1:4]


def test_of_two_checks_of_one_day_the_last_entered_comes_last(flown: Store) -> None:
    leak(flown, DAYS[1], 20.0)
    leak(flown, DAYS[3], 140.0)
    leak(flown, DAYS[3], 30.0)
    assert barred_days(flown) == DAYS[1:3]


def test_several_failures_in_a_row_are_one_span_and_two_repairs_are_two(flown: Store) -> None:
    for day, loss in ((1, 200.0), (2, 150.0), (3, 10.0), (5, 130.0)):
        leak(flown, DAYS[day], loss)
    assert barred_days(flown) == [*DAYS[:3], *DAYS[3:6]]
    leak(flown, DAYS[4], 10.0)
    assert barred_days(flown) == [*DAYS[:3], *DAYS[4:6]]


def test_withdrawing_a_mistaken_failure_lifts_the_bar(flown: Store) -> None:
    number = leak(flown, DAYS[3], 140.0)
    assert barred_days(flown) == DAYS
    with flown.writing() as session:
        withdraw_check(session, "leak", number, "read 14.0")
        (check,) = list_leak_checks(session)
    assert barred_days(flown) == []
    assert check.withdrawn == "read 14.0"
    assert not check.passed


def test_a_loss_at_the_limit_passes(flown: Store) -> None:
    leak(flown, DAYS[3], 100.0)
    assert barred_days(flown) == []
    leak(flown, DAYS[3], 100.1)
    assert barred_days(flown) == DAYS[3:]


def test_spans_of_airframes_do_not_mix() -> None:
    def row(number: int, tag: str, day: date, passed: bool) -> LeakCheckRow:
        return LeakCheckRow(
            leak_check_id=number,
            airframe=tag,
            checked_on=day,
            loss_ft=1.0 if passed else 2.0,
            limit_ft=1.0,
            limit_source="x",
            note="",
            withdrawn="",
        )

    spans = barred_spans(
        [
            row(1, "C-01", DAYS[0], True),
            row(2, "C-01", DAYS[1], False),
            row(3, "C-02", DAYS[2], True),
            row(4, "C-03", DAYS[2], False),
            row(5, "C-03", DAYS[3], True),
        ]
    )
    assert {tag: [(s.first, s.before) for s in found] for tag, found in spans.items()} == {
        "C-01": [(DAYS[0], None)],
        "C-03": [(None, DAYS[3])],
    }


def test_barred_points_lend_no_leg_scatter(flown: Store) -> None:
    with flown.reading() as session:
        before = pooled_leg_scatter(session)
    leak(flown, DAYS[3], 140.0)
    with flown.reading() as session:
        after = pooled_leg_scatter(session)
    assert POINT.residual_kt is not None
    assert POINT.leg_count == LEG.leg_number + 3
    assert before == pytest.approx((21 * POINT.residual_kt**2, 21))
    assert after == pytest.approx((3 * POINT.residual_kt**2, 3))


@pytest.mark.long
def test_the_bar_costs_the_same_queries_however_many_points_and_checks(flown: Store) -> None:
    def queries() -> int:
        with flown.reading() as session:
            asked: list[str] = []
            event.listen(
                session.connection(), "before_cursor_execute", lambda *a: asked.append(str(a[2]))
            )
            select_points(session)
            return len(asked)

    assert queries() == 3
    leak(flown, DAYS[3], 140.0)
    assert queries() == 4
    with flown.writing() as session:
        for i in range(10):
            fly(session, "C-01", DAYS[5] + timedelta(days=i), points(5))
    for i in range(10):
        leak(flown, DAYS[5] + timedelta(days=30 + i), 140.0)
    assert queries() == 4


def test_one_point_can_be_asked_for_by_its_number(flown: Store) -> None:
    with flown.reading() as session:
        wanted = select_points(session)[4]
        assert select_points(session, PointFilter(point_id=wanted.point_id)) == [wanted]


def test_the_time_of_adding_is_the_clocks_when_none_is_given(fleet_store: Store) -> None:
    from fleetcal.store.models import LeakCheck

    before = datetime.now(UTC)
    number = leak(fleet_store, DAYS[0], 10.0)
    with fleet_store.reading() as session:
        row = session.get(LeakCheck, number)
        assert row is not None
        assert before <= row.added_at <= datetime.now(UTC)
