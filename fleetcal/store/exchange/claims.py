"""What a share says of owners, held against what this store knows: trust on first use.

With an airframe or a type that is not here yet comes its owner or coordinator, as the signer
says. Of those that are here, only what the signer says of himself is looked at: it is a
conflict, and an airframe or type goes over only by choice. The same holds for a name that
another key has here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256

from fleetcal.store.exchange.entries import Entry, Key, canonical
from fleetcal.store.exchange.merge_rules import Chooser, Conflict, Side
from fleetcal.store.owner_rows import NOBODY, OWN, Owners
from fleetcal.store.person import Person


@dataclass(frozen=True)
class Claim:
    """Whose an airframe is, or who coordinates a type, by the word of a share's signer.

    Attributes:
        of: ``airframe`` or ``type``.
    """

    of: str
    name: str
    person: Person


@dataclass(kw_only=True)
class ClaimsJudged:
    """What becomes of claims.

    Attributes:
        owners: As they count in the merge.
        given: By kind and name: owners to be written, of what is new or goes over.
        people: To be kept.
        refused: By entry and digest: claims that are not to be asked about again.
    """

    owners: Owners
    given: dict[tuple[str, str], str] = field(default_factory=dict)
    people: set[Person] = field(default_factory=set)
    conflicts: list[Conflict] = field(default_factory=list)
    refused: dict[tuple[Key, str], str | None] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Signing:
    """Who signed a share, who signs here, and how to choose.

    Attributes:
        signer: None if nobody did.
        own: Public key that signs here; empty if there is none yet.
        choose_named: Like `choose`, but what has an owner is handed over by its number only.
    """

    signer: Person | None
    own: str
    choose: Chooser
    choose_named: Chooser


def judge_claims(
    owners: Owners,
    claims: Iterable[Claim],
    theirs: Mapping[Key, Entry],
    gone: Mapping[Key, frozenset[str]],
    signing: Signing,
) -> ClaimsJudged:
    """Find out whose word counts in a merge, and what of that is to be chosen.

    Args:
        owners: Of this store.
        gone: Digests replaced or refused in this store.
    """
    judged = ClaimsJudged(owners=owners)
    if signing.signer is not None and signing.signer.key != signing.own:
        judged.people.add(_named(judged, signing.signer, gone, signing))
    by_name = {(claim.of, claim.name): claim for claim in claims}
    for kind, (name, *_) in sorted(key for key in theirs if key[0] in ("airframe", "type")):
        claim = by_name.get((kind, name))
        known = owners.airframes if kind == "airframe" else owners.coordinators
        if name in known:
            if claim is not None and _is_signer(claim, signing):
                _take_over(judged, claim, known[name], gone, signing)
        elif claim is None:
            judged.given[kind, name] = NOBODY if kind == "airframe" else ""
        else:
            is_own = kind == "airframe" and claim.person.key == signing.own
            judged.given[kind, name] = OWN if is_own else claim.person.key
            if not _is_signer(claim, signing):
                judged.people.add(_unless_known(claim.person, owners))
    return judged


def _is_signer(claim: Claim, signing: Signing) -> bool:
    return signing.signer is not None and claim.person.key == signing.signer.key


def _take_over(
    judged: ClaimsJudged,
    claim: Claim,
    here: str,
    gone: Mapping[Key, frozenset[str]],
    signing: Signing,
) -> None:
    key = claim.person.key
    is_own = key == signing.own
    nobodys = here in ("", NOBODY) if claim.of == "type" else here == NOBODY
    if key == here or (is_own and here == OWN):
        return
    new = OWN if is_own and claim.of == "airframe" else key
    if not (is_own and nobodys):
        now = _whose(here, claim.of, judged.owners)
        side = _ask(
            judged,
            ["owner", claim.of, claim.name, here, key],
            (
                f"{claim.of} {claim.name}: {now} here, and {claim.person.shown} claims "
                f"{'it' if claim.of == 'airframe' else 'to coordinate it'}",
                "leave that as it is",
                f"it is that of {claim.person.shown} from now on",
            ),
            signing.choose if nobodys else signing.choose_named,
            gone,
        )
        if side == "mine" or (side is None and not nobodys):
            return
    judged.given[claim.of, claim.name] = new
    if claim.of == "airframe":
        airframes = {**judged.owners.airframes, claim.name: new}
        judged.owners = replace(judged.owners, airframes=airframes)
    else:
        coordinators = {**judged.owners.coordinators, claim.name: new}
        judged.owners = replace(judged.owners, coordinators=coordinators)


def _whose(here: str, of: str, owners: Owners) -> str:
    if here == NOBODY or (of == "type" and not here):
        return "nobody's"
    return "this store's own" if here == OWN else f"that of {owners.person(here).shown}"


def _named(
    judged: ClaimsJudged, signer: Person, gone: Mapping[Key, frozenset[str]], signing: Signing
) -> Person:
    """Return the signer, without a name that another key has here unless that was chosen."""
    clash = _same_name(signer, judged.owners)
    if clash is None:
        return signer
    side = _ask(
        judged,
        ["name", signer.name, clash.key, signer.key],
        (
            f"the name {signer.name} is that of key {clash.mark} here, and this share is signed "
            f"with key {signer.mark}",
            "that is somebody else; keep this key without a name",
            "both keys belong to that person",
        ),
        signing.choose_named,
        gone,
    )
    return signer if side == "theirs" else Person(signer.key)


def _unless_known(person: Person, owners: Owners) -> Person:
    return person if _same_name(person, owners) is None else Person(person.key)


def _same_name(person: Person, owners: Owners) -> Person | None:
    """Return somebody else who is known by the name of a person that is not known yet."""
    if not person.name or person.key in owners.people:
        return None
    return next(
        (
            one
            for _, one in sorted(owners.people.items())
            if one.name.casefold() == person.name.casefold()
        ),
        None,
    )


def _ask(
    judged: ClaimsJudged,
    mark: list[str],
    words: tuple[str, str, str],
    choose: Callable[[str], Side | None],
    gone: Mapping[Key, frozenset[str]],
) -> Side | None:
    """List a conflict, unless it was refused before, and return the side chosen."""
    written = canonical(mark)
    digest = sha256(written.encode("ascii")).hexdigest()
    name: Key = ("claim", tuple(mark[1:3]))
    if digest in gone.get(name, frozenset()):
        return "mine"
    side = choose(digest[:8])
    what, mine, theirs = words
    judged.conflicts.append(
        Conflict(conflict=digest[:8], what=what, mine=mine, theirs=theirs, chosen=side or "")
    )
    if side == "mine":
        judged.refused[name, digest] = written
    return side
