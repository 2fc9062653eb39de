"""Position error of a light aircraft type, from recorded flights to a pooled table.

The verbs of the command line are functions here: `read`, `reduce`, `reduce_folder`, `curve`,
`standing`, `change`, `groups`, `plan`, `publish`, and `open` for a store that several of them work
on. They are loaded when they are first used, so that this import costs nothing.

Where numpy is not loaded yet and nobody chose, its OpenBLAS gets one thread: on matrices as small
as ours threads only wait for each other, and they change the last digit of a sum.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any, Final

from fleetcal.errors import FleetcalError
from fleetcal.version import __version__

if TYPE_CHECKING:
    from fleetcal.verbs import change as change
    from fleetcal.verbs import curve as curve
    from fleetcal.verbs import groups as groups
    from fleetcal.verbs import open as open
    from fleetcal.verbs import plan as plan
    from fleetcal.verbs import publish as publish
    from fleetcal.verbs import read as read
    from fleetcal.verbs import reduce as reduce
    from fleetcal.verbs import reduce_folder as reduce_folder
    from fleetcal.verbs import standing as standing

__all__ = ["FleetcalError", "__version__"]

if "numpy" not in sys.modules and not any(
    name in os.environ for name in ("OPENBLAS_NUM_THREADS", "GOTO_NUM_THREADS", "OMP_NUM_THREADS")
):
    os.environ["OPENBLAS_NUM_THREADS"] = "1"

_VERBS: Final = (
    *("change", "curve", "groups", "open", "plan"),
    *("publish", "read", "reduce", "reduce_folder", "standing"),
)


if not TYPE_CHECKING:  # to a checker every name would be there

    def __getattr__(name: str) -> Any:
        if name in _VERBS:
            return getattr(import_module("fleetcal.verbs"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted((*__all__, *_VERBS))


class _Package(ModuleType):
    """The package, in which `publish` is the verb although a room of it has that name too.

    Whoever imports from that room gets it by its full name, as ever.
    """

    @property
    def publish(self) -> Any:
        return import_module("fleetcal.verbs").publish

    @publish.setter
    def publish(self, room: ModuleType) -> None:
        """Leave the verb where an import would put the room."""


sys.modules[__name__].__class__ = _Package
