"""One row of a measurement file, in SI, with the air that it was flown in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import SEA_LEVEL_TEMPERATURE_K, Array
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.techniques.technique_point import Cockpit
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.air_taken import AirTaken, LoggedHumidity, StatedAir
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.measurements.measurement_columns import TechniqueFile
from fleetcal.services.point_cells import FileRow
from fleetcal.units import to_si

# column of a reading as the instrument shows it -> whose bench check corrects it
CHECKED: Final = {"ias_kt": "airspeed", "pressure_altitude_ft": "altimeter"}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of a measurement file, read in SI.

    Attributes:
        air: What is said of temperature and humidity outside the file.
    """

    line: FileRow
    file: TechniqueFile
    bench: BenchInForce
    air: StatedAir
    settings: ReductionSettings

    def optional(self, name: str) -> float | None:
        """Return a cell in SI, its default where empty, None where there is none.

        Raises:
            MalformedFileError: If it is no number, or outside what is believable.
        """
        column = self.file.column(name)
        value = self.line.number(name)
        value = column.default if value is None else value
        if value is None:
            return None
        if not column.lowest <= value <= column.highest:
            limits = f"{column.lowest:g} to {column.highest:g} {column.unit}"
            raise self.line.wrong(
                f"{value:g} is outside {limits}", "check the unit and the column", name
            )
        return float(to_si(value, column.unit))

    def value(self, name: str) -> float:
        """Return a cell in SI that must be there.

        Raises:
            MalformedFileError: If it is not, or is wrong.
        """
        value = self.optional(name)
        if value is None:
            raise self.line.wrong("the cell is empty", "fill it in", name)
        return value

    def has(self, name: str) -> bool:
        """Tell whether the file has a column."""
        return name in self.line.cells

    def reading(self, raw: str, corrected: str) -> float:
        """Return an instrument reading with its bench correction, or as the file corrected it."""
        if not self.has(raw):
            return self.value(corrected)
        return float(self.bench.corrected(CHECKED[raw], np.asarray(self.value(raw))))

    def cockpit(self) -> Cockpit:
        """Return what was read in the aircraft under test."""
        airspeed = self.reading("ias_kt", "vic_kt")
        altitude = self.reading("pressure_altitude_ft", "hic_ft")
        name = "ambient_degc" if self.has("ambient_degc") else "oat_degc"
        temperature = self.optional(name)
        share, taken = self._air_at(airspeed, altitude, temperature)
        return Cockpit(
            airspeed_mps=airspeed,
            altitude_m=altitude,
            u_airspeed_reading_mps=self.value("u_ias_reading_kt"),
            u_altitude_reading_m=self.value("u_altitude_reading_ft"),
            temperature_k=temperature,
            recovery_factor=taken.temperature.recovery_factor,
            relative_humidity=share,
        )

    def air_taken(self) -> AirTaken:
        """Return what temperature and humidity are taken to be."""
        cockpit = self.cockpit()
        return self._air_at(cockpit.airspeed_mps, cockpit.altitude_m, cockpit.temperature_k)[1]

    def _air_at(
        self, airspeed_mps: float, altitude_m: float, temperature_k: float | None
    ) -> tuple[float, AirTaken]:
        kind = "static" if self.has("ambient_degc") else "probe"
        temperature = self.settings.temperature_taken(kind, self.air)
        readings = Readings(
            airspeed_mps=np.array([airspeed_mps]),
            altitude_m=np.array([altitude_m]),
            temperature_k=np.array(
                [SEA_LEVEL_TEMPERATURE_K if temperature_k is None else temperature_k]
            ),
            recovery_factor=np.array([temperature.recovery_factor]),
        )
        logged = LoggedHumidity(self._noted("humidity_pct"), self._noted("dew_point_degc"))
        place = f"{self.line.file}, line {self.line.line}"
        share, humidity = self.settings.humidity_taken(readings, logged, self.air, place)
        return float(share[0]), AirTaken(temperature, humidity)

    def _noted(self, name: str) -> Array | None:
        value = self.optional(name)
        return None if value is None else np.array([value])
