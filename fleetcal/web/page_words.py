"""What services advise for the command line, as advice for a page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from fleetcal.errors import FleetcalError
from fleetcal.plain_text import sentence
from fleetcal.web.fields import Field

#: What a command is called on the pages; the first that fits is taken.
_ON_PAGES: Final = tuple(
    (re.compile(command), page)
    for command, page in (
        (r"settle each with --choose NUMBER=mine .*--take", "choose a side for each"),
        (r"'fleetcal undo (\d+) --of-others'", r"the tick on the page of change \1"),
        (r"'fleetcal undo (\d+)'", r"'Take back' beside change \1 under History"),
        (r"'?fleetcal undo'?", "'Take back' under History"),
        (r"'fleetcal show history'", "History"),
        (r"'fleetcal show checks[^']*'", "'Bench checks' on the page of the airframe"),
        (r"'fleetcal show fleet'", "'The fleet'"),
        (r"'fleetcal store backup[^']*'", "'Download a backup' under History"),
        (r"'fleetcal fleet load'", "'A fleet from a file'"),
        (r"'fleetcal fleet temperature[^']*'", "'Temperature display' among the bench checks"),
        (
            r"'fleetcal fleet airframe[^']*--since[^']*'",
            "'Change of equipment' on the page of the airframe",
        ),
        (r"'fleetcal fleet airframe[^']*'", "'Describe it further' on the page of the airframe"),
        (r"'fleetcal publish --issue'", "'Publish this table' on the page of the group"),
        (r"'fleetcal points (reject|list)[^']*'", "the page of the sortie"),
        (r"'fleetcal reduce [A-Z][^']*'", "'Look at a flight'"),
    )
)


def words_of(error: FleetcalError, fields: Sequence[Field] = ()) -> tuple[str, ...]:
    """Return what was refused and what to do about it, in the words of the pages."""
    parts = [one for one in (error.message, error.hint) if one]
    return tuple(sentence(on_pages(one, fields).removesuffix(".")) for one in parts)


def on_pages(words: str, fields: Sequence[Field] = ()) -> str:
    """Return a sentence about commands and options as one about pages and fields."""
    for command, page in _ON_PAGES:
        words = command.sub(page, words)
    for field in sorted(fields, key=lambda one: -len(one.name)):
        words = words.replace(f"--{field.name.replace('_', '-')}", f"'{field.label}'")
    return words
