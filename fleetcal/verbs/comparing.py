"""The verb that tells whether a change of equipment changed how an airframe reads or flies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcal.errors import DataError
from fleetcal.verbs.answer import DrawnAnswer, cautioned, doubts_and_notes
from fleetcal.verbs.checked import Days, days_of, not_both
from fleetcal.verbs.pool_given import POSITION_ERROR, pool_request
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from fleetcal.services.curves.check_change import Period
    from fleetcal.services.curves.compare_curves import Comparison


def change(
    *tags: str,
    store: StorePlace = None,
    before: Days | None = None,
    after: Days | None = None,
    from_: str | None = None,
    to: str | None = None,
    quantity: str = POSITION_ERROR,
    power_state: str | None = None,
    type: str | None = None,
    flap_setting: str = "up",
) -> DrawnAnswer[Comparison]:
    """Tell whether a change of equipment changed how an airframe reads or flies.

    Compares its two last fits, two periods, or two groups that it was in.

    Args:
        tags: One airframe, or three and more that made the same change; none, with `from_` and
            `to`, for all that flew both groups.
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.
        before, after: Periods, written FROM..TO or as two dates, either of which may be left out.
        from_, to: Groups.
        quantity: ``position-error``, ``climb``, ``glide`` or ``cruise``.
        power_state: Of climbs and glides; may be left out if there is one.
        type: Aircraft type; may be left out if there is one.

    Returns:
        `frame` has a row a speed: what was shown ``first`` and ``second``, their ``difference``
        (after less before) with ``low`` to ``high`` at 95 %, and the smallest that the data would
        have shown; each name ends in its unit, such as ``difference_kt``.

    Raises:
        UnknownNameError: If an airframe or a group is not in the store.
        FitError: If a side has no points, or both share no speed.
        DataError: If the arguments contradict each other.
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> fleetcal.change("C-12", after="2023-06-01..", before="..2023-05-31").frame()
    """
    from fleetcal.services.curves.check_change import check_change
    from fleetcal.services.curves.picture_difference import difference_picture
    from fleetcal.services.drawings import difference_drawing

    periods = _periods(before, after)
    between = _groups(from_, to)
    not_both("before and after", "from_ and to", (periods, between))
    if not tags and between is None:
        raise DataError("no airframe was named", "give a tag, or groups as from_ and to")
    request = pool_request(
        quantity=quantity, power_state=power_state, type=type, flap_setting=flap_setting
    )
    with opened(store, "change") as one:
        found = check_change(one, tags, request, periods, between)
    return DrawnAnswer(
        result=found,
        sentences=(found.answer,),
        rows_in="rows",
        warnings=doubts_and_notes(found.each, found.doubts, found.notes),
        caution=cautioned(),
        drawing=lambda: difference_drawing(difference_picture(found)),
    )


def _periods(before: Days | None, after: Days | None) -> tuple[Period, Period] | None:
    from fleetcal.services.curves.check_change import Period

    if before is None and after is None:
        return None
    if before is None or after is None:
        raise DataError("before and after go together", "give both, or none")
    return Period(*days_of("before", before)), Period(*days_of("after", after))


def _groups(first: str | None, second: str | None) -> tuple[str, str] | None:
    if first is None and second is None:
        return None
    if first is None or second is None:
        raise DataError("from_ and to go together", "give both, or none")
    return first, second
