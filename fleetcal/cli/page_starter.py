"""Start the page to work in by a double click: without a terminal, errors go to the browser."""

from __future__ import annotations

import sys

import click

from fleetcal.cli.ending import Ended
from fleetcal.cli.failure import Failure
from fleetcal.cli.program import main as program


def main() -> None:
    """Serve the usual store; show in the browser why that is not possible."""
    try:
        program.main(["serve"], prog_name="fleetcal", standalone_mode=False)
    except Ended as error:
        sys.exit(error.exit_code)
    except click.ClickException as error:
        from fleetcal.web.not_started import show_instead

        hint = error.error.hint if isinstance(error, Failure) else ""
        show_instead([f"{words}." for words in (error.message, hint) if words])
