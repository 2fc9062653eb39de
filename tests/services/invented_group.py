"""A small invented fleet for the services' tests, described and with points as values."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PointRow,
    StaticSourceDescription,
    Store,
    TermRow,
    TypeDescription,
    save_description,
)

WING, TAIL = "wing boom", "tail-boom flush pair"
FOUR, TURBO, FIXED = "75 kW four", "100 kW turbo four", "two-blade fixed"

TYPE = TypeDescription(
    name="Corrie 2",
    reference_weight_kg=600.0,
    scaling_speed_kt=45.0,
    static_sources=(StaticSourceDescription(TAIL), StaticSourceDescription(WING, "left wing")),
)
FLEET = FleetDescription(
    types=(TYPE,),
    engines=(TURBO, FOUR),
    propellers=(FIXED,),
    airframes=tuple(
        AirframeDescription(
            tag=f"C-{number:02d}",
            type="Corrie 2",
            note="invented",
            fits=(FitDescription(date(2015, 4, 1), WING, FOUR, FIXED),),
        )
        for number in range(1, 7)
    ),
    handbooks=(HandbookDescription("Corrie 2", WING, "up", "first", 600.0, ((60.0, 61.0),)),),
)
MOMENT = datetime(2024, 5, 6, 7, 8, 9, tzinfo=UTC)

POINT = PointRow(
    point_id=1,
    sortie_id=1,
    airframe="C-01",
    type="Corrie 2",
    static_source=WING,
    engine=FOUR,
    propeller=FIXED,
    pitot="",
    flown_on=date(2024, 3, 5),
    source_name="a.csv",
    track_reference="true",
    number=1,
    technique="gps legs",
    flap_setting="up",
    weight_kg=600.0,
    vic_kt=90.0,
    pressure_altitude_ft=3000.0,
    oat_degc=None,
    tas_kt=None,
    kappa=0.02,
    u_kappa=0.005,
    dvpc_kt=0.9,
    u_dvpc_kt=0.2,
    dhpc_ft=7.0,
    u_dhpc_ft=2.0,
    wind_speed_kt=None,
    wind_from_deg=None,
    leg_count=4,
    largest_gap_deg=None,
    residual_kt=None,
    duration_s=None,
    degrees_of_freedom=None,
    accepted=True,
    reason="",
    decided_at=MOMENT,
    terms=(
        TermRow("leg scatter", 0.004, False, "A", ""),
        TermRow("outside-air temperature", -0.003, True, "B", ""),
    ),
)


def point(**changes: Any) -> PointRow:
    """Return an invented point."""
    return replace(POINT, **changes)


def describe(store: Store) -> None:
    """Put the invented fleet into a store."""
    with store.writing() as session:
        save_description(session, FLEET)


def many_points(path: Path, count: int) -> None:
    """Write a file of points, a sortie for every ten."""
    lines = [
        "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,"
        "kappa,u_kappa,u_shared_kappa"
    ]
    lines += [
        f"C-{1 + i // 10 % 6:02d},2024-03-05,{i // 10},600,{60 + i % 70},3000,{1e-5 * i:.5f},0.005,0.003"
        for i in range(count)
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
