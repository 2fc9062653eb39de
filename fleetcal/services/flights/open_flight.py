"""A flight that was read once and is answered again and again while it is looked at.

Reading a log takes longer than solving it, and what people change most, where a leg begins,
leaves out, weighs, does not touch what was read. The samples are kept, and only what
changes how they are read (mapping, airspeed column, declination, temperature, settings)
reads the file again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fleetcal.errors import DataError
from fleetcal.plain_file import text_of
from fleetcal.publish.flight_picture import FlightHistory, FlightPicture
from fleetcal.services.chosen_store import StorePlace, store_at
from fleetcal.services.flights.borrowed_scatter import borrowed_scatter
from fleetcal.services.flights.changed_options import Given
from fleetcal.services.flights.draw_flight import flight_history, flight_picture
from fleetcal.services.flights.flight_sentences import answer_sentences
from fleetcal.services.flights.flight_table import FlightTable, flight_table
from fleetcal.services.flights.hand_choices import ChosenFlight, apply_choices
from fleetcal.services.flights.known_to_store import held_against_store
from fleetcal.services.flights.parts_flown import parts_of
from fleetcal.services.flights.picked_legs import PickedLeg, choices_of, found_legs
from fleetcal.services.flights.prepare_flight import (
    PreparedFlight,
    prepare_flight,
    prepare_preview,
    read_chosen,
    solve_prepared,
)
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduce_flight import reduce_flight
from fleetcal.services.flights.reduce_new_airframe import reduce_new_airframe
from fleetcal.services.flights.reduction import FlightDetails, HandChoices, Reduction
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.speed_answers import SpeedAnswer, speed_answers
from fleetcal.store import Store, find_airframe, find_source, sorties_of_source


@dataclass(frozen=True)
class AnsweredFlight:
    """What a flight says with the legs as they are picked; words are made when they are read."""

    result: Reduction
    picture: FlightPicture

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer, the most important first."""
        return answer_sentences(self.result)

    @property
    def speeds(self) -> tuple[SpeedAnswer, ...]:
        """What was found at each airspeed."""
        return speed_answers(self.result)

    @property
    def table(self) -> FlightTable:
        """The corrections."""
        return flight_table(self.result)


@dataclass(frozen=True, kw_only=True)
class FlownPart:
    """A manoeuvre or stretch that is solved in place of legs; times from the first sample."""

    number: int
    start_s: float
    stop_s: float


@dataclass(frozen=True)
class OpenFlight:
    """A flight at hand: its file, what is said of it, and its samples.

    Attributes:
        details: Without choices. An airframe, if one is named, is one of the store.
        chosen: The flight as it was read.
    """

    path: Path
    details: FlightDetails
    settings: ReductionSettings
    chosen: ChosenFlight

    @property
    def flight(self) -> Flight:
        """The flight as it was read."""
        return self.chosen.flight

    @property
    def found(self) -> tuple[PickedLeg, ...]:
        """The legs that the program found; none of a sheet."""
        return found_legs(self.flight)

    @property
    def history(self) -> FlightHistory | None:
        """Readings against time; None for legs written by hand."""
        recorded = self.flight.recorded
        return None if recorded is None else flight_history(recorded)

    @property
    def parts(self) -> tuple[FlownPart, ...]:
        """What is solved in place of legs, if that is chosen."""
        if self.details.solve_by == "legs":
            return ()
        groups = parts_of(self.flight, self.details)
        return tuple(
            FlownPart(number=number, start_s=float(one.time_s[0]), stop_s=float(one.time_s[-1]))
            for number, flown in groups.items()
            for one in flown
        )

    def changed(
        self, details: FlightDetails, store: Store | None, settings: ReductionSettings | None = None
    ) -> OpenFlight:
        """Return the flight with other details; the file is read again only if that needs it.

        Args:
            store: None where there is none yet.

        Raises:
            DataError: If the file cannot be read that way.
            UnknownNameError: If the airframe is not in the store.
        """
        return _opened(self.path, details, settings or self.settings, store, before=self)

    def choices(self, picked: Sequence[PickedLeg] | None) -> HandChoices:
        """Return what was decided by hand.

        Args:
            picked: All legs as they are picked now; None for those found.

        Raises:
            DataError: If the legs cannot be.
        """
        if picked is None or self.details.solve_by != "legs":
            return HandChoices()
        return choices_of(picked, self.found)

    def solve(
        self, store: Store | None, picked: Sequence[PickedLeg] | None = None
    ) -> AnsweredFlight:
        """Solve the flight with legs as they are picked.

        Args:
            store: None where there is none yet.
            picked: All legs; None for those found.

        Raises:
            DataError: If the legs cannot be, or nothing can be solved.
        """
        details = replace(self.details, choices=self.choices(picked))
        chosen = apply_choices(self.flight, details.choices, details.solve_by, self.settings)
        prepared, borrowed = self._prepared(store, chosen, details)
        result = solve_prepared(prepared, borrowed).result
        if store is not None:
            result = held_against_store(store, result, self.flight.sha256)
        return AnsweredFlight(result, flight_picture(prepared, result))

    def _prepared(
        self, store: Store | None, chosen: ChosenFlight, details: FlightDetails
    ) -> tuple[PreparedFlight, float | None]:
        if store is None or details.airframe is None:
            return prepare_preview(chosen, replace(details, airframe=None), self.settings), None
        with store.reading() as session:
            prepared = prepare_flight(session, chosen, details, self.settings)
            return prepared, borrowed_scatter(session)

    def stored_as(self, store: Store) -> tuple[tuple[str, int], ...]:
        """Return airframe and number of the sorties that this content was stored as."""
        with store.reading() as session:
            source = find_source(session, self.flight.sha256)
            sorties = [] if source is None else sorties_of_source(session, source)
            return tuple((one.airframe, one.sortie_id) for one in sorties)

    def keep(
        self,
        where: StorePlace,
        picked: Sequence[PickedLeg] | None = None,
        *,
        new_airframe: bool = False,
        begin: bool = False,
    ) -> Reduction:
        """Store the flight as the command line would, all or nothing.

        Args:
            where: Place of the store, or the store itself.
            picked: All legs; None for those found.
            new_airframe: Whether the airframe comes into the store with this flight.
            begin: Whether there is no store yet.

        Raises:
            DataError: If no airframe is named, or the flight cannot be stored.
        """
        details = replace(self.details, choices=self.choices(picked))
        if details.airframe is None:
            raise DataError("no airframe was named", "choose the aircraft that flew")
        if new_airframe:
            return reduce_new_airframe(where, self.path, details, self.settings, begin=begin)
        with store_at(where, create=False) as store:
            return reduce_flight(store, self.path, details, self.settings, given=Given(details))


def open_flight(
    path: Path, details: FlightDetails, settings: ReductionSettings, store: Store | None = None
) -> OpenFlight:
    """Read a flight to be looked at.

    Args:
        details: Without choices; the airframe is one of the store, or None.
        store: None where there is none yet.

    Raises:
        DataError: If the file cannot be read.
        UnknownNameError: If the airframe is not in the store.
    """
    return _opened(path, details, settings, store, before=None)


def _opened(
    path: Path,
    details: FlightDetails,
    settings: ReductionSettings,
    store: Store | None,
    before: OpenFlight | None,
) -> OpenFlight:
    air = replace(details.air, of_airframe=None)
    if store is not None and details.airframe is not None:
        with store.reading() as session:
            air = air.on(find_airframe(session, details.airframe))
    details = replace(details, choices=HandChoices(), air=air)
    if before is not None and _reads_alike(details, settings, before):
        return OpenFlight(path, details, settings, before.chosen)
    return OpenFlight(path, details, settings, read_chosen(path, details, settings))


def _reads_alike(details: FlightDetails, settings: ReductionSettings, before: OpenFlight) -> bool:
    """Tell whether the file would be read as it was read before."""
    mapping = before.chosen.mapping
    text = text_of(details.mapping) if details.mapping else None
    then = before.details
    return (
        repr(settings) == repr(before.settings)  # as text: what the log will tell is NaN in them
        and text == (mapping and mapping["text"])
        and details.air == then.air
        and (details.airspeed_from, details.declination_deg, details.heading)
        == (then.airspeed_from, then.declination_deg, then.heading)
    )
