"""The one text of cautions that travels with everything published."""

from __future__ import annotations

from typing import Final

GROUP_CAUTION: Final = (
    "It describes a group of aircraft; the one you fly may differ, most of all when its static "
    "system leaks, is blocked or was altered."
)
"""What is to be said of a curve for many aircraft."""

CAUTIONS: Final[tuple[str, ...]] = (
    "This is advisory information, not approved data.",
    "The approved flight manual, the kit maker's instructions, local rules and licensed practice "
    "come first.",
    "Change no airspeed marking, speed or limit on the strength of it.",
    GROUP_CAUTION,
    "Outside the speeds, weight and flap setting stated here it says nothing.",
    "Flight tests are flown by qualified crew, to a plan, in smooth air, at a safe height, with a "
    "lookout kept while eyes are inside; formation flying needs training and a briefing.",
)
"""Sentences, in the order in which they are printed."""

CAUTION_LINE: Final = "Advisory: the approved manual comes first"
"""The line under which a page keeps them."""

FLIGHT_CAUTIONS: Final[tuple[str, ...]] = (
    *CAUTIONS[:3],
    "It describes one flight of one aircraft, at the speeds, weight and flap setting flown.",
    CAUTIONS[-1],
)
"""The same for what one flight says."""

SHORT_CAUTION: Final = "Advisory only, not approved data; change no marking or limit because of it."
"""One sentence for places without room for all: a figure, a row of a CSV file."""

PITOT_ASSUMPTION: Final = (
    "The pitot pressure is taken as free of error, so the whole difference is put down to the "
    "static source."
)
"""The assumption behind every figure, to be stated wherever a result is printed."""

CURVE_ASSUMPTION: Final = (
    "A curve takes the error as depending on lift coefficient alone, that is on airspeed and "
    "weight: not on power, slip or altitude."
)
"""What every curve assumes of the error beside that."""

RATE_ASSUMPTION: Final = (
    "Rates suppose calibrated airspeed by the pooled curve of the static source where there is "
    "one, power held as tagged, and air that moves up or down no more on one heading than on the "
    "opposite one."
)
"""The assumptions behind climbs and glides."""

CRUISE_ASSUMPTION: Final = (
    "True airspeeds suppose level flight in air that moves neither up nor down, and percent "
    "powers as they were noted."
)
"""The assumptions behind cruise."""

LIMIT_CAUTION: Final = (
    "Limits carried to another port (flap limit, manoeuvring, never exceed) are shown as "
    "information only: the marking and the manual hold, and where what is carried is lower, the "
    "lower. Only the holder of the design data and the authority may change a marking or a limit."
)
"""For every place that shows a limit on another port than the one it was printed for."""
