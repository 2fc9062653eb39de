"""The command line: parses, calls one service, prints through one output module.

A command begins by loading a hundred thousand objects that stay. To look through them for garbage
again and again takes a twentieth of an everyday command (`gc.callbacks` tells), so Python is told
to look less often.
"""

import gc

gc.set_threshold(200_000, *gc.get_threshold()[1:])
try:
    from fleetcal.cli.program import main
except KeyboardInterrupt:  # before there is anything that could say so
    raise SystemExit(130) from None

__all__ = ["main"]
