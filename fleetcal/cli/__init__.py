"""The command line: parses, calls one service, prints through one output module."""

from fleetcal.cli.program import main

__all__ = ["main"]
