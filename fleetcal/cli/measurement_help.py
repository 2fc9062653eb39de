"""Help on techniques other than GPS legs, made from the one list of columns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.measurements.measurement_columns import FileColumn, TechniqueFile

#: What each technique is; as the room that measures names them, to which the tests hold them.
TECHNIQUES: Final = {
    "speed-course": "Timed passes over a known distance, one each way, heading held. Hold the "
    "heading of the course, not its track, and let the aircraft drift with the crosswind: the "
    "mean of the two ground speeds is then the true airspeed. Times count from abeam the first "
    "mark to abeam the second. Several pairs at one airspeed show whether the wind changed.",
    "pace-aircraft": "Side by side with an aircraft of known calibration. Both aircraft fly "
    "level, at one height and at rest against each other, far enough apart not to feel each "
    "other's flow. With both altimeters noted, the result joins airspeeds and altimeters and "
    "says how well they agree. Formation flying needs training and a briefing.",
    "tower-fly-by": "Passing a reference of surveyed height where pressure is measured. The "
    "height of the aircraft's altimeter above the reference is sighted at each pass. Pressure "
    "and temperature are those at the reference at that time.",
    "trailing-static": "Against a trailing cone or bomb: either a gauge between the aircraft's "
    "static line and the trailing source, or an altimeter on the trailing source.",
}


class TechniqueCommand(Verb):
    """A command on files of several techniques; its help ends with columns and an example."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Note which technique help may be wanted on, and parse."""
        ctx.meta["fleetcal.technique"] = next((word for word in args if word in TECHNIQUES), None)
        return super().parse_args(ctx, args)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write columns and an example file of the technique named, else what there are."""
        name = ctx.meta["fleetcal.technique"]
        if name is None:
            with formatter.section("Techniques"):
                formatter.write_dl(list(TECHNIQUES.items()))
            return
        from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES

        file = TECHNIQUE_FILES[name]
        with formatter.section(name):
            formatter.write_text(TECHNIQUES[name])
        with formatter.section("Columns of FILE, in any order"):
            formatter.write_dl([(c.name, _meaning(file, c)) for c in file.columns])
        with formatter.section("Example of a FILE"):
            for line in file.example.splitlines():
                formatter.write(f"{' ' * formatter.current_indent}{line}\n")
        formatter.write_paragraph()
        formatter.write_text(
            "Default uncertainties are common practice without a published source: "
            "give your own where you know better."
        )


def _meaning(file: TechniqueFile, column: FileColumn) -> str:
    needed = any(column.name == forms[0] for forms in file.needed)
    words = f"{column.meaning}{' (needed)' if needed else ''}"
    return words if column.default is None else f"{words}; {column.default:g} if left out"
