"""The verbs on curves: which groups there are, their corrections, who stands where."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from fleetcal.verbs.answer import Answer, DrawnAnswer, cautioned, doubts_and_notes
from fleetcal.verbs.checked import count_within, number_within, within
from fleetcal.verbs.pool_given import POSITION_ERROR, pool_request, tags_of
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from fleetcal.services.curves.judgement import Judgement
    from fleetcal.services.curves.list_groups import GroupList
    from fleetcal.services.curves.pooled_curve import CurveRequest, PooledCurve


def groups(*, store: StorePlace = None) -> Answer[GroupList]:
    """List the groups of a store: static source and pairing, with what each has.

    Args:
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.

    Returns:
        `frame` has a row a group: type, name, flap setting, numbers of airframes, sorties and
        points, ``slowest_kt`` and ``fastest_kt`` as read, and whether it is enough for a curve.

    Raises:
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> fleetcal.groups(store="corrie.store").frame()
    """
    from fleetcal.services.curves.list_groups import groups_answer, list_groups

    with opened(store, "groups") as one:
        found = list_groups(one)
    return Answer(
        result=found,
        sentences=(groups_answer(found),),
        rows_in="groups",
        notable=(
            *("group", "flap_setting", "airframes", "sorties", "points", "slowest_kt"),
            *("fastest_kt", "enough"),
        ),
        warnings=doubts_and_notes(found.set_aside),
    )


def curve(
    group: str,
    *,
    store: StorePlace = None,
    type: str | None = None,
    flap_setting: str = "up",
    weight_kg: float | None = None,
    altitude_ft: float = 0.0,
    step: float = 5.0,
    order: int | None = None,
    with_: Sequence[str] = (),
    without: Sequence[str] = (),
) -> DrawnAnswer[PooledCurve]:
    """Tell the airspeed correction of one airframe or of a group, with how sure it is.

    Args:
        group: Tag of an airframe, for its own correction; "static source / engine / propeller"; or
            a static source alone, for all pairings flown with it.
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.
        type: Aircraft type; may be left out if there is one.
        weight_kg: That the airspeeds are for; the type's reference weight if left out.
        altitude_ft: Pressure altitude that the altimeter corrections are for.
        step: Rows apart, kt.
        order: Of the curve, 0 to 2; chosen by the points if left out.
        with_, without: Airframes to keep in the pool, and to leave out of it.

    Returns:
        `frame` has a row a speed: ``ias_kt``, ``cas_kt``, ``correction_kt`` to be added to the
        reading, ``mean_low_kt`` to ``mean_high_kt`` at 95 % for the group's mean (for this aircraft
        where a tag was given), ``next_low_kt`` to ``next_high_kt`` for another aircraft of the
        group, ``altitude_correction_ft``. Speeds that nobody flew have no values, and a note.

    Raises:
        UnknownNameError: If the group or the type is not in the store.
        FitError: If there are no points to fit.
        DataError: If an argument cannot be meant.
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> own = fleetcal.curve("C-07", store="corrie.store")
        >>> own.frame().plot(x="ias_kt", y="correction_kt")
    """
    from fleetcal.services.curves.answer_words import curve_answer
    from fleetcal.services.publishing.curve_with_figure import curve_with_figure

    request = curve_request(
        group,
        type=type,
        flap_setting=flap_setting,
        weight_kg=weight_kg,
        altitude_ft=altitude_ft,
        step=step,
        order=order,
        with_=with_,
        without=without,
    )
    with opened(store, "curve") as one:
        found, drawing = curve_with_figure(one, request, datetime.now(UTC).date())
    return DrawnAnswer(
        result=found,
        sentences=found.answers or (curve_answer(found.rows),),
        rows_in="rows",
        notable=(
            *("ias_kt", "correction_kt", "mean_low_kt", "mean_high_kt", "next_low_kt"),
            *("next_high_kt", "cas_kt", "altitude_correction_ft"),
        ),
        warnings=doubts_and_notes(found.rests_on, found.doubts, found.outside, found.left_out),
        caution=cautioned(),
        drawing=drawing,
    )


def curve_request(
    group: str,
    *,
    type: str | None,
    flap_setting: str,
    weight_kg: float | None,
    altitude_ft: float,
    step: float,
    order: int | None,
    with_: Sequence[str],
    without: Sequence[str],
    altitudes_ft: tuple[float, float] = (-2000.0, 40000.0),
    kt_in_step: float = 1.0,
) -> CurveRequest:
    """Return what is asked of a curve as a service takes it, checked.

    Args:
        altitudes_ft: Lowest and highest that may be asked for.
        kt_in_step: Of the unit that the step is in.

    Raises:
        DataError: If a value is outside its limits.
    """
    from fleetcal.services.curves.pooled_curve import CurveRequest

    return CurveRequest(
        group=group,
        type=type,
        flap_setting=flap_setting,
        weight_kg=within("weight_kg", weight_kg, 1.0, 100000.0),
        altitude_ft=number_within("altitude_ft", altitude_ft, *altitudes_ft),
        step_kt=number_within("step", step, 0.5, 100.0) * kt_in_step,
        order=count_within("order", order, 0, 2),
        with_airframes=tags_of("with_", with_),
        without_airframes=tags_of("without", without),
    )


def standing(
    tag: str,
    *,
    store: StorePlace = None,
    quantity: str = POSITION_ERROR,
    power_state: str | None = None,
    type: str | None = None,
    flap_setting: str = "up",
    usual_spread_kt: float | None = None,
    second_opinion: bool = False,
) -> DrawnAnswer[Judgement]:
    """Tell where an airframe stands against the others of its group.

    Args:
        tag: Of the airframe.
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.
        quantity: ``position-error``, ``climb``, ``glide`` or ``cruise``.
        power_state: Of climbs and glides; may be left out if there is one.
        type: Aircraft type; may be left out if there is one.
        usual_spread_kt: How much sound airframes of the type differ at 100 kt, one standard
            deviation, if you know better than the default; of position error alone.
        second_opinion: Say too what an independent program finds.

    Returns:
        `frame` has a row a group that it flew in: ``verdict``, ``largest_departure_kt`` (for other
        quantities in their unit) with its speed, ``p_value``, ``reason``.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        FitError: If it has no accepted point in a group that can be fitted.
        DataError: If an argument cannot be meant.
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> fleetcal.standing("C-07", store="corrie.store").draw().savefig("C-07.png")
    """
    from fleetcal.services.curves.answer_words import standing_answer
    from fleetcal.services.curves.judge_airframes import judge_airframe
    from fleetcal.services.drawings import StandingPicture, standing_drawing

    request = pool_request(
        quantity=quantity,
        power_state=power_state,
        type=type,
        flap_setting=flap_setting,
        usual_spread_kt=usual_spread_kt,
    )
    drawn: list[tuple[StandingPicture, ...]] = []
    with opened(store, "standing") as one:
        found = judge_airframe(one, tag, request, drawn.append, second_opinion=second_opinion)
    settled = (f"{detail.airframe}: {detail.settles}" for detail in found.details if detail.settles)
    return DrawnAnswer(
        result=found,
        sentences=tuple(standing_answer(found.quantity, one) for one in found.airframes),
        rows_in="airframes",
        notable=(
            *("airframe", "group", "verdict", "largest_departure_kt", "largest_departure_ftmin"),
            *("at_ias_kt", "at_cas_kt", "at_tas_kt", "p_value", "others", "points"),
        ),
        warnings=doubts_and_notes(
            [one.reason for one in found.airframes],
            [one.said for one in found.two_clusters],
            [one.said for one in found.disagreements],
            (*found.second_opinions, *found.left_out, *found.notes),
            tuple(settled),
        ),
        caution=cautioned(),
        drawing=lambda: standing_drawing(drawn[0]),
    )
