"""The runs that a list of legs makes of a recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.flightlog import LegSettings
from fleetcal.services.flights.chosen_legs import ChosenLeg, LegList
from fleetcal.services.flights.cut_legs import Recorded, cut_leg
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import GroupedLegs
from fleetcal.services.flights.turns_flown import turns_between
from fleetcal.units import from_si

#: What a leg is called over which something drifts.
UNSTEADY: Final = "not a steady leg"
_SLACK_S: Final = 1e-6  # times come back from text


@dataclass(frozen=True)
class ListedLegs:
    """Runs as a list of legs has them.

    Attributes:
        runs: By number.
        warnings: Legs that are not steady, and how the list was read if in no usual form.
        document: Name, content and digest of the list, to be kept with the sortie.
    """

    runs: tuple[GroupedLegs, ...]
    warnings: tuple[str, ...]
    document: dict[str, Any]


@dataclass(frozen=True)
class _Span:
    leg: ChosenLeg
    start: int
    stop: int


def listed_legs(
    chosen: LegList, recorded: Recorded, settings: LegSettings, found: Sequence[FlownLeg]
) -> ListedLegs:
    """Cut the legs of a list out of a recording.

    Args:
        settings: For the fewest samples of a leg, and for what counts as steady.
        found: Legs that were found in the recording.

    Raises:
        DataError: If a leg lies outside the log or has too few samples, or two legs overlap.
    """
    spans = sorted(
        (_span(leg, chosen, recorded) for leg in chosen.legs), key=lambda span: span.start
    )
    for before, after in pairwise(spans):
        if after.start < before.stop:
            what = f"the leg overlaps the one of {before.leg.place or before.leg.where}"
            raise chosen.wrong(after.leg, what, "give each sample one leg")
    legs: dict[int, list[FlownLeg]] = {}
    warnings = list(chosen.understood)
    for span in spans:
        legs.setdefault(span.leg.run, []).append(_leg(span, chosen, recorded, settings))
        doubt = _unsteady(span, recorded, settings)
        warnings += [chosen.wrong(span.leg, doubt, "").message] if doubt else []
    runs = tuple(
        GroupedLegs(
            legs=tuple(legs[number]),
            refusal="",
            flap_setting=None,
            number=number,
            turns=turns_between(recorded, legs[number], found),
        )
        for number in sorted(legs)
    )
    cut = [
        ChosenLeg(run=run.number, start_s=leg.start_s or 0.0, stop_s=leg.stop_s or 0.0)
        for run in runs
        for leg in run.legs
    ]
    return ListedLegs(runs, tuple(warnings), chosen.document(cut))


def _span(leg: ChosenLeg, chosen: LegList, recorded: Recorded) -> _Span:
    last = float(recorded.t_s[-1])
    if not -_SLACK_S <= leg.start_s < leg.stop_s <= last + 1.0:
        raise chosen.wrong(
            leg,
            f"a leg from {leg.start_s:g} to {leg.stop_s:g} s is not within the {last:.0f} s of "
            f"{recorded.source_name}",
            "count seconds from the first sample, start before stop",
        )
    start = int(np.searchsorted(recorded.t_s, leg.start_s - _SLACK_S))
    stop = int(np.searchsorted(recorded.t_s, leg.stop_s + _SLACK_S))
    return _Span(leg, start, stop)


def _leg(span: _Span, chosen: LegList, recorded: Recorded, settings: LegSettings) -> FlownLeg:
    few = f"fewer than {settings.fewest_samples} samples"
    if span.stop - span.start < settings.fewest_samples:
        raise chosen.wrong(span.leg, few, "make the leg longer")
    leg = cut_leg(recorded, span.start, span.stop)
    if leg.samples < settings.fewest_samples:
        raise chosen.wrong(span.leg, f"{few} with all readings", "make the leg longer")
    return leg


def _unsteady(span: _Span, recorded: Recorded, settings: LegSettings) -> str:
    """Say what drifts over a leg by more than would be taken for steady."""
    part = slice(span.start, span.stop)
    t = recorded.t_s[part]
    found = (
        ("airspeed", recorded.airspeed_mps, settings.airspeed_drift_mps, "kt", "kt"),
        ("altitude", recorded.altitude_m, settings.altitude_drift_m, "ft", "ft"),
        ("track", recorded.track_rad, settings.track_drift_rad, "deg", "degrees"),
    )
    excesses = [
        f"{name} drifts by {abs(from_si(drift, unit)):.0f} {word}"
        for name, values, limit, unit, word in found
        if abs(drift := _drift(t, values[part], unit == "deg")) > limit
    ]
    return f"{UNSTEADY}: {', '.join(excesses)}" if excesses else ""


def _drift(t_s: Array, values: Array, turning: bool) -> float:
    finite = np.isfinite(values)
    t, known = t_s[finite], values[finite]
    known = np.unwrap(known) if turning else known
    slope = np.polyfit(t - t.mean(), known, 1)[0]
    return float(slope * (t[-1] - t[0]))
