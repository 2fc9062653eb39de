"""Put a fleet description into the store, and take it out again."""

from __future__ import annotations

from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from fleetcal.errors import DataError, StoreError
from fleetcal.services.chosen_store import StorePlace
from fleetcal.services.fleet.fleet_file import fleet_document
from fleetcal.services.fleet.given_fleet import GivenFleet, read_fleet
from fleetcal.services.plain_table import Tell, silent
from fleetcal.store import (
    FleetDescription,
    SaveCounts,
    Store,
    find_airframe,
    load_cruise_tables,
    load_description,
    open_store,
    revise_description,
)
from fleetcal.store.exchange.collect_entries import described
from fleetcal.store.exchange.keep_replaced import keep_replaced

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class FleetLoaded:
    """What loading a fleet file did.

    Attributes:
        added, changed, unchanged: Types, static sources, engines, propellers, airframes, fits,
            handbook tables.
        store: How the store is called.
        supposed: What a spreadsheet leaves open and what was taken instead, in sentences.
    """

    file: str
    added: int
    changed: int
    unchanged: int
    store: str
    supposed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FitLine:
    """One fit of one airframe, as it is listed."""

    airframe: str
    type: str
    from_date: date | None
    static_source: str
    engine: str
    propeller: str
    pitot: str
    note: str
    temperature_shows: str = ""
    recovery_factor: float | None = None


@dataclass(frozen=True)
class FleetShown:
    """The fleet in the store.

    Attributes:
        fits: By airframe and date; an airframe without a fit has one empty line.
    """

    types: tuple[str, ...]
    fits: tuple[FitLine, ...]


def load_fleet(where: StorePlace, path: Path, tell: Tell = silent) -> FleetLoaded:
    """Put a fleet file into the store, all or nothing; begin the store if there is none.

    Args:
        where: Place of the store, or the store itself.
        path: TOML, or a spreadsheet saved as CSV.
        tell: Called with how a spreadsheet was read.

    Raises:
        DataError: If the file is wrong, or contradicts what sorties were flown with; then no store
            is begun either.
    """
    given = read_fleet(path, tell)
    with _opened_or_begun(where, given, path.name) as store:
        counts, supposed = _save(store, given, path.name)
        return FleetLoaded(
            file=path.name,
            added=counts.added,
            changed=counts.changed,
            unchanged=counts.unchanged,
            store=store.label,
            supposed=supposed,
        )


def _opened_or_begun(
    where: StorePlace, given: GivenFleet, name: str
) -> AbstractContextManager[Store]:
    """Open the store; before one is begun, try the description on one that is thrown away."""
    if isinstance(where, Store):
        return nullcontext(where)
    try:
        return open_store(where, create=False)
    except StoreError as error:
        if type(error) is not StoreError:  # it is there, but is not to be used
            raise
    with (
        TemporaryDirectory() as folder,
        open_store(Path(folder) / "trial.sqlite3") as trial,
    ):
        _save(trial, given, name)
    return open_store(where)


def _save(store: Store, given: GivenFleet, name: str) -> tuple[SaveCounts, tuple[str, ...]]:
    def work(session: Session) -> tuple[SaveCounts, tuple[str, ...]]:
        found = given(load_description(session))
        return revise_description(session, found.description), found.supposed

    try:
        return store.write(work)
    except DataError as error:
        message = error.message.removeprefix(f"{name}, ")
        joint = ", " if message != error.message else ": "
        raise type(error)(f"{name}{joint}{message}", error.hint) from error


def set_thermometer(
    store: Store, tag: str, shows: str | None, recovery_factor: float | None
) -> str:
    """Say what the temperature display of an airframe shows.

    Args:
        shows: ``ambient``, ``probe``, or None if it is not known.
        recovery_factor: Of a probe.

    Returns:
        What it is now, in words.

    Raises:
        UnknownNameError: If the airframe is not in the store.
    """

    def work(session: Session) -> bool:
        row = find_airframe(session, tag)
        before = described(load_description(session))
        earlier = (row.temperature_shows, row.recovery_factor)
        row.temperature_shows, row.recovery_factor = shows, recovery_factor
        session.flush()
        after = described(load_description(session))
        keep_replaced(session, before, after, "another temperature display")
        return earlier == (shows, recovery_factor)

    same = ", as before" if store.write(work) else ""
    return f"{_thermometer_words(shows, recovery_factor)}{same}"


def _thermometer_words(shows: str | None, recovery_factor: float | None) -> str:
    if shows is None:
        return "not known what the temperature shows"
    if shows == "ambient":
        return "temperature shows outside temperature"
    known = "usual recovery" if recovery_factor is None else f"recovery factor {recovery_factor:g}"
    return f"temperature shows what a probe of {known} feels"


def show_fleet(store: Store) -> FleetShown:
    """Return the airframes and their fits."""
    description = _description(store)
    lines = []
    for airframe in description.airframes:
        for fit in airframe.fits:
            lines.append(
                FitLine(
                    airframe=airframe.tag,
                    type=airframe.type,
                    from_date=fit.from_date,
                    static_source=fit.static_source,
                    engine=fit.engine,
                    propeller=fit.propeller,
                    pitot=fit.pitot,
                    note=fit.note,
                    temperature_shows=airframe.temperature_shows or "unknown",
                    recovery_factor=airframe.recovery_factor,
                )
            )
        if not airframe.fits:
            empty = FitLine(
                airframe=airframe.tag,
                type=airframe.type,
                from_date=None,
                static_source="",
                engine="",
                propeller="",
                pitot="",
                note=airframe.note,
            )
            shows, factor = airframe.temperature_shows, airframe.recovery_factor
            lines.append(
                replace(empty, temperature_shows=shows or "unknown", recovery_factor=factor)
            )
    return FleetShown(tuple(t.name for t in description.types), tuple(lines))


def fleet_toml(store: Store) -> str:
    """Return the fleet in the store as the text of a fleet file.

    Returns:
        Loading it again changes nothing.
    """
    import tomli_w

    return tomli_w.dumps(fleet_document(_description(store)))


def _description(store: Store) -> FleetDescription:
    with store.reading() as session:
        return replace(load_description(session), cruise_tables=load_cruise_tables(session))
