"""Whether a change of equipment, or anything else on a date, changed what an airframe shows.

The points before and after are two curves of one airframe. What tells them
apart must exceed how much sorties of one airframe in one fit differ among each
other, and that is learnt from all airframes of the type that flew a fit more
than once.

Sorties should be alike but for their stated uncertainty, so their spread has a half-Cauchy
prior of that size. With the prior of the fleet, false alarms were 1 to 3 % and power was
lower by up to 20 points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from fleetcal.errors import DataError, FitError
from fleetcal.services.curves.change_of_airframe import (
    ChangedAirframe,
    compare_sides,
)
from fleetcal.services.curves.compare_curves import Comparison
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import named_group, of_type_of
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.services.curves.repeated_fits import RepeatedFits
from fleetcal.store import AirframeDescription, FitDescription, Store

Sides = tuple[tuple[str, str], tuple[list[PooledPoint], list[PooledPoint]]]


@dataclass(frozen=True)
class Period:
    """Days from `start` to `stop`, both included; None for no limit."""

    start: date | None
    stop: date | None

    def holds(self, day: date) -> bool:
        """Tell whether a day lies in the period."""
        after = self.start is None or day >= self.start
        return after and (self.stop is None or day <= self.stop)

    def __str__(self) -> str:
        return f"{self.start or 'the beginning'} to {self.stop or 'today'}"


def check_change(
    store: Store,
    tags: Sequence[str],
    request: PoolRequest,
    periods: tuple[Period, Period] | None = None,
    between: tuple[str, str] | None = None,
) -> Comparison:
    """Compare airframes before and after.

    Args:
        tags: One airframe, or several that made the same change; with `between` none stands for all
            that flew both groups.
        periods: Before and after, whatever was fitted; the two last fits with points when left out.
        between: Groups before and after, in the place of periods.

    Returns:
        After less before.

    Raises:
        UnknownNameError: If an airframe or a group is not in the store.
        DataError: If airframes of two types are named.
        FitError: If a side has no points, the sides share no speed, or nothing tells how much
            sorties differ among each other.
    """
    request = of_type_of(store, tags, request)
    names = sorted(set(tags))
    return FlownFits(request.quantity.read(store, request)).check(names, periods, between)


class FlownFits:
    """The points of a type by airframe and fit, read and summed once for any number of checks.

    A flight before the first fit of its airframe, as an older store may hold, is of no side.
    """

    def __init__(self, read: ReadPoints) -> None:
        self.read = read
        self.history = {one.tag: one for one in read.description.airframes}
        self.own: dict[str, list[PooledPoint]] = {}
        for row in read.points:
            if fit_on(self.history[row.airframe], row.flown_on) is not None:
                self.own.setdefault(row.airframe, []).append(row)

    def check(
        self,
        names: Sequence[str],
        periods: tuple[Period, Period] | None = None,
        between: tuple[str, str] | None = None,
    ) -> Comparison:
        """Compare airframes before and after, as `check_change` does.

        Args:
            names: Tags, as the store writes them.
        """
        groups = None if between is None else _both_groups(self.read, between)
        if groups is not None and not names:
            names = _flown_in_both(self.read.points, groups)
        changed = []
        for tag in names:
            called, sides = _sides(self.history[tag], self.own.get(tag, []), periods, groups)
            _require_sides(tag, called, sides)
            changed.append(ChangedAirframe(tag, called, sides))
        return compare_sides(self.read, changed, self.repeated)

    @cached_property
    def repeated(self) -> RepeatedFits:
        """The fits in which an airframe flew more than one sortie."""
        flown: dict[tuple[str, date], list[PooledPoint]] = {}
        for tag, rows in self.own.items():
            for row in rows:
                start = _fit_on(self.history[tag], row.flown_on).from_date
                flown.setdefault((tag, start), []).append(row)
        return RepeatedFits(
            self.read,
            [
                (tag, rows)
                for (tag, _), rows in sorted(flown.items())
                if len({row.sortie_id for row in rows}) > 1
            ],
        )


def change_so_far(
    store: Store, tag: str, request: PoolRequest
) -> tuple[ReadPoints, ChangedAirframe, RepeatedFits]:
    """Return what is known of the last change of an airframe, whose second side may be to come.

    Returns:
        All points; the airframe with its points before and after; and the fits in which one flew
        more than one sortie. Of an airframe whose last points are all of one fit they
        are the points before, and nothing is after.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        FitError: If it has no accepted points.
    """
    request = of_type_of(store, [tag], request)
    flown_fits = FlownFits(request.quantity.read(store, request))
    read, history, own = flown_fits.read, flown_fits.history, flown_fits.own.get(tag, [])
    repeated = flown_fits.repeated
    if not own:
        raise FitError(
            f"{tag}: no accepted {read.flown.what}{read.flown.how}",
            "reduce a flight of the time before the change",
        )
    last = max(history[tag].fits, key=lambda fit: fit.from_date)
    newest = max((_fit_on(history[tag], r.flown_on) for r in own), key=lambda f: f.from_date)
    flown = {_fit_on(history[tag], row.flown_on).from_date for row in own}
    if newest.from_date == last.from_date and len(flown) > 1:
        names, sides = _last_change(history[tag], own)
        return read, ChangedAirframe(tag, names, sides), repeated
    before = [r for r in own if _fit_on(history[tag], r.flown_on) == newest]
    after = "the change to come" if newest == last else _fit_words(last)
    return read, ChangedAirframe(tag, (_fit_words(newest), after), (before, [])), repeated


def _flown_in_both(rows: Sequence[PooledPoint], groups: tuple[GroupName, GroupName]) -> list[str]:
    before, after = ({row.airframe for row in rows if group.holds(row)} for group in groups)
    if not before & after:
        raise FitError(
            f"no airframe has points in {groups[0]} and in {groups[1]}",
            "reduce flights of one that made the change, before and after",
        )
    return sorted(before & after)


def _both_groups(read: ReadPoints, between: tuple[str, str]) -> tuple[GroupName, GroupName]:
    before, after = (named_group(read, text) for text in between)
    if before == after:
        word = read.quantity.group_word
        raise DataError(f"{before} is named twice", f"name the {word} before and the {word} after")
    return before, after


def _sides(
    airframe: AirframeDescription,
    own: list[PooledPoint],
    periods: tuple[Period, Period] | None,
    groups: tuple[GroupName, GroupName] | None,
) -> Sides:
    """Return names and points of before and after."""
    if groups is not None:
        before, after = ([row for row in own if group.holds(row)] for group in groups)
        return (str(groups[0]), str(groups[1])), (before, after)
    if periods is not None:
        before, after = ([r for r in own if period.holds(r.flown_on)] for period in periods)
        return (str(periods[0]), str(periods[1])), (before, after)
    return _last_change(airframe, own)


def _last_change(airframe: AirframeDescription, rows: Sequence[PooledPoint]) -> Sides:
    """Return names and points of the two last fits that have points."""
    by_fit: dict[date, list[PooledPoint]] = {}
    for row in rows:
        by_fit.setdefault(_fit_on(airframe, row.flown_on).from_date, []).append(row)
    starts = sorted(by_fit)[-2:]
    if len(starts) < 2:
        raise FitError(
            f"{airframe.tag}: its accepted points were all flown in one fit",
            "fly it after the change, or give two periods with --before and --after",
        )
    before, after = (_fit_words(_fit_on(airframe, start)) for start in starts)
    return (before, after), (by_fit[starts[0]], by_fit[starts[1]])


def fit_on(airframe: AirframeDescription, day: date) -> FitDescription | None:
    """Return what an airframe carried on a day, None before its first fit."""
    begun = (fit for fit in airframe.fits if fit.from_date <= day)
    return max(begun, key=lambda fit: fit.from_date, default=None)


def _fit_on(airframe: AirframeDescription, day: date) -> FitDescription:
    fit = fit_on(airframe, day)
    assert fit is not None  # of a flight of `FlownFits.own`
    return fit


def _fit_words(fit: FitDescription) -> str:
    return f"{fit.static_source} / {fit.engine} / {fit.propeller} from {fit.from_date}"


def _require_sides(
    tag: str, names: tuple[str, str], sides: tuple[list[PooledPoint], list[PooledPoint]]
) -> None:
    for name, rows in zip(names, sides, strict=True):
        if not rows:
            raise FitError(f"{tag}: no accepted points in {name}", "reduce a flight of that time")
