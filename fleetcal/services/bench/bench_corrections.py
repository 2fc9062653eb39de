"""Bench checks at work: the correction of a reading, and what is left uncertain after it.

The newest check not later than the day of the flight is in force. Between its
readings the correction is interpolated; beyond them the end value is kept and
said so, never a line drawn on.

Checks are laid on readings, not on points: what a sortie was given is kept with it, so
withdrawing a check changes no stored point. A check of the indicator is not laid on an
airspeed made from another column.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions, Term
from fleetcal.airdata.instrument_tolerance import (
    AIRSPEED_SOURCE,
    ALTITUDE_SOURCE,
    airspeed_tolerance,
    altimeter_tolerance,
    u_after_check,
)
from fleetcal.services.as_read import INDICATOR, NO_CHECK
from fleetcal.store import BenchCheckRow, Reader, bench_check_in_force
from fleetcal.units import from_si, to_si

UNITS: Final = {"airspeed": "kt", "altimeter": "ft"}
_SLACK: Final = 0.5  # kt or ft: a sample that just reaches past the last reading is no news
_TERMS: Final = {"airspeed": INDICATOR, "altimeter": "altimeter"}
_FIELDS: Final = {"airspeed": "u_airspeed_mps", "altimeter": "u_altitude_m"}
_DAYS_A_MONTH: Final = 365.25 / 12.0
#: The tolerance, and the reading at which drift is reckoned with it.
_TOLERANCES: Final[dict[str, tuple[Callable[[float], Array], float]]] = {
    "airspeed": (airspeed_tolerance, 100.0),
    "altimeter": (altimeter_tolerance, 3000.0),
}
_SOURCES: Final = {"airspeed": AIRSPEED_SOURCE, "altimeter": ALTITUDE_SOURCE}


@dataclass(frozen=True)
class BenchInForce:
    """The bench checks that hold for one flight; None where there is none.

    Attributes:
        day: Of the flight, for what an instrument drifts after its check.
    """

    airspeed: BenchCheckRow | None = None
    altimeter: BenchCheckRow | None = None
    day: date | None = None

    def check(self, kind: str) -> BenchCheckRow | None:
        """Return the check of one kind."""
        return self.airspeed if kind == "airspeed" else self.altimeter

    def corrected(self, kind: str, reading: Array) -> Array:
        """Return readings with their corrections added.

        Args:
            kind: ``airspeed`` or ``altimeter``.
            reading (ndarray, any shape): m/s or m; NaN stays.

        Returns:
            Same shape.
        """
        check = self.check(kind)
        if check is None:
            return reading
        indicated, correction = np.array(check.rows).T
        unit = UNITS[kind]
        shown = np.asarray(from_si(np.asarray(reading, dtype=np.float64), unit))
        return np.asarray(to_si(shown + np.interp(shown, indicated, correction), unit))

    def beyond(self, kind: str, readings: Sequence[Array]) -> str:
        """Return a warning where readings lie outside those checked, or an empty string.

        Args:
            readings: m/s or m.
        """
        check, unit = self.check(kind), UNITS[kind]
        if check is None or not readings:
            return ""
        lowest, highest = check.rows[0][0], check.rows[-1][0]
        low = from_si(min(float(np.nanmin(r)) for r in readings), unit)
        high = from_si(max(float(np.nanmax(r)) for r in readings), unit)
        if lowest <= low + _SLACK and high - _SLACK <= highest:
            return ""
        return (
            f"the {kind} check of {check.checked_on} reaches from {lowest:g} to {highest:g} "
            f"{unit}, readings from {low:.0f} to {high:.0f} {unit}: beyond that its end value is "
            "used"
        )

    def assumptions(self, kinds: Sequence[str], assumed: Assumptions) -> Assumptions:
        """Return assumptions with what is uncertain after the checks in place of the defaults.

        Args:
            kinds: Whose checks were applied.
        """
        found: dict[str, Any] = {
            _FIELDS[kind]: float(to_si(self._u_now(kind, check), UNITS[kind]))
            for kind in kinds
            if (check := self.check(kind)) is not None
        }
        return replace(assumed, **found) if found else assumed

    def _u_now(self, kind: str, check: BenchCheckRow) -> float:
        """Return what is uncertain on the day of the flight, in the unit of the check."""
        months = 0.0 if self.day is None else (self.day - check.checked_on).days / _DAYS_A_MONTH
        tolerance, reading = _TOLERANCES[kind]
        allowed = from_si(float(tolerance(to_si(reading, UNITS[kind]))), UNITS[kind])
        return u_after_check(check.u, float(allowed), months)

    def noted(self, kinds: Sequence[str], terms: Sequence[Term]) -> tuple[Term, ...]:
        """Return terms whose notes say where the instruments' uncertainties come from.

        Args:
            kinds: Whose checks were applied.
        """
        notes = {}
        for kind, name in _TERMS.items():
            check = self.check(kind) if kind in kinds else None
            notes[name] = f"bench check of {check.checked_on}" if check else NO_CHECK
        return tuple(
            replace(t, note=f"{t.note}, {notes[t.name]}".strip(", ")) if t.name in notes else t
            for t in terms
        )

    def notes(self, kinds: Sequence[str], assumed: Assumptions) -> tuple[str, ...]:
        """Return in words what was applied, and what had to be supposed.

        Args:
            kinds: Whose checks were applied.
            assumed: With the uncertainties that were used.
        """
        sentences = []
        for kind, name in _TERMS.items():
            unit = UNITS[kind]
            u = from_si(float(getattr(assumed, _FIELDS[kind])), unit)
            check = self.check(kind) if kind in kinds else None
            if check is not None:
                left = f"u {check.u:.2g} {unit}"
                if u > 1.05 * check.u:
                    left += f", by now {u:.2g} {unit}"
                number = f"number {check.bench_check_id}, {left}"
                sentences.append(
                    f"Bench check of {check.checked_on} ({number}) applied to the {name}."
                )
            else:
                sentences.append(_without_check(kind, float(u)))
        return tuple(sentences)

    def document(self, kinds: Sequence[str]) -> dict[str, Any]:
        """Return what was applied, to be kept with the sortie."""
        kept: dict[str, Any] = {}
        for kind in UNITS:
            check = self.check(kind) if kind in kinds else None
            kept[kind] = None
            if check is not None:
                kept[kind] = {
                    "bench_check_id": check.bench_check_id,
                    "checked_on": check.checked_on.isoformat(),
                    f"u_{UNITS[kind]}": check.u,
                    "rows": [list(row) for row in check.rows],
                }
        return kept


def _without_check(kind: str, u: float) -> str:
    """Say what is taken of an instrument without a bench check."""
    name, unit = _TERMS[kind], UNITS[kind]
    if np.isnan(u):
        tolerance, reading = _TOLERANCES[kind]
        allowed = from_si(float(tolerance(to_si(reading, unit))), unit)
        return (
            f"No bench check applied to the {name}: its tolerance is taken, {allowed:.0f} {unit} "
            f"either way at {reading:.0f} {unit} ({_SOURCES[kind]})."
        )
    return f"No bench check applied to the {name}: u {u:.2g} {unit} supposed."


def bench_in_force(session: Reader, tag: str, day: date) -> BenchInForce:
    """Return the bench checks that hold for a flight.

    Args:
        tag: Of the airframe.
        day: Of the flight.
    """
    return BenchInForce(
        bench_check_in_force(session, tag, "airspeed", day),
        bench_check_in_force(session, tag, "altimeter", day),
        day,
    )
