"""How owners are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from fleetcal.cli.output import SPARE, Column, View, text_table

if TYPE_CHECKING:
    from fleetcal.services.sharing.owners import OwnersShown

_COLUMNS: Final = (
    Column("of", heading="what"),
    Column("name"),
    Column("owner", heading="owner or coordinator", wraps=True),
    Column("decides", heading="decides on airframes", importance=SPARE),
)


def _answer(found: OwnersShown) -> Iterator[str]:
    if found.signer:
        yield f"Shares from here are signed by {found.signer}."
    else:
        yield "Nothing was signed here yet; the first share makes a key."
    if found.own_words:
        yield found.own_words


def _table(found: OwnersShown) -> Iterator[str]:
    """Yield a line for each that is not this store's own; JSON and CSV have all."""
    yield from text_table(found.others, _COLUMNS)


def _foot(found: OwnersShown) -> Iterator[str]:
    if found.public_key:
        yield f"Public key, for others to enter: {found.public_key}"
        yield f"Private key, to be copied and kept safe: {found.key_file}"
    for one in found.known:
        yield f"Known: {one}"


OWNERS: View[OwnersShown] = View(
    kind="owners",
    rows="lines",
    columns=_COLUMNS,
    answer=_answer,
    body=_table,
    foot=_foot,
)
