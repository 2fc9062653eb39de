"""Times of checking the last change of every airframe that changed, as a site does.

``python -m tests.bench.change_checks`` makes stores (SQLite) of 25, 50 and 100 invented
airframes with four sorties of five points each, of which 10, 50 and 100 % changed their engine,
and prints the processor time of all checks held against one reading, of each by itself with a
reading of its own, and the ratio. ``--airframes 25`` makes smaller fleets only.

``--growth`` prints the time of all checks of 25, 50, 100 and 200 airframes that all changed, each
over the time of the one before: 2 is linear. ``once`` flew a single sortie after the change, so
that its side is no repeated fit; ``earlier`` has two sorties in a fit before those compared.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from fleetcal.services.curves.check_change import FlownFits, check_change
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    PropellerDescription,
    StaticSourceDescription,
    Store,
    TypeDescription,
    open_store,
    revise_description,
)

PORT, PROPELLER = "wing boom", "two-blade fixed"
ENGINES = ("100 kW turbo four", "75 kW four")


@dataclass(frozen=True)
class History:
    """When the sorties of every airframe were flown, and its fits began."""

    days: tuple[str, ...]
    fits: tuple[date, ...] = (date(2015, 4, 1), date(2022, 4, 1))


HISTORIES = {
    "twice": History(("2019-03-05", "2020-03-05", "2023-03-05", "2024-03-05")),
    "once": History(("2019-03-05", "2020-03-05", "2021-03-05", "2023-03-05")),
    "earlier": History(
        ("2016-03-05", "2017-03-05", "2019-03-05", "2020-03-05", "2023-03-05", "2024-03-05"),
        (date(2015, 4, 1), date(2018, 4, 1), date(2022, 4, 1)),
    ),
}
REQUEST = PoolRequest(quantity=POSITION_ERROR)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--airframes", type=int, nargs="+")
    parser.add_argument("--growth", action="store_true")
    chosen = parser.parse_args()
    if chosen.growth:
        _print_growth(chosen.airframes or [25, 50, 100, 200])
        return
    print("airframes  changed  one reading  each by itself  ratio")
    for airframes in chosen.airframes or [25, 50, 100]:
        for share in (10, 50, 100):
            with (
                tempfile.TemporaryDirectory() as folder,
                open_store(Path(folder) / "store.sqlite3") as store,
            ):
                tags = _fill(store, Path(folder) / "points.csv", airframes, share)
                once = _seconds(lambda: _all_at_once(store, tags))  # noqa: B023 - called at once
                alone = _seconds(lambda: _one_by_one(store, tags))  # noqa: B023
            print(
                f"{airframes:9d}  {share:5d} %  {once:9.2f} s  {alone:12.2f} s  {alone / once:5.1f}"
            )


def _all_at_once(store: Store, tags: list[str]) -> None:
    fits = FlownFits(POSITION_ERROR.read(store, REQUEST))
    for tag in tags:
        fits.check([tag])


def _one_by_one(store: Store, tags: list[str]) -> None:
    for tag in tags:
        check_change(store, [tag], REQUEST)


def _seconds(act: Callable[[], None]) -> float:
    start = time.process_time()
    act()
    return time.process_time() - start


def _print_growth(sizes: list[int]) -> None:
    print("flown    airframes  all checks  over the one before")
    for kind in HISTORIES:
        before = None
        for airframes in sizes:
            with (
                tempfile.TemporaryDirectory() as folder,
                open_store(Path(folder) / "store.sqlite3") as store,
            ):
                tags = _fill(store, Path(folder) / "points.csv", airframes, 100, HISTORIES[kind])
                _all_at_once(store, tags[:2])
                took = min(_seconds(lambda: _all_at_once(store, tags)) for _ in range(3))  # noqa: B023
            ratio = "" if before is None else f"{took / before:5.1f}"
            print(f"{kind:8} {airframes:9d}  {took:8.2f} s  {ratio}", flush=True)
            before = took


def _fill(
    store: Store, path: Path, airframes: int, share: int, history: History = HISTORIES["twice"]
) -> list[str]:
    """Fill a store and return the airframes that changed."""
    changed = [n for n in range(airframes) if n * share // 100 != (n + 1) * share // 100]
    with store.writing() as session:
        revise_description(session, _fleet(airframes, changed, history.fits))
    rng = np.random.default_rng(5)
    lines = ["airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"]
    for number in range(airframes):
        level = 0.01 * rng.normal()
        for day in history.days:
            together = 0.004 * rng.normal()
            for speed in (65.0, 80.0, 95.0, 110.0, 125.0):
                kappa = level + 0.1 * ((45.0 / speed) ** 2 - 0.25) + together
                kappa += 0.006 * rng.normal()
                lines.append(f"C-{number:03d},{day},600,{speed},3500,{kappa:.6f},0.0072,0.004")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    import_points(store, path)
    return [f"C-{number:03d}" for number in changed]


def _fleet(airframes: int, changed: list[int], fits: tuple[date, ...]) -> FleetDescription:
    kind = TypeDescription(
        name="Corrie 2",
        reference_weight_kg=600.0,
        scaling_speed_kt=45.0,
        static_sources=(StaticSourceDescription(PORT),),
    )
    return FleetDescription(
        types=(kind,),
        engines=ENGINES,
        propellers=(PropellerDescription(PROPELLER),),
        airframes=tuple(
            AirframeDescription(
                tag=f"C-{number:03d}",
                type=kind.name,
                fits=_fits(fits if number in changed else fits[:1]),
            )
            for number in range(airframes)
        ),
    )


def _fits(days: tuple[date, ...]) -> tuple[FitDescription, ...]:
    return tuple(
        FitDescription(
            from_date=day, static_source=PORT, engine=ENGINES[place % 2], propeller=PROPELLER
        )
        for place, day in enumerate(days)
    )


if __name__ == "__main__":
    main()
