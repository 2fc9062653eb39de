"""Who is in the pool of a curve: all but the airframes outside, unless somebody chose otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fleetcal.errors import DataError
from fleetcal.fleet.left_out import may_leave
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import sorted_into_groups
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.field_names import NEVER_PRINTED, printed
from fleetcal.store import Store, type_of_airframe
from fleetcal.wording import counted


@dataclass(frozen=True, kw_only=True)
class AirframeLeftOut:
    """An airframe whose points are in the store and not in the pool.

    Attributes:
        outside: Whether it was found outside; else somebody took it out.
        departure, at_speed_kt: Where it departs most from the group.
        reason: In words that follow its tag.
    """

    quantity: Quantity = field(metadata=NEVER_PRINTED)
    airframe: str
    group: str = field(metadata=printed("{group}"))
    points: int = field(metadata=printed("{many}"))
    outside: bool
    departure: float | None = field(metadata=printed("departure_{unit}"))
    at_speed_kt: float | None = field(metadata=printed("at_{speed}_kt"))
    reason: str

    def __str__(self) -> str:
        return f"{self.airframe}, {self.reason}"


@dataclass(frozen=True)
class Pool:
    """The points that are pooled, and who was left out or kept in although outside.

    Attributes:
        left_out: Of all groups of the type, since all groups share one spread.
        kept (tuple of (group, sentence)): One for each airframe that stands outside and is in the
            pool.
    """

    known: TypePoints
    left_out: tuple[AirframeLeftOut, ...] = ()
    kept: tuple[tuple[str, str], ...] = ()

    def left_out_of(self, group: GroupName) -> tuple[AirframeLeftOut, ...]:
        """Return who was left out of one group."""
        return tuple(one for one in self.left_out if one.group == str(group))

    def kept_in(self, group: GroupName) -> tuple[str, ...]:
        """Return the sentences on who stands outside one group and is in the pool."""
        return tuple(sentence for name, sentence in self.kept if name == str(group))


def checked_choice(store: Store, choice: MemberChoice, known: TypePoints) -> MemberChoice:
    """Return a choice with the tags as the store writes them.

    Raises:
        UnknownNameError: If an airframe is not in the store.
        DataError: If one is both kept and taken out, or has no points that could be pooled.
    """
    with store.lookup() as reader:
        for tag in (*choice.kept, *choice.taken_out):
            type_of_airframe(reader, tag)  # refuses one that is not there
    kept, taken_out = (tuple(dict.fromkeys(tags)) for tags in (choice.kept, choice.taken_out))
    both = sorted(set(kept) & set(taken_out))
    if both:
        raise DataError(f"{both[0]} is both kept in the pool and taken out", "say one of the two")
    flying = {member.airframe for member in known.members}
    for tag in (*kept, *taken_out):
        if tag not in flying:
            raise DataError(
                f"{tag} has no {known.quantity.many} that count in a "
                f"{known.quantity.group_word} with flaps {known.flap_setting}, so it "
                "cannot be kept in the pool or taken out",
                f"'fleetcal points list --airframe {tag}' shows its points and why they are out",
            )
    return MemberChoice(kept, taken_out)


def pool_of(
    known: TypePoints,
    judged: Sequence[AirframeVerdict],
    choice: MemberChoice | None = None,
    named: Sequence[GroupName] = (),
) -> Pool:
    """Return the points to pool.

    An airframe found outside leaves its group, unless it is kept by choice or
    would leave fewer than three airframes there.

    Args:
        judged: In the order of the members.
        choice: With tags as the store writes them.
        named: Groups that must remain.

    Raises:
        FitError: If airframes are taken out by choice and too few remain.
    """
    choice = choice or MemberChoice()
    taken_out = {i for i, m in enumerate(known.members) if m.airframe in choice.taken_out}
    outside = {i for i, one in enumerate(judged) if one.outside}
    leaving = {i for i in outside if known.members[i].airframe not in choice.kept} - taken_out
    gone = taken_out | (may_leave(known.points.group_of, taken_out | leaving) & leaving)
    kept = tuple(
        (judged[i].group, _kept_words(judged[i], known.members[i].airframe in choice.kept))
        for i in sorted(outside - gone)
    )
    if not gone:
        return Pool(known, (), kept)
    stay = [i for i, owner in enumerate(known.points.aircraft) if int(owner) not in gone]
    rest = sorted_into_groups(
        known,
        [known.rows[i] for i in stay],
        [known.members[known.points.aircraft[i]] for i in stay],
        named,
    )
    left_out = tuple(_left_out(known.quantity, judged[i], i in outside) for i in sorted(gone))
    return Pool(rest, left_out, kept)


def _left_out(quantity: Quantity, one: AirframeVerdict, outside: bool) -> AirframeLeftOut:
    where = ""
    if one.largest_departure is not None:
        where = f" by {quantity.signed(one.largest_departure)} at {one.at_speed_kt:.0f} kt"
    reason = f"which stands outside{where}" if outside else "taken out as asked"
    return AirframeLeftOut(
        quantity=quantity,
        airframe=one.airframe,
        group=one.group,
        points=one.points,
        outside=outside,
        departure=one.largest_departure,
        at_speed_kt=one.at_speed_kt,
        reason=reason,
    )


def _kept_words(one: AirframeVerdict, by_request: bool) -> str:
    why = " as asked" if by_request else ", since without it too few airframes would be left"
    return f"{one.airframe} stands outside this group and is in the pool{why}: {one.reason}"


def left_out_sentences(
    left_out: Sequence[AirframeLeftOut], group: GroupName, one_point: str = "point"
) -> tuple[str, ...]:
    """Return a sentence for each airframe that was left out, of the group and of the others.

    Args:
        group: Of the curve.
    """
    return tuple(
        f"{counted(one.points, one_point)} of {one}"
        + ("." if one.group == str(group) else f", in {one.group}: not used for the spread either.")
        for one in left_out
    )
