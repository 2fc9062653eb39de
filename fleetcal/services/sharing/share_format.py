"""The share file: JSON with a version and a checksum; read whole or refused whole.

The checksum is over the contents in canonical form (keys sorted, no blanks, ASCII, shortest
floats), so other blanks are no damage and any other value is. It shows damage; who wrote
the file, a signature shows (`share_signature.py`). Version 2 added climbs, powers, cruise
tables and logs; version 3 whose errors terms are, the air of legs, what temperature displays
show and what the speeds of a type are; version 4 the signature and owners. Older files are
read as files that nobody signed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from fleetcal.errors import EmptyFileError, MalformedFileError, NotTextError
from fleetcal.services.sharing.older_share import with_all_parts, with_run_numbers
from fleetcal.services.sharing.shape import (
    VERSION,
    Check,
    flag,
    listing,
    record,
    sha256_text,
    text,
    wrong,
)
from fleetcal.services.sharing.share_logs import LOGS_SHAPE, SharedLog, logs_of
from fleetcal.services.sharing.share_shape import OLDER_FLIGHTS, SHAPES, check_together
from fleetcal.services.sharing.share_signature import (
    SIGNED_PARTS,
    claims_of,
    signature_of,
    signed_parts,
    signer_of,
)
from fleetcal.services.sharing.signing_key import Signer
from fleetcal.store.exchange.claims import Claim
from fleetcal.store.exchange.entries import KINDS, Entries, Entry, by_name, canonical
from fleetcal.store.person import Person
from fleetcal.store.term_owners import with_owner
from fleetcal.version import __version__

FORMAT: Final = "fleetcal share"
#: What older versions of the format did not carry.
_NEW_SINCE: Final = {
    1: ("climbs", "cruise_table", "thermometer"),
    2: ("thermometer",),
}
_LARGEST_BYTES: Final = 2_000_000_000


@dataclass(frozen=True)
class ShareFile:
    """What a share file holds.

    Attributes:
        signer: Who signed it; None if nobody did.
        claims: Whose airframes and types are what, by his word.
    """

    entries: Entries
    logs: tuple[SharedLog, ...]
    signer: Person | None
    claims: tuple[Claim, ...]


def share_text(
    entries: Entries,
    *,
    registrations: bool,
    logs: Sequence[SharedLog] = (),
    signer: Signer | None = None,
    claims: tuple[Claim, ...] = (),
) -> str:
    """Return entries as the text of a share file; the same entries give the same text.

    Args:
        registrations: Whether the file says that registrations were left in.
        logs: By hash.
        signer: Nobody signs where it is None.
        claims: Whose airframes and types are what.
    """
    rows: dict[str, list[Any]] = {kind: [] for kind in KINDS}
    for entry in by_name(entries):
        rows[entry.kind].append(
            {
                "key": entry.key,
                "content": entry.content,
                "state": entry.state,
                "replaced": sorted(entry.replaced),
            }
        )
    contents = {
        "program_version": __version__,
        "registrations": registrations,
        "things": rows,
        "logs": [log.document() for log in logs],
        **signed_parts(signer, claims),
    }
    checksum = _checksum(contents)
    document = {
        "format": FORMAT,
        "version": VERSION,
        "sha256": checksum,
        "signature": signature_of(signer, checksum),
        "contents": contents,
    }
    return _by_line(document, deep=3) + "\n"


def _by_line(value: Any, deep: int) -> str:
    """Return JSON with a line for each entry, so that files can be compared line by line.

    Args:
        deep: Objects within objects that have a line for each name.
    """
    if isinstance(value, dict) and value and deep:
        parts = [f"{_compact(name)}: {_by_line(part, deep - 1)}" for name, part in value.items()]
        return "{\n" + ",\n".join(parts) + "\n}"
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(map(_compact, value)) + "\n]"
    return _compact(value)


def _compact(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


def read_share(raw: bytes, name: str, now: datetime) -> ShareFile:
    """Return what a share file holds.

    Args:
        name: Of the file, for messages.
        now: Aware; times after it are not believed.

    Raises:
        DataError: If the file is not a share file, of another version, damaged, or does not hold
            together.
    """
    document = _parsed(raw, name)
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        wrong(name, "is not a share file of fleetcal")
    version = document.get("version")
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        raise MalformedFileError(
            f"{name}: written in version {version} of the share format, this program reads"
            f" version {VERSION}",
            "install the newest fleetcal",
        )
    if not isinstance(version, int) or isinstance(version, bool) or not 1 <= version <= VERSION:
        wrong(name, f"does not say that it is of version {VERSION} or an older one")
    names = ["format", "version", "sha256", *(["signature"] if version > 3 else ()), "contents"]
    if set(document) != set(names):
        wrong(name, f"lacks the names {', '.join(names[:-1])} and {names[-1]}")
    contents = document["contents"]
    checksum = _checksum(contents)
    if document["sha256"] != checksum:
        wrong(name, "is damaged: its checksum does not fit its contents")
    kinds = [kind for kind in KINDS if kind not in _NEW_SINCE.get(version, ())]
    parts = {"program_version": text, "registrations": flag, "things": _shape_of(kinds, version)}
    if version > 1:
        parts["logs"] = LOGS_SHAPE
    if version > 3:
        parts |= SIGNED_PARTS
    record(parts)(contents, name)
    signed = version > 3
    signer = signer_of(contents, checksum, document["signature"], name) if signed else None
    if version < 3:
        _give_owners(contents["things"]["flights"])
    entries = with_all_parts(_entries_of(kinds, contents["things"], name), version)
    if not contents["registrations"] and any(t.kind == "registration" for t in entries.values()):
        wrong(name, "claims to have no registrations, but has some")
    check_together(entries, name, now)
    entries = with_run_numbers(entries, version)
    logs = tuple(logs_of(contents.get("logs", ()), entries, name))
    claims = claims_of(contents, signer, entries, name) if signed else ()
    return ShareFile(entries, logs, signer, claims)


def _parsed(raw: bytes, name: str) -> Any:
    if len(raw) > _LARGEST_BYTES:
        wrong(name, f"is larger than {_LARGEST_BYTES / 1e9:g} GB")
    try:
        decoded = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotTextError(f"{name}: not a text file in UTF-8", "give a share file") from error
    if not decoded.strip():
        raise EmptyFileError(f"{name}: the file is empty", "give a share file")
    try:
        return json.loads(decoded, object_pairs_hook=_no_name_twice, parse_constant=_no_constant)
    except RecursionError:
        wrong(name, "is nested deeper than any share file")
    except json.JSONDecodeError as error:
        wrong(name, f"line {error.lineno}, column {error.colno}: {error.msg}")
    except ValueError as error:
        wrong(name, str(error).splitlines()[0][:100])


def _no_name_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("an object has the same name twice")
    return found


def _no_constant(word: str) -> Any:
    raise ValueError(f"{word} is not a number")


def _checksum(contents: Any) -> str:
    """Return the SHA-256 of the contents in canonical form; empty if they have none."""
    try:
        return hashlib.sha256(canonical(contents).encode("ascii")).hexdigest()
    except (ValueError, RecursionError):
        return ""


def _shape_of(kinds: Sequence[str], version: int) -> Check:
    """Return the check of the lists of entries, each kind by its own shape."""
    shapes = {}
    for kind in kinds:
        older = OLDER_FLIGHTS.get(version) if kind == "flights" else None
        key, content, state = older or SHAPES[kind]
        parts = {"key": key, "content": content, "state": state}
        shapes[kind] = listing(record({**parts, "replaced": listing(sha256_text)}))
    return record(shapes)


def _give_owners(flights: Sequence[Mapping[str, Any]]) -> None:
    """Say of every term whose error it is: only what a sortie shares was carried then."""
    for entry in flights:
        for sortie in entry["content"]["sorties"]:
            for point in sortie["points"]:
                point["terms"] = [with_owner(term) for term in point["terms"]]


def _entries_of(kinds: Sequence[str], rows: Mapping[str, Any], name: str) -> Entries:
    entries: Entries = {}
    for kind in kinds:
        for i, row in enumerate(rows[kind], 1):
            replaced = frozenset(row["replaced"])
            entry = Entry(
                kind=kind,
                key=tuple(row["key"]),
                content=row["content"],
                state=row["state"],
                replaced=replaced,
            )
            if entry.name in entries:
                wrong(f"{name}, {kind} {i}", "is in the file twice")
            if entry.digest in replaced:
                wrong(f"{name}, {kind} {i}", "says of itself that it was replaced")
            entries[entry.name] = entry
    return entries
