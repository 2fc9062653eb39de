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

from fleetcal.store import (
    GPS_LEGS,
    AirframeDescription,
    CruiseTableDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    IssueSeries,
    NewBenchCheck,
    NewClimb,
    NewIssue,
    NewLeakCheck,
    NewLeg,
    NewPoint,
    NewSortie,
    NewTerm,
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

MOMENT = datetime(2024, 5, 6, 7, 8, 9, 123456, tzinfo=UTC)
WING, TAIL = "wing boom", "tail-boom flush pair"
FOUR, TURBO = "75 kW four", "100 kW turbo four"
FIXED, CONSTANT = "two-blade fixed", "three-blade constant-speed"

CLIMB = NewClimb(
    *(1, "climb", "full power", "up", 590.0, 72.0, 4000.0, 9.0),
    *(810.0, 850.0, 12.0, 3.0, 1400.0, 2),
)
GLIDE = NewClimb(
    *(2, "glide", "idle", "up", 585.0, 68.0, 4000.0, 9.0, -620.0, -645.0, 10.0, -2.0, 0.0, 1),
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
                FitDescription(date(2015, 4, 1), TAIL, FOUR, FIXED, "nose", "as built"),
                FitDescription(date(2019, 4, 1), TAIL, TURBO, CONSTANT, "nose"),
            ),
        ),
        AirframeDescription(
            tag="C-02",
            type="Corrie 2",
            note="second",
            fits=(FitDescription(date(2016, 4, 1), WING, TURBO, CONSTANT),),
        ),
    ),
    handbooks=(
        HandbookDescription(
            "Corrie 2",
            TAIL,
            "up",
            "first edition",
            600.0,
            ((60.0, 61.5), (80.0, 81.0)),
            (("flap limit", 78.0), ("stall", 61.0)),
        ),
    ),
)

CRUISE_TABLE = CruiseTableDescription(
    *("Corrie 2", FOUR, FIXED, "first edition", 600.0),
    ((65.0, 4000.0, 101.0), (75.0, 4000.0, 107.0), (75.0, 8000.0, 110.0)),
)

LEG = NewLeg(1, 1, 80.0, 3000.0, oat_degc=10.5, track_deg=359.5, start_s=0.0, stop_s=60.0)
POINT = NewPoint(
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
        NewTerm("air temperature", -0.003, "sortie", "B", "probe"),
        NewTerm("leg scatter", 0.002, "point", "A"),
    ),
)


def points(count: int, **changes: Any) -> list[NewPoint]:
    """Return points that differ in number and speed."""
    return [
        replace(POINT, number=number, vic_kt=60.0 + number, **changes)
        for number in range(1, count + 1)
    ]


def fly(
    session: Session,
    tag: str = "C-01",
    day: date = date(2018, 1, 1),
    gave: list[NewPoint] | None = None,
) -> int:
    """Store one flight from a file of its own and return its id."""
    made_up = f"{session.scalar(select(func.count()).select_from(table('source_file'))) or 0:064x}"
    source = add_source(session, made_up, f"{tag} {day}.csv", "log", now=MOMENT)
    sortie = NewSortie(tag, day, 590.0, "true")
    legs = [replace(LEG, leg_number=number) for number in (1, 2, 3, 4)]
    return add_sortie(session, source, sortie, legs, gave or points(3), now=MOMENT).id


def check_on_bench(session: Session) -> None:
    """Store a check of the airspeed indicator and two leak checks, the first one failed."""
    source = add_source(session, "b" * 64, "indicator.csv", "bench", now=MOMENT)
    lines = ((120.0, -1.5), (60.0, 0.5), (90.0, 0.0))
    check = NewBenchCheck("C-02", "airspeed", date(2019, 5, 1), 0.4, lines, "invented")
    add_bench_check(session, source, check, now=MOMENT)
    for day, loss_ft in ((date(2021, 5, 1), 140.0), (date(2021, 5, 8), 30.0)):
        add_leak_check(session, NewLeakCheck("C-02", day, loss_ft, 100.0, "invented"), now=MOMENT)


SERIES = IssueSeries("Corrie 2", WING, "up")
ISSUE = NewIssue(
    date(2024, 5, 6), "first", '{"points": []}', "a" * 64, '{"rows": []}', "b" * 64, "{}", "none"
)


def fill_every_table(store: Store) -> None:
    """Put rows into all tables."""
    with store.writing() as session:
        save_description(session, FLEET)
        add_climbs(session, fly(session), [CLIMB, GLIDE], now=MOMENT)
        fly(session, "C-02", date(2020, 2, 29))
        check_on_bench(session)
        add_issue(session, SERIES, 1, ISSUE, now=MOMENT)
        note_powers(session, [PowerNote(1, 65.0, 3.0, note="invented")], MOMENT)
        save_description(session, FleetDescription(cruise_tables=(CRUISE_TABLE,)))
        replace_a_note(session)
        keep_a_log(session)


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
