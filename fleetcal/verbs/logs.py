"""The verb that reads a log before anything is reduced."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.verbs.answer import Answer, doubts_and_notes

if TYPE_CHECKING:
    from pandas import DataFrame

    from fleetcal.services.flights.flown_samples import FlownSamples
    from fleetcal.services.flights.understand_log import LogUnderstanding


@dataclass(frozen=True, kw_only=True, repr=False)
class LogAnswer(Answer["LogUnderstanding"]):
    """What is understood of a log; `frame` has its columns.

    Attributes:
        flown: Samples and legs; without any where the log cannot be reduced as it is.
    """

    flown: FlownSamples = field(compare=False)

    def samples(self) -> DataFrame:
        """Return the samples as they are understood.

        Returns:
            A row a sample: ``time_s`` from the first one, ``airspeed_kt``, ``pressure_altitude_ft``
            and ``oat_degc`` as displayed, ``ground_speed_kt``, ``track_deg``. NaN where missing; no
            row for legs written by hand.
        """
        import pandas as pd

        return pd.DataFrame(dict(self.flown.samples))

    def legs(self) -> DataFrame:
        """Return the steady legs that were found, with the means of what was displayed.

        Returns:
            A row a leg: ``run``, ``leg``, ``start_s``, ``stop_s``, ``samples``, ``airspeed_kt``,
            ``pressure_altitude_ft``, ``oat_degc``, ``ground_speed_kt``, ``track_deg``, and
            ``refusal``, which is empty for a run that can be solved.
        """
        from fleetcal.verbs.frames import result_frame

        return result_frame(self.flown, "legs")


def read(log: str | Path, *, mapping: str | Path | None = None) -> LogAnswer:
    """Read a log, and tell what is understood of it: columns, samples, steady legs.

    Args:
        log: Delimited text with headings (plain, or packed by gzip or zip), an ICARTT file, an IGC
            flight record, or a table of legs written by hand.
        mapping: TOML file that says which column holds what; it overrides the headings.

    Returns:
        `frame` has a row a column that is understood: quantity, heading, unit, lowest, highest.
        `samples` and `legs` have what was flown.

    Raises:
        DataError: If the file is no table at all, or the mapping cannot be used. A log that is
            understood only in part is no error: `result.lacking` says what it lacks.

    Example:
        >>> log = fleetcal.read("flight.csv")
        >>> log.samples().plot(x="time_s", y="airspeed_kt")
    """
    from fleetcal.services.flights.flown_samples import flown_samples
    from fleetcal.services.flights.log_words import log_remarks, log_sentences, readiness
    from fleetcal.services.flights.understand_log import understand_log

    path, map_path = Path(log), None if mapping is None else Path(mapping)
    found: LogUnderstanding = understand_log(path, map_path)
    flown = flown_samples(path, found, map_path)
    return LogAnswer(
        result=found,
        sentences=(readiness(found), *log_sentences(found), *flown.sentences),
        rows_in="columns",
        notable=("quantity", "heading", "unit", "lowest", "highest", "missing_percent"),
        warnings=doubts_and_notes(found.warnings, tuple(log_remarks(found))),
        flown=flown,
    )
