"""The verbs of the command line for programs and notebooks: each calls one service."""

from fleetcal.verbs.answer import Answer, DrawnAnswer
from fleetcal.verbs.comparing import change
from fleetcal.verbs.curves import curve, groups, standing
from fleetcal.verbs.flights import FlightAnswer, reduce
from fleetcal.verbs.folders import reduce_folder
from fleetcal.verbs.logs import LogAnswer, read
from fleetcal.verbs.planning import plan
from fleetcal.verbs.publishing import publish
from fleetcal.verbs.stores import open

__all__ = [
    "Answer",
    "DrawnAnswer",
    "FlightAnswer",
    "LogAnswer",
    "change",
    "curve",
    "groups",
    "open",
    "plan",
    "publish",
    "read",
    "reduce",
    "reduce_folder",
    "standing",
]
