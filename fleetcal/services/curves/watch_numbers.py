"""The steps and flights of a watch in knots of correction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.fleet.watch import FoundChange, WatchedFlights
from fleetcal.fleet.watched_sizes import FlightLevels, change_band, flight_levels, smallest_found
from fleetcal.services.curves.position_error import CorrectionScale
from fleetcal.services.curves.type_points import curve_of
from fleetcal.services.curves.watch_words import OFF_BY_ITSELF, change_words
from fleetcal.services.curves.watched_flights import SizeRow, WatchedChange, WatchedFlight
from fleetcal.services.curves.watched_series import FlightSeries

#: Airspeeds of a watch are rounded to this, kt.
_ROUND_KT = 5.0


@dataclass(frozen=True)
class WatchNumbers:
    """A watched series, to be shown in knots at airspeeds at reference weight."""

    series: FlightSeries
    found: WatchedFlights
    levels: FlightLevels
    speeds_kt: tuple[float, ...]

    @property
    def middle_kt(self) -> float:
        """Airspeed that flights are compared at."""
        return self.speeds_kt[len(self.speeds_kt) // 2]

    def scatter_kt(self) -> float:
        """Return how much flights scatter beyond what is stated of them."""
        return float(self._at_middle(self.levels.scatter))

    def smallest_found(self) -> tuple[int | None, float | None]:
        """Return how many flights old which step would have been found, kt; None if none."""
        smallest = smallest_found(self.found) if self.found.long_enough else None
        if smallest is None:
            return None, None
        return smallest[0], float(self._at_middle(smallest[1]))

    def changes(self) -> tuple[WatchedChange, ...]:
        """Return the changes that were found."""
        return tuple(self._change(i, one) for i, one in enumerate(self.found.changes))

    def flights(self, changes: Sequence[WatchedChange]) -> tuple[WatchedFlight, ...]:
        """Return every flight against the airframe's own mean before the first change."""
        days, levels = self.series.days, self.levels
        moved = [
            sum(one.middle.change_kt for one in changes if one.first_flight_after <= number)
            for number in range(1, len(days) + 1)
        ]
        own, allowed = (self._at_middle(value) for value in (levels.level, levels.allowed))
        low, high = (self._at_middle(levels.level + side * levels.half) for side in (-1.0, 1.0))
        marks, judged = self._marks(changes), self.found.long_enough
        return tuple(
            WatchedFlight(
                flight=i + 1,
                flown_on=rows[0].flown_on,
                sortie_id=rows[0].sortie_id,
                points=len(rows),
                from_own_kt=float(own[i]),
                low_kt=float(low[i]),
                high_kt=float(high[i]),
                level_kt=float(moved[i]),
                allowed_low_kt=float(moved[i] - allowed[i]) if judged else None,
                allowed_high_kt=float(moved[i] + allowed[i]) if judged else None,
                mark="; ".join(marks[i]),
            )
            for i, rows in enumerate(self.series.flights)
        )

    def _marks(self, changes: Sequence[WatchedChange]) -> list[list[str]]:
        days = self.series.days
        marks: list[list[str]] = [[] for _ in days]
        for one in self.series.known_changes:
            after = [i for i, day in enumerate(days) if day >= one.day]
            if after:
                marks[after[0]].append(f"new {one.what}")
        for change in changes:
            marks[change.first_flight_after - 1].append("changed")
        for i in self.found.odd:
            marks[i].append(OFF_BY_ITSELF)
        return marks

    def _change(self, number: int, one: FoundChange) -> WatchedChange:
        days = self.series.days
        speeds = np.array(self.speeds_kt)
        band = change_band(self.found, number, self._scale.x_at(speeds))
        sizes = [self._in_knots(speeds, value) for value in (band.centre, band.low, band.high)]
        known = [
            c
            for c in self.series.known_changes
            if days[one.earliest - 1] < c.day and c.day <= days[one.latest]
        ]
        change = WatchedChange(
            last_flight_before=one.flight,
            last_day_before=days[one.flight - 1],
            first_flight_after=one.flight + 1,
            first_day_after=days[one.flight],
            perhaps_after_flight=one.earliest,
            perhaps_before_flight=one.latest + 1,
            raised_on=days[one.raised_by],
            sizes=tuple(
                SizeRow(*(float(value) for value in row))
                for row in zip(speeds, *sizes, strict=True)
            ),
            known_change=" and ".join(f"it got a new {c.what} on {c.day}" for c in known),
        )
        sentence = change_words(self.series.airframe, change)
        return WatchedChange(**{**vars(change), "sentence": sentence})

    @property
    def _scale(self) -> CorrectionScale:
        return CorrectionScale(self.series.type.scaling_speed_kt)

    def _at_middle(self, step: Array | float) -> Array:
        return self._in_knots(np.full(np.shape(step), self.middle_kt), np.asarray(step))

    def _in_knots(self, speeds_kt: Array, step: Array) -> Array:
        """Return steps in kappa from the airframe's own curve as knots of correction."""
        about = curve_of(self.levels.curve)
        base = np.asarray(about(np.ravel(self._scale.x_at(speeds_kt)))).reshape(np.shape(speeds_kt))
        moved = self._scale.shown(speeds_kt, base + step, about)
        return np.asarray(moved - self._scale.shown(speeds_kt, base, about))


def numbers_of(series: FlightSeries, found: WatchedFlights) -> WatchNumbers:
    """Return a watched series in knots."""
    weight_kg = series.type.reference_weight_kg
    flown = np.array([row.speed_at(weight_kg) for row in series.rows])
    low = np.ceil(flown.min() / _ROUND_KT) * _ROUND_KT
    high = np.floor(flown.max() / _ROUND_KT) * _ROUND_KT
    middle = np.round(np.median(flown) / _ROUND_KT) * _ROUND_KT
    speeds = sorted({float(v) for v in (low, middle, high) if low <= v <= high})
    return WatchNumbers(series, found, flight_levels(found), tuple(speeds or [float(middle)]))
