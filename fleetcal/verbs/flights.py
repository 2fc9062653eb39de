"""The verb that reduces a recorded flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fleetcal.errors import DataError
from fleetcal.verbs.answer import DrawnAnswer, cautioned, doubts_and_notes
from fleetcal.verbs.checked import Day, day_of
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from pandas import DataFrame

    from fleetcal.services.flights.draw_flight import FlightOutlet
    from fleetcal.services.flights.reduction import FlightDetails, Reduction

_NOTABLE: Final = (
    *("run", "vic_kt", "dvpc_kt", "U95_as_read_kt", "tas_kt", "dhpc_ft", "U95_dhpc_ft"),
    *("wind_speed_kt", "wind_from_deg", "accepted"),
)


@dataclass(frozen=True, kw_only=True, repr=False)
class FlightAnswer(DrawnAnswer["Reduction"]):
    """What a flight says; `frame` has a row a run."""

    def legs(self) -> DataFrame:
        """Return every leg that was found, solved or not, as the command prints them as CSV."""
        from fleetcal.verbs.frames import result_frame

        return result_frame(self.result, "every_leg")


def reduce(
    log: str | Path,
    *,
    airframe: str | None = None,
    store: StorePlace = None,
    new_airframe: bool = False,
    weight_kg: float | None = None,
    takeoff_weight_kg: float | None = None,
    fuel_used_kg_per_h: float | None = None,
    date: Day | None = None,
    flap_setting: str = "up",
    note: str = "",
    mapping: str | Path | None = None,
    airspeed_from: str | None = None,
    declination_deg: float | None = None,
    oat_degc: float | None = None,
    altimeter_setting: float | None = None,
    temperature_shows: str | None = None,
    recovery_factor: float | None = None,
    humidity_pct: float | None = None,
    dew_point_degc: float | None = None,
    settings: str | Path | None = None,
    keep_log: bool = False,
    heading: str = "ignored",
    solve_by: str = "legs",
    drop: Sequence[tuple[int, int]] = (),
    keep: Sequence[int] = (),
    legs: str | Path | None = None,
    another_flight: bool = False,
) -> FlightAnswer:
    """Say how far the airspeed and altimeter readings of a recorded flight are off.

    Nothing is stored unless both an airframe and a store are given.

    Args:
        log: A log with headings, or a table of legs written by hand.
        store: Where the flight is kept, with the equipment that was fitted that day.
        new_airframe: Add the airframe, and begin the store, if they are not there.
        weight_kg: The same for all runs; or `takeoff_weight_kg`, less the fuel used until each.
        date, oat_degc: Day, and temperature read at the height flown, if the log has none.
        altimeter_setting: hPa, or below 100 inches of mercury, if altitudes go by it.
        temperature_shows: ``ambient`` or ``probe``.
        heading: ``used`` lets a logged heading tell the wind across it; else ``ignored``.
        solve_by: ``legs``, ``manoeuvres``, or ``flight`` if nobody flew legs.
        drop, keep: Legs to leave out, each (run, leg); runs to solve, all if empty.
        legs: CSV file that says where the legs are (run, start_s, stop_s).
        another_flight: Keep it though it looks like a flight stored from another file.

    Returns:
        Its `frame` has a row a run: ``vic_kt`` as read, ``dvpc_kt`` and ``dhpc_ft`` to be added to
        the readings, ``U95_as_read_kt`` at 95 %, wind, true airspeed. `legs` has the legs.

    Raises:
        DataError: If the log cannot be read or gives no run, or an argument cannot be meant.
        StoreError: If the store is not there or cannot be written.

    Example:
        >>> fleetcal.reduce("flight.csv", weight_kg=580).frame()[["vic_kt", "dvpc_kt"]]
    """
    from fleetcal.services.flights.reduction import FlightDetails, HandChoices
    from fleetcal.services.repeated_flight import ANOTHER, NOTHING
    from fleetcal.verbs.flight_given import checked_flight, given_air

    details = FlightDetails(
        airframe=airframe,
        weight_kg=weight_kg,
        flown_on=day_of("date", date),
        flap_setting=flap_setting,
        airspeed_from=airspeed_from,
        note=note,
        declination_deg=declination_deg,
        heading=heading,
        solve_by=solve_by,
        takeoff_weight_kg=takeoff_weight_kg,
        fuel_used_kg_per_h=fuel_used_kg_per_h,
        choices=HandChoices(tuple(drop), tuple(keep), None if legs is None else Path(legs)),
        mapping=None if mapping is None else Path(mapping),
        keep_log=keep_log,
        repeat=ANOTHER if another_flight else NOTHING,
        air=given_air(
            temperature_shows=temperature_shows,
            recovery_factor=recovery_factor,
            humidity_pct=humidity_pct,
            dew_point_degc=dew_point_degc,
            oat_degc=oat_degc,
            altimeter_setting=altimeter_setting,
        ),
    )
    return _answer(Path(log), checked_flight(details), settings, store, new_airframe)


def _answer(
    log: Path,
    details: FlightDetails,
    settings: str | Path | None,
    store: StorePlace,
    new_airframe: bool,
) -> FlightAnswer:
    from fleetcal.services.drawings import FlightPicture, flight_drawing
    from fleetcal.services.flights.flight_sentences import answer_sentences, doubt_sentences
    from fleetcal.services.flights.flight_title import already_kept

    if log.is_dir():
        raise DataError(
            f"{log.name} is a folder", "give one log; 'reduce_folder' takes a folder of them"
        )
    pictures: list[FlightPicture] = []
    file = None if settings is None else Path(settings)
    if new_airframe:
        found = _with_airframe(log, details, file, store, pictures.append)
    elif store is None or details.airframe is None:
        found = _preview(log, details, file, pictures.append)
    else:
        found = _kept(log, details, file, store, pictures.append)
    known = found.known_already
    return FlightAnswer(
        result=found,
        sentences=(already_kept(found),) if known else answer_sentences(found),
        rows_in="runs",
        notable=_NOTABLE,
        warnings=doubts_and_notes(found.warnings, () if known else doubt_sentences(found)),
        caution=cautioned() if found.runs else "",
        drawing=(lambda: flight_drawing(pictures[0])) if pictures else None,
    )


def _preview(
    log: Path, details: FlightDetails, settings: Path | None, outlet: FlightOutlet
) -> Reduction:
    from fleetcal.services.flights.reduce_flight import preview_flight
    from fleetcal.services.flights.settings_file import read_settings

    return preview_flight(log, details, read_settings(settings), outlet)


def _kept(
    log: Path,
    details: FlightDetails,
    settings: Path | None,
    store: StorePlace,
    outlet: FlightOutlet,
) -> Reduction:
    from fleetcal.services.flights.reduce_flight import Given, reduce_flight
    from fleetcal.services.flights.settings_file import read_settings

    used = read_settings(settings)
    given = Given(details, None, used if settings else None, settings)
    with opened(store, "reduce") as one:
        return reduce_flight(one, log, details, settings=used, figure=outlet, given=given)


def _with_airframe(
    log: Path,
    details: FlightDetails,
    settings: Path | None,
    store: StorePlace,
    outlet: FlightOutlet,
) -> Reduction:
    """Keep a flight, and its airframe first if it is not known."""
    from fleetcal.services.chosen_store import acting_as
    from fleetcal.services.fleet.new_airframe import look_for_tag, refuse_bad_tag, refuse_same_tag
    from fleetcal.services.flights.reduce_new_airframe import reduce_new_airframe
    from fleetcal.services.flights.settings_file import read_settings

    tag = details.airframe
    if tag is None or not isinstance(store, str | Path):
        raise DataError(
            "new_airframe=True needs to know whom to add, and to which store",
            "give airframe, and store as a path or an address",
        )
    found = look_for_tag(store, tag)
    if found.known:
        return _kept(log, details, settings, store, outlet)
    refuse_bad_tag(tag)
    refuse_same_tag(tag, found.same_as)
    acting_as("reduce")
    return reduce_new_airframe(
        store, log, details, read_settings(settings), outlet, begin=not found.store
    )
