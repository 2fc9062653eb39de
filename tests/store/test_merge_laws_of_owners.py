"""Laws of merging among owners who each sign: no order matters, twice is once, nobody else counts.

Anna owns C-01, Bo owns C-02, and a club passes on what both have given it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcal.store.exchange.authority import Authority, airframe_of
from fleetcal.store.exchange.claims import Claim, Signing, judge_claims
from fleetcal.store.exchange.cross_checks import settle_across
from fleetcal.store.exchange.entries import Entries, Key
from fleetcal.store.exchange.merge_rules import Conflict, begin_merge
from fleetcal.store.owner_rows import Owners
from fleetcal.store.person import Person
from tests.store.test_merge_laws import stores

pytestmark = pytest.mark.long

OWNER = {"C-01": Person("a1" * 32, "Anna"), "C-02": Person("b0" * 32, "Bo")}
CLUB, STRANGER, READER = (Person(two * 32) for two in ("c1", "5a", "77"))
NOBODY_YET = Owners(airframes={}, coordinators={}, deciding=frozenset(), types={}, people={})


@dataclass(frozen=True)
class Shared:
    """A share: who signed it, and what it says of owners."""

    signer: Person | None
    entries: Entries
    claims: tuple[Claim, ...]


@dataclass(frozen=True)
class Kept:
    """A reader's store: entries and owners, and what was put aside."""

    entries: Entries = field(default_factory=dict)
    owners: Owners = NOBODY_YET
    gone: Mapping[Key, frozenset[str]] = field(default_factory=dict, compare=False)


def part_of(tag: str, entries: Entries) -> Entries:
    """What the owner of one airframe shares: it, and what it refers to."""
    found = {n: e for n, e in entries.items() if airframe_of(e) in (None, tag)}
    files = {e.key[0] for e in found.values() if e.kind in ("flights", "climbs")}
    described = ("type", "static_source")
    return {
        n: e
        for n, e in found.items()
        if airframe_of(e) == tag or e.kind in described or (e.kind == "file" and e.key[0] in files)
    }


def share_of(tag: str, entries: Entries) -> Shared:
    person = OWNER[tag]
    return Shared(person, part_of(tag, entries), (Claim("airframe", tag, person),))


def take(kept: Kept, share: Shared, side: Any = None) -> tuple[Kept, list[Conflict]]:
    """Merge a share as the program does, on entries alone."""
    signing = Signing(
        signer=share.signer, own=READER.key, choose=lambda _: side, choose_named=lambda _: side
    )
    judged = judge_claims(kept.owners, share.claims, share.entries, {}, signing)
    authority = Authority(
        speaker=share.signer.key if share.signer is not None else "",
        own=READER.key,
        owners=judged.owners,
        by_keys={},
    )
    merging = begin_merge(kept.entries, share.entries, kept.gone, lambda _: side, authority)
    merging.conflicts[:0] = judged.conflicts
    settle_across(merging)
    owners = judged.owners
    for (of, name), owner in judged.given.items():
        if of == "airframe":
            kind = merging.result["airframe", (name,)].content["type"]
            owners = replace(
                owners,
                airframes={**owners.airframes, name: owner},
                types={**owners.types, name: kind},
            )
        else:
            owners = replace(owners, coordinators={**owners.coordinators, name: owner})
    gone = dict(kept.gone)
    for key, digest in merging.replaced:
        gone[key] = gone.get(key, frozenset()) | {digest}
    return Kept(merging.result, owners, gone), merging.conflicts


def taken(*shares: Shared) -> Kept:
    """Take shares in this order into an empty store; a conflict fails."""
    kept = Kept()
    for share in shares:
        kept, conflicts = take(kept, share)
        assert conflicts == []
    return kept


def shares() -> st.SearchStrategy[list[Shared]]:
    """Two shares of either owner, early and late, of which neither knows the other."""
    tags = ("C-01", "C-02")
    return st.tuples(stores(), stores()).map(
        lambda pair: [share_of(tag, entries) for tag in tags for entries in pair]
    )


@settings(max_examples=25)
@given(shares())
def test_the_order_of_owners_shares_does_not_matter(given_: list[Shared]) -> None:
    results = [taken(*order) for order in permutations(given_)]
    assert all(result == results[0] for result in results)
    assert results[0].owners.airframes == {tag: one.key for tag, one in OWNER.items()}


@given(shares())
def test_an_owners_share_twice_is_once(given_: list[Shared]) -> None:
    once = taken(*given_)
    for share in given_:
        assert take(once, share) == (once, [])


@settings(max_examples=25)
@given(shares())
def test_owners_shares_may_be_pooled_in_groups_and_passed_on(given_: list[Shared]) -> None:
    """A club pools the first two, a reader takes the pool and then what all owners share."""
    pooled = taken(*given_[:2])
    claims = tuple(Claim("airframe", tag, OWNER[tag]) for tag in pooled.owners.airframes)
    begun = taken(Shared(CLUB, pooled.entries, claims))
    assert begun.entries == pooled.entries
    for share in given_:
        begun, conflicts = take(begun, share)
        assert conflicts == []
    assert begun == taken(*given_)


def said(kept: Kept, tag: str) -> dict[Any, Any]:
    """All that counts of an airframe: contents, decisions, powers, withdrawals."""
    counts = {}
    for name, entry in kept.entries.items():
        if airframe_of(entry) == tag:
            parts = entry.state.get("sorties", [entry.state])
            names = ("decisions", "powers", "withdrawn")
            counts[name] = entry.content, [[part.get(one) for one in names] for part in parts]
    return counts


@given(shares(), stores(), st.sampled_from([None, STRANGER, CLUB, OWNER["C-02"]]))
def test_nobody_else_changes_an_airframe_whether_refused_or_left_open(
    given_: list[Shared], other: Entries, by: Person | None
) -> None:
    kept = taken(*given_)
    claims = () if by is None else (Claim("airframe", "C-01", by),)
    forged = Shared(by, part_of("C-01", other), claims)
    for side in ("mine", None):
        found, conflicts = take(kept, forged, side)
        assert said(found, "C-01") == said(kept, "C-01")
        assert found.owners.airframes == kept.owners.airframes
        assert by is None or conflicts  # the claim at least


@given(shares(), stores())
def test_a_refused_change_is_not_asked_about_again(given_: list[Shared], other: Entries) -> None:
    forged = Shared(STRANGER, part_of("C-01", other), ())
    kept, _ = take(taken(*given_), forged, "mine")
    assert take(kept, forged) == (kept, [])
