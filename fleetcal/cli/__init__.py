"""The command line: parses, calls one service, prints through one output module."""

try:
    from fleetcal.cli.program import main
except KeyboardInterrupt:  # before there is anything that could say so
    raise SystemExit(130) from None

__all__ = ["main"]
