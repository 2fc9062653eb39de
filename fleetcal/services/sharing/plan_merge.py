"""Settle whose word a share is, hold its entries against those of a store, and check them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fleetcal.errors import DataError
from fleetcal.services.sharing.doubted_entries import doubted_entries
from fleetcal.services.sharing.points_of_share import refuse_contradictions
from fleetcal.services.sharing.share_format import ShareFile
from fleetcal.services.sharing.share_logs import SharedLog, logs_to_keep
from fleetcal.services.sharing.signing_key import own_signer
from fleetcal.store import list_logs
from fleetcal.store.exchange.authority import Authority
from fleetcal.store.exchange.claims import ClaimsJudged, Signing, judge_claims
from fleetcal.store.exchange.collect_entries import (
    collect_entries,
    keys_of_replaced,
    replaced_digests,
)
from fleetcal.store.exchange.cross_checks import settle_across
from fleetcal.store.exchange.entries import Entries, Key, by_name
from fleetcal.store.exchange.merge_rules import Merging, Side, begin_merge
from fleetcal.store.owner_rows import Owners, load_owners
from fleetcal.store.person import Person

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Choices:
    """How conflicts are settled.

    Attributes:
        take: ``mine`` or ``theirs`` for all that are not named.
        named: Side by the number of a conflict.
    """

    take: Side | None
    named: Mapping[str, Side]

    def side(self, number: str) -> Side | None:
        """Return the side chosen for a conflict."""
        return self.named.get(number, self.take)

    def named_side(self, number: str) -> Side | None:
        """Return the side chosen for a conflict; ``theirs`` only if it was named."""
        return self.named.get(number, "mine" if self.take == "mine" else None)


@dataclass(frozen=True, kw_only=True)
class PlannedMerge:
    """What a merge would do.

    Attributes:
        judged: What becomes of owners and coordinators.
    """

    merging: Merging
    judged: ClaimsJudged
    logs: list[SharedLog]


def plan_merge(session: Session, file: ShareFile, name: str, choices: Choices) -> PlannedMerge:
    """Merge a share with the entries of a store, without writing.

    Args:
        name: Of the file, for messages.

    Raises:
        DataError: If a choice names a conflict that there is not, points contradict what comes
            with them, or the key that signs here cannot be read.
    """
    gone = replaced_digests(session)
    mine = collect_entries(session, *_scope(file.entries))
    theirs = doubted_entries(file.entries, mine)
    signer = own_signer()
    own = signer.person if signer is not None else None
    owners = _with_people(load_owners(session), own)
    signing = Signing(
        signer=file.signer,
        own=own.key if own is not None else "",
        choose=choices.side,
        choose_named=choices.named_side,
    )
    judged = judge_claims(owners, file.claims, theirs, gone, signing)
    authority = Authority(
        speaker=file.signer.key if file.signer is not None else "",
        own=signing.own,
        owners=_with_people(judged.owners, file.signer),
        by_keys=keys_of_replaced(session),
    )
    merging = begin_merge(mine, theirs, gone, choices.side, authority)
    merging.conflicts[:0] = judged.conflicts
    merging.replaced |= judged.refused
    merging.given = judged.given
    settle_across(merging)
    _refuse_idle_choices(merging, choices)
    changed = [
        entry
        for entry in by_name(theirs)
        if entry.kind == "flights"
        and entry.digest != _digest(mine, entry.name)
        and entry not in merging.left_out
    ]
    refuse_contradictions(theirs, changed, name)
    logs = logs_to_keep(list_logs(session), file.logs, merging.result)
    return PlannedMerge(merging=merging, judged=judged, logs=logs)


def _digest(entries: Entries, name: Key) -> str:
    own = entries.get(name)
    return own.digest if own is not None else ""


def _with_people(owners: Owners, person: Person | None) -> Owners:
    """Return owners that know a person by a name, unless they know the key already."""
    if person is None or person.key in owners.people:
        return owners
    return replace(owners, people={**owners.people, person.key: person})


def _scope(theirs: Entries) -> tuple[set[str], set[str]]:
    """Return the tags and files that a merge has to look at in my store."""
    tags = {name for kind, (name, *_) in theirs if kind == "airframe"}
    return tags, {name for kind, (name, *_) in theirs if kind == "file"}


def _refuse_idle_choices(merging: Merging, choices: Choices) -> None:
    known = {conflict.conflict for conflict in merging.conflicts}
    for number in choices.named:
        if number not in known:
            raise DataError(
                f"there is no conflict {number} with this file",
                f"conflicts: {', '.join(sorted(known))}" if known else "there are none",
            )
