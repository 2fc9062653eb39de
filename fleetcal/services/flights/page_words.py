"""Advice that names options of the command line, as it reads on a page with fields."""

from __future__ import annotations

import re
from typing import Final

#: Patterns, the longer first, and what stands for them.
_WORDS: Final = (
    (
        r"'--temperature-shows ambient' or '--temperature-shows probe'",
        "'The temperature shows' below",
    ),
    (
        r"(?:State|Say) it once: 'fleetcal fleet temperature .+? --shows ambient' or "
        r"'--shows probe'",
        "Say it with the aircraft, or for this flight with 'The temperature shows' below",
    ),
    (
        r"'fleetcal fleet temperature .+? --shows ambient' or '--shows probe'",
        "'The temperature shows' below",
    ),
    (
        r"'fleetcal fleet airframe .+? --weight-kg KG' corrects it later",
        "'Weight' below corrects it now, the page of the aircraft later",
    ),
    (
        r"move the flight: fleetcal points move (\d+) \S+",
        r"move the flight on the page of sortie \1",
    ),
    (
        r"; '--another-flight' keeps it as another one, and '--replace' lets it take the place of "
        r"sortie \d+",
        ", or choose under 'If it is kept already' below",
    ),
    (r"'--another-flight' keeps it", "'If it is kept already' below keeps it"),
    (r"'--solve-by flight'", "'Solved by: the entire flight' below"),
    (r"; --details gives each reason", ""),
    (
        r"correct the unit of ('.+?') in a mapping file \(see 'fleetcal columns --help'\)",
        r"correct the unit of \1 under 'What was understood of its columns'",
    ),
    (r"in a mapping file \(see 'fleetcal columns --help'\)", "on the page of its columns"),
    (r"\(--mapping\)", ""),
    (r"in a mapping file", "on the page of its columns"),
    (r"--date YYYY-MM-DD", "'Day' below"),
    (r"--oat 8C", "'Outside temperature' below"),
    (r"--altimeter-setting 1002", "'Altimeter set to' below"),
    (r"'?--airspeed-from'?", "'Airspeed from' below"),
    (r"'?--declination-deg'?", "'Declination' below"),
    (r"'?--fuel-used-kg-per-h'?", "'Fuel used' below"),
    (r"'?--weight-kg'?", "'Weight' below"),
    (r"'?--airframe'?", "'Aircraft' below"),
)
_COMPILED: Final = tuple((re.compile(pattern), words) for pattern, words in _WORDS)


def on_a_page(words: str) -> str:
    """Return advice with the names of a page's fields in place of options."""
    for pattern, instead in _COMPILED:
        words = pattern.sub(instead, words)
    return words
