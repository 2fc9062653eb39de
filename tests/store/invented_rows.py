"""Invented rows for the store's tests: every table gets some."""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import func, select, table
from sqlalchemy.orm import Session

from fleetcal.records import GPS_LEGS, BudgetTerm, Climb, Leg, Point
from fleetcal.store import (
    AirframeDescription,
    CruiseTableDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    IssueSeries,
    NewBenchCheck,
    NewIssue,
    NewLeakCheck,
    NewSortie,
    PowerNote,
    PropellerDescription,
    StaticSourceDescription,
    Store,
    TypeDescription,
    add_bench_check,
    add_climbs,
    add_issue,
    add_leak_check,
    add_sortie,
    add_source,
    keep_log,
    note_powers,
    packed_file,
    save_description,
)
from fleetcal.store.models import Base, ReplacedVersion
from fleetcal.store.owner_rows import learn_people
from fleetcal.store.person import Person

MOMENT = datetime(2024, 5, 6, 7, 8, 9, 123456, tzinfo=UTC)
WING, TAIL = "wing boom", "tail-boom flush pair"
FOUR, TURBO = "75 kW four", "100 kW turbo four"
FIXED, CONSTANT = "two-blade fixed", "three-blade constant-speed"

CLIMB = Climb(
    number=1,
    kind="climb",
    power_state="full power",
    flap_setting="up",
    weight_kg=590.0,
    vic_kt=72.0,
    pressure_altitude_ft=4000.0,
    oat_degc=9.0,
    indicated_rate_ftmin=810.0,
    rate_ftmin=850.0,
    u_own_ftmin=12.0,
    u_shared_ftmin=3.0,
    thrust_rate_ftmin=1400.0,
    ways=2,
)
GLIDE = Climb(
    number=2,
    kind="glide",
    power_state="idle",
    flap_setting="up",
    weight_kg=585.0,
    vic_kt=68.0,
    pressure_altitude_ft=4000.0,
    oat_degc=9.0,
    indicated_rate_ftmin=-620.0,
    rate_ftmin=-645.0,
    u_own_ftmin=10.0,
    u_shared_ftmin=-2.0,
    thrust_rate_ftmin=0.0,
    ways=1,
    accepted=False,
    reason="flown one way only",
)

FLEET = FleetDescription(
    types=(
        TypeDescription(
            name="Corrie 2",
            reference_weight_kg=600.0,
            scaling_speed_kt=45.0,
            wing_area_m2=10.5,
            never_exceed_kt=141.0,
            note="invented",
            static_sources=(StaticSourceDescription(TAIL, "flush"), StaticSourceDescription(WING)),
        ),
    ),
    engines=(TURBO, FOUR),
    propellers=(PropellerDescription(CONSTANT, "constant speed"), PropellerDescription(FIXED)),
    airframes=(
        AirframeDescription(
            tag="C-01",
            type="Corrie 2",
            fits=(
                FitDescription(
                    from_date=date(2015, 4, 1),
                    static_source=TAIL,
                    engine=FOUR,
                    propeller=FIXED,
                    pitot="nose",
                    note="as built",
                ),
                FitDescription(
                    from_date=date(2019, 4, 1),
                    static_source=TAIL,
                    engine=TURBO,
                    propeller=CONSTANT,
                    pitot="nose",
                ),
            ),
        ),
        AirframeDescription(
            tag="C-02",
            type="Corrie 2",
            note="second",
            fits=(
                FitDescription(
                    from_date=date(2016, 4, 1), static_source=WING, engine=TURBO, propeller=CONSTANT
                ),
            ),
        ),
    ),
    handbooks=(
        HandbookDescription(
            type="Corrie 2",
            static_source=TAIL,
            flap_setting="up",
            name="first edition",
            weight_kg=600.0,
            rows=((60.0, 61.5), (80.0, 81.0)),
            speeds=(("flap limit", 78.0), ("stall", 61.0)),
        ),
    ),
)

CRUISE_TABLE = CruiseTableDescription(
    type="Corrie 2",
    engine=FOUR,
    propeller=FIXED,
    name="first edition",
    weight_kg=600.0,
    rows=((65.0, 4000.0, 101.0), (75.0, 4000.0, 107.0), (75.0, 8000.0, 110.0)),
)

LEG = Leg(
    run_number=1,
    leg_number=1,
    vic_kt=80.0,
    pressure_altitude_ft=3000.0,
    oat_degc=10.5,
    track_deg=359.5,
    start_s=0.0,
    stop_s=60.0,
)
POINT = Point(
    number=1,
    technique=GPS_LEGS,
    weight_kg=590.0,
    vic_kt=80.0,
    pressure_altitude_ft=3000.0,
    kappa=-0.0125,
    u_kappa=0.004,
    dvpc_kt=-0.5,
    u_dvpc_kt=0.16,
    dhpc_ft=-4.5,
    u_dhpc_ft=1.4,
    leg_count=4,
    residual_kt=0.5,
    terms=(
        BudgetTerm(name="air temperature", u_kappa=-0.003, owner="sortie", kind="B", note="probe"),
        BudgetTerm(name="leg scatter", u_kappa=0.002, owner="point", kind="A"),
    ),
)


def points(count: int, **changes: Any) -> list[Point]:
    """Return points that differ in number and speed."""
    return [
        replace(POINT, number=number, vic_kt=60.0 + number, **changes)
        for number in range(1, count + 1)
    ]


def fly(
    session: Session,
    tag: str = "C-01",
    day: date = date(2018, 1, 1),
    gave: list[Point] | None = None,
) -> int:
    """Store one flight from a file of its own and return its id."""
    made_up = f"{session.scalar(select(func.count()).select_from(table('source_file'))) or 0:064x}"
    source = add_source(session, made_up, f"{tag} {day}.csv", "log", now=MOMENT)
    sortie = NewSortie(airframe=tag, flown_on=day, weight_kg=590.0, track_reference="true")
    legs = [replace(LEG, leg_number=number) for number in (1, 2, 3, 4)]
    return add_sortie(session, source, sortie, legs, gave or points(3), now=MOMENT).id


def check_on_bench(session: Session) -> None:
    """Store a check of the airspeed indicator and two leak checks, the first one failed."""
    source = add_source(session, "b" * 64, "indicator.csv", "bench", now=MOMENT)
    lines = ((120.0, -1.5), (60.0, 0.5), (90.0, 0.0))
    check = NewBenchCheck(
        airframe="C-02",
        kind="airspeed",
        checked_on=date(2019, 5, 1),
        u=0.4,
        rows=lines,
        note="invented",
    )
    add_bench_check(session, source, check, now=MOMENT)
    for day, loss_ft in ((date(2021, 5, 1), 140.0), (date(2021, 5, 8), 30.0)):
        add_leak_check(
            session,
            NewLeakCheck(
                airframe="C-02",
                checked_on=day,
                loss_ft=loss_ft,
                limit_ft=100.0,
                limit_source="invented",
            ),
            now=MOMENT,
        )


SERIES = IssueSeries("Corrie 2", WING, "up")
ISSUE = NewIssue(
    issued_on=date(2024, 5, 6),
    why="first",
    inputs_json='{"points": []}',
    inputs_sha256="a" * 64,
    table_json='{"rows": []}',
    table_sha256="b" * 64,
    files_json="{}",
    model="none",
)


def fill_every_table(store: Store) -> None:
    """Put rows into all tables."""
    with store.writing() as session:
        save_description(session, FLEET)
        add_climbs(session, fly(session), [CLIMB, GLIDE], now=MOMENT)
        fly(session, "C-02", date(2020, 2, 29))
        check_on_bench(session)
        add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
        note_powers(
            session,
            [PowerNote(point_id=1, power_pct=65.0, u_power_pct=3.0, note="invented")],
            MOMENT,
        )
        save_description(session, FleetDescription(cruise_tables=(CRUISE_TABLE,)))
        replace_a_note(session)
        keep_a_log(session)
        learn_people(session, [Person("ab" * 32, "invented")], MOMENT)


def keep_a_log(session: Session, content: bytes = b"time,ias\n1,80\n") -> str:
    """Keep a log of a few bytes and return its hash."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "kept.csv"
        path.write_bytes(content)
        with packed_file(path) as packed:
            add_source(session, packed.sha256, path.name, "log", now=MOMENT)
            keep_log(session, packed, now=MOMENT)
            return packed.sha256


def replace_a_note(session: Session) -> None:
    """Remember a note that an airframe had before."""
    content = '{"note":"older","type":"Corrie 2"}'
    digest = hashlib.sha256(content.encode()).hexdigest()
    session.add(
        ReplacedVersion(
            kind="airframe",
            thing_key='["C-01"]',
            digest=digest,
            content_json=content,
            why="invented",
            replaced_at=MOMENT,
        )
    )


def row_counts(session: Session) -> dict[str, int]:
    """Count the rows of every table."""
    return {
        name: int(session.scalar(select(func.count()).select_from(table(name))) or 0)
        for name in Base.metadata.tables
    }
