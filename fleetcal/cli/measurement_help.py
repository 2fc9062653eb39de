"""Help of the measuring commands, made from the one list of columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.measurements.measurement_columns import FileColumn, TechniqueFile


class TechniqueCommand(Verb):
    """A command on a file of one technique; its help ends with columns and an example."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the columns and an example file."""
        from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES

        file = TECHNIQUE_FILES[str(self.name)]
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
