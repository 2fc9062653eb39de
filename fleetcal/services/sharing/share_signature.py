"""Who signed a share file, and whether what he signed is what the file holds.

The signature is over the SHA-256 of the contents in canonical form, with a word before it
that no other use of a key has. Name and public key of the signer, and whose airframes and
types they are by his word, stand within the contents, so none can be changed without him.
One signature holds for all of a file: an owner speaks by a file that he signed, and a club
that passes his flights on speaks for itself, which is enough to add flights and not to
change them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from fleetcal.services.sharing.shape import Check, filled, listing, one_of, optional, record, wrong
from fleetcal.services.sharing.signing_key import Signer
from fleetcal.store.exchange.claims import Claim
from fleetcal.store.exchange.entries import Entries
from fleetcal.store.owner_rows import NOBODY, Owners
from fleetcal.store.person import Person, is_name

_KEY: Final = re.compile(r"[0-9a-f]{64}")
_SIGNATURE: Final = re.compile(r"[0-9a-f]{128}")
_WORD: Final = b"fleetcal share, signed\n"


def _key(value: Any, where: str) -> None:
    if not isinstance(value, str) or not _KEY.fullmatch(value):
        wrong(where, "is not a public key of 64 small hexadecimal digits")


def _name(value: Any, where: str) -> None:
    if not isinstance(value, str) or not is_name(value):
        wrong(where, "is not a person's name in one line")


_PERSON: Final[dict[str, Check]] = {"key": _key, "name": _name}
#: Parts of the contents of a signed share.
SIGNED_PARTS: Final[dict[str, Check]] = {
    "signed_by": optional(record(_PERSON)),
    "owners": listing(
        record({"of": one_of("airframe", "type"), "what": filled, "person": record(_PERSON)})
    ),
}


def claims_for(entries: Entries, owners: Owners, signer: Person) -> tuple[Claim, ...]:
    """Return whose the airframes and types among some entries are, as a store knows it.

    Args:
        signer: Whose the store's own airframes are.
    """
    found = []
    for kind, (name, *_) in entries:
        if kind == "airframe" and owners.airframes[name] != NOBODY:
            key = owners.airframes[name] or signer.key
        elif kind == "type" and owners.coordinators[name]:
            key = owners.coordinators[name]
        else:
            continue
        found.append(Claim(kind, name, signer if key == signer.key else owners.person(key)))
    return tuple(found)


def signed_parts(signer: Signer | None, claims: tuple[Claim, ...]) -> dict[str, Any]:
    """Return what the contents of a share say of its signer and of owners."""
    claimed = [
        {"of": one.of, "what": one.name, "person": _document(one.person)}
        for one in sorted(claims, key=lambda one: (one.of, one.name))
    ]
    return {"signed_by": None if signer is None else _document(signer.person), "owners": claimed}


def _document(person: Person) -> dict[str, str]:
    return {"key": person.key, "name": person.name}


def signature_of(signer: Signer | None, checksum: str) -> str:
    """Return the signature of contents by their checksum; empty where nobody signs."""
    return "" if signer is None else signer.sign(_WORD + checksum.encode("ascii"))


def signer_of(
    contents: Mapping[str, Any], checksum: str, signature: Any, name: str
) -> Person | None:
    """Return who signed, None if nobody did.

    Args:
        contents: Of the shape `SIGNED_PARTS`.
        checksum: Of the contents as they are.
        name: Of the file, for messages.

    Raises:
        MalformedFileError: If the signature is not of these contents by this key.
    """
    signed_by = contents["signed_by"]
    if signed_by is None:
        if signature != "":
            wrong(name, "has a signature, and does not say whose")
        return None
    if not isinstance(signature, str) or not _SIGNATURE.fullmatch(signature):
        wrong(name, "says who signed it, and has no signature")
    person = Person(**signed_by)
    if not _fits(person.key, signature, _WORD + checksum.encode("ascii")):
        wrong(name, f"was changed after it was signed by {person.shown}, or never signed by that")
    return person


def _fits(key: str, signature: str, message: bytes) -> bool:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(
            bytes.fromhex(signature), message
        )
    except (InvalidSignature, ValueError):
        return False
    return True


def claims_of(
    contents: Mapping[str, Any], signer: Person | None, entries: Entries, name: str
) -> tuple[Claim, ...]:
    """Return whose airframes and types are what, by the signer's word.

    Raises:
        MalformedFileError: If nobody signed that, or it is not about what the file holds.
    """
    found: dict[tuple[str, str], Claim] = {}
    for row in contents["owners"]:
        one = Claim(row["of"], row["what"], Person(**row["person"]))
        where = f"{name}: owner of {one.of} {one.name}"
        if signer is None:
            wrong(where, "is not signed by anybody")
        if (one.of, one.name) in found:
            wrong(where, "is there twice")
        if (one.of, (one.name,)) not in entries:
            wrong(where, "is said of something that the file does not have")
        found[one.of, one.name] = one
    return tuple(found.values())
