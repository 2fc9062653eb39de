"""The refusal of a file whose content is stored for another airframe."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.errors import DataError
from fleetcal.store import SortieLine


def refuse_known_elsewhere(name: str, sorties: Sequence[SortieLine], airframe: str | None) -> None:
    """Raise if a file was stored for other airframes only, and say how a flight is moved.

    Args:
        name: Of the file at hand.
        sorties: That came from the same content.
        airframe: Tag of the one that it is to be stored for.

    Raises:
        DataError: If so.
    """
    owners = {sortie.airframe for sortie in sorties}
    if not owners or airframe in owners:
        return
    which = ", ".join(f"{s.airframe} (sortie {s.sortie_id})" for s in sorties)
    move = f"fleetcal points move {sorties[0].sortie_id} {airframe}"
    raise DataError(
        f"{name}: the same content is stored for {which}",
        f"check which airframe flew it; if it was {airframe}, move the flight: {move}",
    )
