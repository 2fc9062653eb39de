"""The verb that publishes a table."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.verbs.answer import Answer, cautioned
from fleetcal.verbs.checked import Day, day_of, one_of
from fleetcal.verbs.curves import curve_request
from fleetcal.verbs.pool_given import tags_of
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from fleetcal.services.publishing.publish_curve import Layout, Published


def publish(
    group: str,
    out: str | Path,
    *,
    store: StorePlace = None,
    date: Day | None = None,
    type: str | None = None,
    flap_setting: str = "up",
    with_: Sequence[str] = (),
    without: Sequence[str] = (),
    direction: str = "ias-to-cas",
    weight_kg: float | None = None,
    altitude_ft: float = 0.0,
    step: float = 5.0,
    speed_unit: str = "kt",
    order: int | None = None,
    formats: Sequence[str] = (),
    paper: str = "a4",
) -> Answer[Published]:
    """Publish the table of an airframe or of a group: page, table, figure, PDF, card.

    Args:
        group: As `curve` takes it.
        out: Folder to write to; made when missing.
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.
        date: Printed on the table; today if left out.
        direction: ``ias-to-cas``, or ``cas-to-ias`` to look up calibrated airspeeds.
        weight_kg: That the airspeeds are for; the type's reference weight if left out.
        altitude_ft: Pressure altitude that the altimeter corrections are for.
        step: Rows apart, in the unit of speed.
        speed_unit: ``kt``, ``mph`` or ``km/h``.
        formats: Some of html, csv, json, markdown, svg, pdf, card; all if empty.
        paper: Of PDF and card, ``a4`` or ``letter``.

    Returns:
        `frame` has a row a file: ``format``, ``path``.

    Raises:
        UnknownNameError: If the group or the type is not in the store.
        FitError: If there are no points to fit.
        DataError: If an argument cannot be meant, or a file cannot be written.
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> fleetcal.publish("wing boom", "pages", formats=["html", "card"])
    """
    from fleetcal.services.publishing.publish_curve import publish_curve
    from fleetcal.services.units_shown import factor_between

    layout = _layout(direction, speed_unit, formats, paper)
    to_kt = 1.0 if speed_unit == "kt" else factor_between(speed_unit, "kt")
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
        altitudes_ft=(-1000.0, 30000.0),
        kt_in_step=to_kt,
    )
    day = day_of("date", date) or datetime.now(UTC).date()
    with opened(store, "publish") as one:
        found = publish_curve(one, request, Path(out), day, layout)
    return Answer(
        result=found,
        sentences=tuple(file.path for file in found.files),
        rows_in="files",
        caution=cautioned(),
    )


def _layout(direction: str, speed_unit: str, formats: Sequence[str], paper: str) -> Layout:
    from fleetcal.services.publishing.publish_curve import Layout

    one_of("direction", direction, ("ias-to-cas", "cas-to-ias"))
    one_of("speed_unit", speed_unit, ("kt", "mph", "km/h"))
    one_of("paper", paper, ("a4", "letter"))
    known = tuple(Layout().formats)
    chosen = tags_of("formats", formats) or known
    for one in chosen:
        one_of("formats", one, known)
    return Layout(direction, speed_unit, chosen, paper)
