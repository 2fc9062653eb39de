"""How owners are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import SPARE, Column, View

if TYPE_CHECKING:
    from fleetcal.services.sharing.owners import OwnersShown


def _answer(found: OwnersShown) -> Iterator[str]:
    if found.signer:
        yield f"Shares from here are signed by {found.signer}."
    else:
        yield "Nothing was signed here yet; the first share makes a key."


def _foot(found: OwnersShown) -> Iterator[str]:
    if found.public_key:
        yield f"Public key, for others to enter: {found.public_key}"
        yield f"Private key, to be copied and kept safe: {found.key_file}"
    for one in found.known:
        yield f"Known: {one}"


OWNERS: View[OwnersShown] = View(
    kind="owners",
    rows="lines",
    columns=[
        Column("of", heading="what"),
        Column("name"),
        Column("owner", heading="owner or coordinator", wraps=True),
        Column("decides", heading="decides on airframes", importance=SPARE),
    ],
    answer=_answer,
    foot=_foot,
)
