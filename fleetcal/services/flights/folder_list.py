"""Which flights of a folder are to be reduced, and what is known of each."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from fleetcal.errors import DataError, MissingColumnError
from fleetcal.services.flights.air_taken import StatedAir, stated_air
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.plain_table import Tell, read_plain_table, silent
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_words import columns_named
from fleetcal.services.units_shown import setting_hpa

#: Columns of a list of flights; only the first must be there.
LIST_COLUMNS: Final = (
    "file",
    "airframe",
    "weight_kg",
    "date",
    "takeoff_weight_kg",
    "fuel_used_kg_per_h",
    "humidity_pct",
    "dew_point_degc",
    "oat_degc",
    "altimeter_setting",
    "flap_setting",
    "note",
)
_WEIGHTS: Final = ("weight_kg", "takeoff_weight_kg", "fuel_used_kg_per_h")


@dataclass(frozen=True)
class FolderFlight:
    """One flight to be reduced.

    Attributes:
        name: Of the file, below the folder.
    """

    name: str
    path: Path
    details: FlightDetails


def flights_in_folder(
    folder: Path, details: FlightDetails, leave_out: Collection[Path] = ()
) -> tuple[FolderFlight, ...]:
    """Return every file of a folder as a flight of one airframe.

    Args:
        details: The same for all of them.
        leave_out (collection of Path): Files that are no flights, such as the store itself.

    Returns:
        By name; folders in it and hidden files are left out.

    Raises:
        DataError: If the folder cannot be read or has no file.
    """
    others = {path.resolve() for path in leave_out}
    try:
        found = sorted(path for path in folder.iterdir() if path.is_file())
    except OSError as error:
        raise DataError(f"{folder}: {error.strerror}", "name a folder with logs") from error
    flights = tuple(
        FolderFlight(path.name, path, details)
        for path in found
        if not path.name.startswith(".") and path.resolve() not in others
    )
    if not flights:
        raise DataError(f"{folder}: there is no file in it", "name a folder with logs")
    return flights


def flights_on_list(
    folder: Path, list_file: Path, details: FlightDetails, tell: Tell = silent
) -> tuple[FolderFlight, ...]:
    """Return the flights that a list names.

    Args:
        folder: That the files are in.
        list_file: CSV with columns of `LIST_COLUMNS`.
        details: What holds where a cell is empty.
        tell: Called with how the list was read, if it is not written in the usual way.

    Returns:
        In the order of the list.

    Raises:
        DataError: If the list is wrong; the message names line and column.
    """
    table = read_plain_table(list_file, columns_named(LIST_COLUMNS), tell)
    if "file" not in table.headings:
        raise MissingColumnError(
            f"{table.name}: no column file", f"columns are {', '.join(LIST_COLUMNS)}"
        )
    flights: dict[str, FolderFlight] = {}
    for line in table.rows:
        name = line.text("file")
        if not name:
            raise line.wrong("the cell is empty", "name a file of the folder", "file")
        if name in flights:
            raise line.wrong(f"{name} is listed twice", "give it one row", "file")
        flights[name] = FolderFlight(name, folder / name, _details(line, details))
    return tuple(flights.values())


def _details(line: FileRow, given: FlightDetails) -> FlightDetails:
    airframe = line.text("airframe") or given.airframe
    if not airframe:
        raise line.wrong("no airframe", "write its tag, or give --airframe", "airframe")
    weights = {name: line.number(name) for name in _WEIGHTS}
    for name, value in weights.items():
        if value is not None and value <= 0.0:
            raise line.wrong(f"{value:g} is not above zero", "correct the cell", name)
    if weights["weight_kg"] is not None and weights["takeoff_weight_kg"] is not None:
        raise line.wrong(
            "a weight and a take-off weight are both given", "give one of them", "takeoff_weight_kg"
        )
    if weights["fuel_used_kg_per_h"] is not None and weights["takeoff_weight_kg"] is None:
        raise line.wrong("fuel used without a take-off weight", "give both", "fuel_used_kg_per_h")
    if weights["weight_kg"] is None and weights["takeoff_weight_kg"] is None:
        weights["weight_kg"] = given.weight_kg
    return replace(
        given,
        weight_kg=weights["weight_kg"],
        takeoff_weight_kg=weights["takeoff_weight_kg"],
        fuel_used_kg_per_h=weights["fuel_used_kg_per_h"],
        airframe=airframe,
        flown_on=line.day("date") if line.text("date") else given.flown_on,
        flap_setting=line.text("flap_setting", given.flap_setting),
        note=line.text("note", given.note),
        air=_noted(line, _air(line, given.air)),
    )


def _noted(line: FileRow, given: StatedAir) -> StatedAir:
    """Return what is said of the air, with what the row has noted in the place of a column."""
    degrees, setting = line.number("oat_degc"), line.number("altimeter_setting")
    if degrees is not None and not -60.0 <= degrees <= 60.0:
        raise line.wrong(f"{degrees:g} is not within -60 to 60", "correct it", "oat_degc")
    if degrees is not None:
        given = replace(given, temperature_k=stated_air(oat_degc=degrees).temperature_k)
    if setting is not None:
        hpa = setting_hpa(setting)
        if hpa is None:
            hint = "write it in hPa or in inches of mercury: 1013 or 29.92"
            raise line.wrong(f"{setting:g} is no altimeter setting", hint, "altimeter_setting")
        given = replace(given, setting_pa=stated_air(altimeter_setting=hpa).setting_pa)
    return given


def _air(line: FileRow, given: StatedAir) -> StatedAir:
    """Return what is said of the air, with the humidity of the row if it has one."""
    humidity, dew_point = line.number("humidity_pct"), line.number("dew_point_degc")
    if humidity is None and dew_point is None:
        return given
    if humidity is not None and dew_point is not None:
        raise line.wrong(
            "a humidity and a dew point are both given", "give one of them", "dew_point_degc"
        )
    if humidity is not None and not 0.0 <= humidity <= 100.0:
        raise line.wrong(f"{humidity:g} is not within 0 to 100", "correct it", "humidity_pct")
    if dew_point is not None and not -80.0 <= dew_point <= 40.0:
        raise line.wrong(f"{dew_point:g} is not within -80 to 40", "correct it", "dew_point_degc")
    stated = stated_air(humidity_pct=humidity, dew_point_degc=dew_point)
    share, dew_k = stated.relative_humidity, stated.dew_point_k
    return replace(given, relative_humidity=share, dew_point_k=dew_k)
