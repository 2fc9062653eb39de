"""What is asked of the reduction of a flight, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from fleetcal.records import GPS_LEGS, GPS_MANOEUVRE, ORDINARY_FLIGHT
from fleetcal.services.flights.air_taken import NOTHING_STATED, StatedAir
from fleetcal.services.flights.chosen_legs import LegList
from fleetcal.services.flights.run_lines import LegLine, RunLine
from fleetcal.services.repeated_flight import NOTHING
from fleetcal.store import FlownFlight

#: What of a flight is solved, and the technique of its points: straight legs, every sample of
#: steady turns and boxes, or the entire flight at the airspeeds it was flown at.
SOLVED_BY: Final = {
    "legs": GPS_LEGS,
    "manoeuvres": GPS_MANOEUVRE,
    "flight": ORDINARY_FLIGHT,
}


def solved_by(technique: str) -> str:
    """Return what was solved in a flight whose points are of a technique."""
    return next((word for word, own in SOLVED_BY.items() if own == technique), "legs")


@dataclass(frozen=True)
class HandChoices:
    """What somebody decided about legs and runs, against what the program found.

    Attributes:
        drop: Run and leg to leave out.
        keep: Only these runs are solved; all if empty.
        leg_list: File with a list of legs to use in place of those found.
        legs: Such a list as values.
    """

    drop: tuple[tuple[int, int], ...] = ()
    keep: tuple[int, ...] = ()
    leg_list: Path | None = None
    legs: LegList | None = None

    @property
    def any(self) -> bool:
        """Whether anything was decided."""
        return bool(self.drop or self.keep or self.leg_list or self.legs)


@dataclass(frozen=True, kw_only=True)
class FlightDetails:
    """What the file does not say about a flight.

    Attributes:
        airframe: Tag; None only for a preview.
        weight_kg: The same for all runs. The type's reference weight is taken, with a warning, when
            neither this nor a take-off weight is given.
        flown_on: Overrides the date in the file.
        airspeed_from: Which airspeed of the file to use.
        declination_deg: Added to magnetic tracks to make them true, deg, east positive.
        heading: ``used`` where the log's heading is to tell the wind across it, else ``ignored``.
        solve_by: What of the flight is solved, a key of `SOLVED_BY`.
        takeoff_weight_kg: From which the fuel used is taken off, run by run.
        fuel_used_kg_per_h: Constant rate from take-off on; the log's fuel flow when None.
        mapping: File that says what the headings of the log do not.
        keep_log: Whether the log itself is kept in the store.
        air: What is said of temperature and humidity outside the file.
        repeat: What it is where the store seems to have it from another file; one of `REPEATS`.
    """

    airframe: str | None
    weight_kg: float | None = None
    flown_on: date | None = None
    flap_setting: str = "up"
    airspeed_from: str | None = None
    note: str = ""
    declination_deg: float | None = None
    heading: str = "ignored"
    solve_by: str = "legs"
    takeoff_weight_kg: float | None = None
    fuel_used_kg_per_h: float | None = None
    choices: HandChoices = HandChoices()
    mapping: Path | None = None
    keep_log: bool = False
    air: StatedAir = NOTHING_STATED
    repeat: str = NOTHING


@dataclass(frozen=True)
class RefusedRun:
    """Legs that were not solved, and why."""

    run: int
    leg_count: int | None
    reason: str


@dataclass(frozen=True)
class OtherOption:
    """An option that is given otherwise than it is stored.

    Attributes:
        option: As it is written on the command line, with the setting within a file.
        words: What asks for it when the flight is reduced again; empty if nothing can.
    """

    option: str
    stored: str
    given: str
    words: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Reduction:
    """Result of reducing one flight.

    Attributes:
        airframe, source, flown_on, flap_setting: What was reduced.
        weight_kg: The mean over the runs, each of which has its own.
        track_reference: North that tracks and wind directions count from, as far as known.
        airspeed_from: Column that the airspeed was taken from; None when nothing was reduced.
        legs_found: None when nothing was reduced.
        legs: Of the solved runs.
        known_already: The same content was in the store; nothing was added.
        notes: Which bench checks were applied, and what had to be supposed.
        pitot: What an error of the pitot would do at the fastest run.
        yardstick: The results beside limits that rules have had, for information.
        source_kind: ``log`` or ``leg_sheet``.
        choices: What was decided by hand, in words.
        other_legs: Of runs refused, and legs left out by hand.
        points_known: Points of the sortie that is in the store already.
        figure: File that the figure was written to; empty when none was asked for.
        wind: How the wind changed over the flight, and which runs do not join the others; these are
            among the warnings too.
        asked_otherwise: What is given now and differs from what the flight is stored with.
        again_words: What reduces it again as it is asked now, after the program's name.
        doubts: What somebody could settle by a word or a bench check, in short sentences; the notes
            say more of it.
        replaced: Which stored flights it took the place of, in sentences.
    """

    airframe: str | None
    source: str
    flown_on: date | None
    weight_kg: float | None
    flap_setting: str
    technique: str
    track_reference: str
    airspeed_from: str | None
    legs_found: int | None
    legs: tuple[LegLine, ...]
    runs: tuple[RunLine, ...]
    refused: tuple[RefusedRun, ...]
    warnings: tuple[str, ...]
    stored: bool
    known_already: bool
    sortie_id: int | None
    notes: tuple[str, ...] = ()
    yardstick: str = ""
    pitot: str = ""
    source_kind: str = "log"
    choices: tuple[str, ...] = ()
    other_legs: tuple[LegLine, ...] = ()
    points_known: int = 0
    figure: str = ""
    wind: tuple[str, ...] = ()
    asked_otherwise: tuple[OtherOption, ...] = ()
    again_words: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()

    def flown(self, day_in_file: date | None) -> FlownFlight:
        """Return what tells the flight from others; it has an airframe and a day."""
        assert self.airframe is not None
        assert self.flown_on is not None
        return FlownFlight(
            airframe=self.airframe,
            flown_on=self.flown_on,
            is_dated=self.flown_on == day_in_file,
            track_reference=self.track_reference,
            legs=self.legs,
            points=self.runs,
        )

    @property
    def every_leg(self) -> tuple[LegLine, ...]:
        """All legs found, solved or not, by run and number."""
        return tuple(sorted((*self.legs, *self.other_legs), key=lambda line: (line.run, line.leg)))
