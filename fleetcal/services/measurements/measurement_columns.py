"""What a file of each technique holds: columns with unit, range, default and meaning.

The one list that reading a file, its error messages and the help all go by. The
defaults of the uncertainty columns are common practice without a published
source. Nothing heavy is imported here: the help must answer at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

LABEL: Final = "label"


@dataclass(frozen=True, kw_only=True)
class FileColumn:
    """One column of a file.

    Attributes:
        name: Heading, with its unit.
        unit: As `fleetcal.units` names it; `LABEL` for text.
        lowest, highest: What is believable, in the unit.
        default: Where the cell is empty or the column not there.
    """

    name: str
    unit: str
    lowest: float
    highest: float
    meaning: str
    default: float | None = None


@dataclass(frozen=True)
class TechniqueFile:
    """The file of one technique.

    Attributes:
        technique: As points are stored with it.
        needed: Of each tuple exactly one column must be there.
        example: A file that can be measured.
    """

    technique: str
    needed: tuple[tuple[str, ...], ...]
    columns: tuple[FileColumn, ...]
    example: str

    def column(self, name: str) -> FileColumn:
        """Return a column by its name."""
        return next(column for column in self.columns if column.name == name)


def _u(name: str, unit: str, default: float, meaning: str) -> FileColumn:
    return FileColumn(
        name=name,
        unit=unit,
        lowest=0.0,
        highest=1000.0,
        meaning=f"standard uncertainty {meaning}",
        default=default,
    )


AIRSPEED: Final = ("ias_kt", "vic_kt")
ALTITUDE: Final = ("pressure_altitude_ft", "hic_ft")
TEMPERATURE: Final = ("oat_degc", "ambient_degc")

_COCKPIT: Final = (
    FileColumn(
        name="ias_kt",
        unit="kt",
        lowest=10.0,
        highest=500.0,
        meaning="airspeed as read; the bench check is applied",
    ),
    FileColumn(
        name="vic_kt",
        unit="kt",
        lowest=10.0,
        highest=500.0,
        meaning="or airspeed after your own instrument correction",
    ),
    FileColumn(
        name="pressure_altitude_ft",
        unit="ft",
        lowest=-2000.0,
        highest=50000.0,
        meaning="altimeter as read, 1013.25 hPa set; the bench check is applied",
    ),
    FileColumn(
        name="hic_ft",
        unit="ft",
        lowest=-2000.0,
        highest=50000.0,
        meaning="or the same after your own correction",
    ),
    FileColumn(
        name="oat_degc",
        unit="degC",
        lowest=-80.0,
        highest=60.0,
        meaning="temperature as displayed; what the display shows stands with the airframe",
    ),
    FileColumn(
        name="ambient_degc",
        unit="degC",
        lowest=-80.0,
        highest=60.0,
        meaning="or temperature corrected to ambient",
    ),
    FileColumn(
        name="humidity_pct",
        unit="%",
        lowest=0.0,
        highest=100.0,
        meaning="relative humidity; the usual range if left out",
    ),
    FileColumn(
        name="dew_point_degc", unit="degC", lowest=-80.0, highest=40.0, meaning="or dew point"
    ),
    _u("u_ias_reading_kt", "kt", 0.5, "of reading the airspeed once"),
    _u("u_altitude_reading_ft", "ft", 10.0, "of reading the altimeter once"),
)

_COURSE: Final = (
    FileColumn(
        name="point",
        unit=LABEL,
        lowest=0.0,
        highest=0.0,
        meaning="rows with the same text are pairs of one point",
    ),
    FileColumn(
        name="distance_m", unit="m", lowest=200.0, highest=100000.0, meaning="length of the course"
    ),
    FileColumn(
        name="time_out_s", unit="s", lowest=3.0, highest=7200.0, meaning="time of the pass out"
    ),
    FileColumn(
        name="time_back_s",
        unit="s",
        lowest=3.0,
        highest=7200.0,
        meaning="time of the pass back, same heading reversed",
    ),
    _u("u_distance_m", "m", 10.0, "of the length, shared by the sortie"),
    _u("u_time_s", "s", 0.3, "of timing one pass"),
)

_PACE: Final = (
    FileColumn(
        name="pace_ias_kt",
        unit="kt",
        lowest=10.0,
        highest=500.0,
        meaning="airspeed that the pace aircraft reads",
    ),
    FileColumn(
        name="pace_correction_kt",
        unit="kt",
        lowest=-50.0,
        highest=50.0,
        meaning="all that is added to it to give calibrated",
    ),
    _u("u_pace_kt", "kt", 1.0, "of that correction, shared by the sortie"),
    _u("u_pace_reading_kt", "kt", 0.5, "of reading the pace aircraft once"),
    _u("u_station_kt", "kt", 0.3, "of keeping the speeds equal"),
    FileColumn(
        name="pace_pressure_altitude_ft",
        unit="ft",
        lowest=-2000.0,
        highest=50000.0,
        meaning="its altimeter at the same height, if noted",
    ),
    FileColumn(
        name="pace_altitude_correction_ft",
        unit="ft",
        lowest=-2000.0,
        highest=2000.0,
        meaning="all that is added to that",
    ),
    _u("u_pace_altitude_ft", "ft", 20.0, "of that correction, shared by the sortie"),
    _u("u_pace_altitude_reading_ft", "ft", 10.0, "of reading that altimeter once"),
    _u("u_station_ft", "ft", 5.0, "of keeping the heights equal"),
)

_TOWER: Final = (
    FileColumn(
        name="reference_pressure_hpa",
        unit="hPa",
        lowest=500.0,
        highest=1100.0,
        meaning="pressure at the reference",
    ),
    FileColumn(
        name="reference_pressure_altitude_ft",
        unit="ft",
        lowest=-2000.0,
        highest=18000.0,
        meaning="or a checked altimeter there, 1013.25 hPa set",
    ),
    FileColumn(
        name="reference_temperature_degc",
        unit="degC",
        lowest=-60.0,
        highest=60.0,
        meaning="air temperature there",
    ),
    FileColumn(
        name="height_m",
        unit="m",
        lowest=-1000.0,
        highest=1000.0,
        meaning="altimeter of the aircraft above the reference",
    ),
    FileColumn(
        name="height_ft", unit="ft", lowest=-3000.0, highest=3000.0, meaning="or the same in feet"
    ),
    _u("u_reference_pressure_hpa", "hPa", 0.3, "of the barometer, shared by the sortie"),
    _u("u_reference_temperature_k", "K", 1.0, "of the thermometer, shared by the sortie"),
    _u("u_survey_m", "m", 0.5, "of the surveyed height, shared by the sortie"),
    _u("u_height_m", "m", 1.0, "of sighting one pass"),
)

_TRAILING: Final = (
    FileColumn(
        name="dps_pa",
        unit="Pa",
        lowest=-5000.0,
        highest=5000.0,
        meaning="port pressure less trailing pressure",
    ),
    FileColumn(
        name="trailing_pressure_altitude_ft",
        unit="ft",
        lowest=-2000.0,
        highest=50000.0,
        meaning="or an altimeter on the trailing source, 1013.25 hPa set",
    ),
    FileColumn(
        name="trailing_correction_pa",
        unit="Pa",
        lowest=-1000.0,
        highest=1000.0,
        meaning="added to the trailing pressure",
        default=0.0,
    ),
    FileColumn(
        name="trailing_correction_ft",
        unit="ft",
        lowest=-1000.0,
        highest=1000.0,
        meaning="with the altimeter: added to its reading, for source and instrument",
        default=0.0,
    ),
    _u("u_trailing_pa", "Pa", 10.0, "of the trailing source, shared by the sortie"),
    _u("u_gauge_pa", "Pa", 5.0, "of the gauge, shared by the sortie"),
    _u("u_dps_reading_pa", "Pa", 3.0, "of reading the gauge once"),
    _u("u_trailing_ft", "ft", 15.0, "with the altimeter: of its correction, shared by the sortie"),
    _u("u_trailing_reading_ft", "ft", 10.0, "of reading that altimeter once"),
)

SPEED_COURSE: Final = TechniqueFile(
    "speed course",
    (AIRSPEED, ALTITUDE, TEMPERATURE, ("distance_m",), ("time_out_s",), ("time_back_s",)),
    (*_COCKPIT, *_COURSE),
    "point,ias_kt,pressure_altitude_ft,oat_degc,distance_m,time_out_s,time_back_s\n"
    "A,100,1500,14,3704,64.8,78.6\n"
    "A,100,1500,14,3704,65.3,78.1\n"
    "B,120,1500,14,3704,55.1,64.7\n",
)
PACE_AIRCRAFT: Final = TechniqueFile(
    "pace aircraft",
    (AIRSPEED, ALTITUDE, ("pace_ias_kt",), ("pace_correction_kt",)),
    (*_COCKPIT, *_PACE),
    "ias_kt,pressure_altitude_ft,oat_degc,pace_ias_kt,pace_correction_kt,u_pace_kt\n"
    "131,3000,9,130,0.0,0.8\n"
    "101,3020,9,102,-0.5,0.8\n",
)
TOWER_FLY_BY: Final = TechniqueFile(
    "tower fly-by",
    (
        AIRSPEED,
        ALTITUDE,
        ("reference_pressure_hpa", "reference_pressure_altitude_ft"),
        ("reference_temperature_degc",),
        ("height_m", "height_ft"),
    ),
    (*_COCKPIT, *_TOWER),
    "ias_kt,pressure_altitude_ft,reference_pressure_hpa,reference_temperature_degc,height_m\n"
    "80,390,1001.3,21,15.5\n"
    "120,345,1001.3,21,14.0\n",
)
TRAILING_STATIC: Final = TechniqueFile(
    "trailing static",
    (AIRSPEED, ALTITUDE, ("dps_pa", "trailing_pressure_altitude_ft")),
    (*_COCKPIT, *_TRAILING),
    "ias_kt,pressure_altitude_ft,oat_degc,dps_pa,trailing_correction_pa\n"
    "80,4000,7,25,-2\n"
    "120,4000,7,70,-4\n",
)

#: By the name of the command.
TECHNIQUE_FILES: Final[dict[str, TechniqueFile]] = {
    "speed-course": SPEED_COURSE,
    "pace-aircraft": PACE_AIRCRAFT,
    "tower-fly-by": TOWER_FLY_BY,
    "trailing-static": TRAILING_STATIC,
}
