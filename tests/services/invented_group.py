"""A small invented fleet for the services' tests, described and with points as values."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PropellerDescription,
    StaticSourceDescription,
    Store,
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
# Six carry the wing boom; C-01 was given another engine, C-06 still has the older source.
OLD = FitDescription(from_date=date(2015, 4, 1), static_source=WING, engine=FOUR, propeller=FIXED)
FITS = dict.fromkeys(range(1, 8), (OLD,)) | {
    1: (
        OLD,
        FitDescription(
            from_date=date(2022, 3, 1),
            static_source=WING,
            engine=TURBO,
            propeller=FIXED,
            pitot="nose",
            note="new engine",
        ),
    ),
    6: (
        FitDescription(
            from_date=date(2015, 4, 1), static_source=TAIL, engine=FOUR, propeller=FIXED
        ),
    ),
}
FLEET = FleetDescription(
    types=(TYPE,),
    engines=(TURBO, FOUR),
    propellers=(PropellerDescription(FIXED),),
    airframes=tuple(
        AirframeDescription(
            tag=f"C-{number:02d}",
            type="Corrie 2",
            note="invented",
            fits=FITS[number],
        )
        for number in FITS
    ),
    handbooks=(
        HandbookDescription(
            type="Corrie 2",
            static_source=WING,
            flap_setting="up",
            name="first",
            weight_kg=600.0,
            rows=((60.0, 61.0),),
        ),
    ),
)


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
        f"C-{1 + i // 10 % 5:02d},2024-03-05,{i // 10},600,{60 + i % 70},3000,"
        f"{1e-5 * i:.5f},0.005,0.003"
        for i in range(count)
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def flown_points(path: Path, tags: list[str], day: str = "2021-03-05") -> None:
    """Write a file of three points for each airframe, with a shared term of its own size."""
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    lines += [
        f"{tag},{day},{540 + 10 * number},{speed},3000,{0.01 * number:.3f},0.006,{shared}"
        for number, tag in enumerate(tags)
        for speed, shared in ((70, 0.004), (95, 0.003), (120, 0.002))
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
