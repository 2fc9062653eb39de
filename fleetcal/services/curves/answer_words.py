"""The first sentence of an answer about a curve or an airframe, as a pilot reads it.

Pages and figures use the same words, with the same three bands: this aircraft, the
group's mean, another aircraft of the group.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fleetcal.publish.table_row import TableRow
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.judgement import Judgement
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.set_aside import SET_ASIDE
from fleetcal.wording import counted, decimal, listed, percent, with_sign

MEAN: Final = "the group's mean"
ANOTHER: Final = "another aircraft of the group"
#: Names that a sentence lists; of more it gives the number.
_LISTED: Final = 4


def correction_words(
    ias_kt: float, correction_kt: float, bands: Sequence[tuple[str, float, float]]
) -> str:
    """Say what to add to a reading, or to take off it.

    Args:
        bands (sequence of (whose, low in kt, high in kt)): Of the correction.

    Returns:
        For example "At 100 kt add 2.9 kt to the reading (the group's mean: 2.4 to 3.4 kt)."
    """
    sign = -1.0 if correction_kt < 0.0 else 1.0
    size = decimal(abs(correction_kt))
    what = f"add {size} kt to the reading" if sign > 0.0 else f"take {size} kt off the reading"
    if float(size) == 0.0:
        what = "the reading needs no correction"
    plain = float(size) != 0.0 and all(
        float(decimal(sign * end)) >= 0.0 for _, low, high in bands for end in (low, high)
    )
    ranges = []
    for whose, low, high in bands:
        ends = sorted((sign * low, sign * high)) if plain else (low, high)
        shown = [decimal(end) if plain else with_sign(end) for end in ends]
        ranges.append(f"{whose}: {' to '.join(shown)} kt")
    return f"At {ias_kt:.0f} kt {what} ({'; '.join(ranges)})."


def curve_answer(rows: Sequence[TableRow]) -> str:
    """Return the correction in the middle of a table, with both bands."""
    known = [row for row in rows if row.correction_kt is not None]
    if not known:
        return "No speed has enough airframes for a correction."
    middle = (known[0].given_kt + known[-1].given_kt) / 2.0
    row = min(known, key=lambda one: (one.given_kt % 10.0 != 0.0, abs(one.given_kt - middle)))
    bands = [
        (whose, low, high)
        for whose, low, high in (
            (MEAN, row.mean_low_kt, row.mean_high_kt),
            (ANOTHER, row.next_low_kt, row.next_high_kt),
        )
        if low is not None and high is not None
    ]
    return correction_words(row.given_kt, row.correction_kt or 0.0, bands)


def standing_answer(quantity: Quantity, one: AirframeVerdict) -> str:
    """Say where one airframe stands, in one sentence."""
    others = counted(one.others, "other airframe")
    group = f"its {quantity.group_word} ({one.group})"
    if one.verdict == SET_ASIDE:
        then = ""
        if one.largest_departure is not None:
            be = f"would be {one.if_counted}" if one.if_counted else "would depart"
            then = f"; if they counted, it {be}: {_most(quantity, one)}"
        return f"{one.airframe} is set aside, as none of its {quantity.many} counts{then}."
    if one.largest_departure is None:
        return f"{one.airframe} cannot be judged yet: {one.reason}."
    if one.verdict == "outside":
        return f"{one.airframe} is outside {group}: {_most(quantity, one)}."
    if one.verdict == "undecided":
        return (
            f"It cannot be told yet whether {one.airframe} is outside {group}: "
            f"{_most(quantity, one)}, and that may be chance."
        )
    if one.half_band > quantity.smallest:
        return (
            f"Nothing shows that {one.airframe} differs from the {others} of {group}, but how far "
            f"it lies from them is known to {quantity.size(one.half_band)} only."
        )
    return f"{one.airframe} {quantity.does} like the {others} of {group}."


def _most(quantity: Quantity, one: AirframeVerdict) -> str:
    return f"it {quantity.departs(one.largest_departure or 0.0)} at {one.at_speed_kt:.0f} kt"


def standing_reasons(quantity: Quantity, one: AirframeVerdict) -> str:
    """Say how far an airframe departs at both ends of its speeds, and how usual that is."""
    if one.p_value is None or not one.rows:
        return ""
    ends = dict.fromkeys((one.rows[0], one.rows[-1]))
    where = ", and ".join(f"{quantity.departs(r.departure)} at {r.speed_kt:.0f} kt" for r in ends)
    return (
        f"It {where}. Of aircraft that belong to the {quantity.group_word}, "
        f"{percent(one.p_value)} depart as far by chance."
    )


def outliers_answer(judged: Judgement) -> str:
    """Say who is outside, of all that were judged."""
    outside = [one for one in judged.airframes if one.outside]
    aside = [one.airframe for one in judged.airframes if one.verdict == SET_ASIDE]
    groups = f"{judged.quantity.group_word}s"
    apart = ""
    if aside:
        be = "is" if len(aside) == 1 else "are"
        apart = f" {listed(aside, _LISTED)} {be} set aside, as none of their points counts."
    if not outside:
        number = len({one.airframe for one in judged.airframes}) - len(set(aside))
        many = counted(number, "airframe")
        return f"Of {many} none is outside its {judged.quantity.group_word}.{apart}"
    if len(outside) == 1:
        return f"{standing_answer(judged.quantity, outside[0])}{apart}"
    each = "; ".join(
        f"{one.airframe} {_most(judged.quantity, one)[3:]}" for one in outside[:_LISTED]
    )
    more = f"; and {len(outside) - _LISTED} more" if len(outside) > _LISTED else ""
    return f"{len(outside)} airframes are outside their {groups}: {each}{more}.{apart}"
