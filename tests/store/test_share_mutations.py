"""Damaged and forged share files: none is taken for something else, none ends in a traceback."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fleetcal.errors import FleetcalError
from fleetcal.services.sharing.doubted_entries import doubted_entries
from fleetcal.services.sharing.merge_share import Choices, merge
from fleetcal.services.sharing.share_format import ShareFile, read_share, share_text
from fleetcal.services.sharing.share_logs import SharedLog
from fleetcal.store import open_store
from fleetcal.store.exchange.collect_entries import collect_entries
from fleetcal.store.exchange.entries import Entry
from tests.store.invented_shares import LATER, fill, packed_log, sha, with_contents
from tests.store_places import begun_at

Rng = np.random.Generator


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A share file with something of every kind."""
    folder = tmp_path_factory.mktemp("original")
    with open_store(begun_at(folder / "store.sqlite3")) as store:
        fill(store)
        with store.reading() as session:
            entries = collect_entries(session)
        with packed_log("one") as packed:
            log = SharedLog(packed.sha256, packed.file_bytes, b"".join(packed.pieces()))
        return share_text(entries, registrations=True, logs=[log]).encode()


def _cut(raw: bytes, rng: Rng) -> tuple[int, int]:
    first = int(rng.integers(0, len(raw)))
    return first, min(len(raw), first + int(rng.integers(1, 40)))


def flip_bits(raw: bytes, rng: Rng) -> bytes:
    changed = bytearray(raw)
    for place in rng.integers(0, len(raw), rng.integers(1, 4)):
        changed[place] ^= 1 << int(rng.integers(0, 8))
    return bytes(changed)


def drop_a_piece(raw: bytes, rng: Rng) -> bytes:
    first, last = _cut(raw, rng)
    return raw[:first] + raw[last:]


def repeat_a_piece(raw: bytes, rng: Rng) -> bytes:
    first, last = _cut(raw, rng)
    return raw[:last] + raw[first:last] + raw[last:]


def break_off(raw: bytes, rng: Rng) -> bytes:
    return raw[: int(rng.integers(0, len(raw)))]


def change_a_digit(raw: bytes, rng: Rng) -> bytes:
    places = [i for i, byte in enumerate(raw) if chr(byte).isdigit()]
    place = places[int(rng.integers(0, len(places)))]
    return raw[:place] + str(rng.integers(0, 10)).encode() + raw[place + 1 :]


def swap_lines(raw: bytes, rng: Rng) -> bytes:
    lines = raw.split(b"\n")
    one, two = (int(i) for i in rng.integers(0, len(lines), 2))
    lines[one], lines[two] = lines[two], lines[one]
    return b"\n".join(lines)


def change_blanks(raw: bytes, rng: Rng) -> bytes:
    return json.dumps(json.loads(raw), indent=int(rng.integers(0, 4))).encode()


def rewrite_a_number(raw: bytes, rng: Rng) -> bytes:
    return raw.replace(
        b"600.0", [b"600.00", b"6.0e2", b"600", b"6e400", b"-600.0"][rng.integers(5)]
    )


DAMAGES: tuple[Callable[[bytes, Rng], bytes], ...] = (
    flip_bits,
    drop_a_piece,
    repeat_a_piece,
    break_off,
    change_a_digit,
    swap_lines,
    change_blanks,
    rewrite_a_number,
)


def read(raw: bytes) -> ShareFile | None:
    """What a file says, None if it is refused; any other exception fails the test."""
    try:
        return read_share(raw, "changed.json", LATER)
    except FleetcalError as refusal:
        told = refusal
    assert told.message
    assert "\n" not in told.message
    assert told.hint
    return None


def damage(original: bytes, count: int, seed: int) -> tuple[int, int]:
    """Damage a file so many times; return how many were refused, and how many say the same."""
    meant, rng = read_share(original, "original.json", LATER), np.random.default_rng(seed)
    refused = same = 0
    for i in range(count):
        changed = DAMAGES[i % len(DAMAGES)](original, rng)
        found = read(changed)
        if found is None:
            refused += 1
        else:
            assert found == meant, changed
            same += 1
    return refused, same


def places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in a document, as container and key."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in list(pairs):
        yield value, key
        if isinstance(inner, dict | list):
            yield from places(inner)


STRANGE: tuple[Any, ...] = (
    *(
        None,
        True,
        False,
        0,
        -1,
        1,
        2**31,
        2**70,
        0.0,
        -1.5,
        1e308,
        5e-324,
        "",
        " ",
        "x",
        "\0",
        "\ud800",
    ),
    *("0001-01-01", "9999-12-31", "2024-02-30", "9999-12-31T23:59:59.999999+00:00", [], {}, [[]]),
    *("'; DROP TABLE sortie; --", "a" * 70_000, "C-01", "C-02", "Corrie 2", "\u202e\x1b[31m", "{}"),
)


def nudged(value: Any) -> Any:
    """Another value of the same kind, that may well be right."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, float):
        return value * 1.01
    if isinstance(value, int):
        return value + 1
    return f"{value} more" if isinstance(value, str) else value


def forge(contents: Any, rng: Rng) -> None:
    """Change, remove or repeat something in the contents of a share file."""
    found = list(places(contents))
    for _ in range(int(rng.integers(1, 3))):
        container, key = found[int(rng.integers(0, len(found)))]
        if isinstance(container, dict) and key not in container:
            continue  # the step before took it away
        act = rng.integers(0, 4)
        if act == 0 and isinstance(container, list) and key < len(container):
            container.insert(key, json.loads(json.dumps(container[key])))
        elif act == 1 and (not isinstance(container, list) or key < len(container)):
            container.pop(key, None) if isinstance(container, dict) else container.pop(key)
        elif act == 2 and (not isinstance(container, list) or key < len(container)):
            container[key] = nudged(container[key])
        elif not isinstance(container, list) or key < len(container):
            container[key] = STRANGE[int(rng.integers(0, len(STRANGE)))]


def forged(original: bytes, count: int, seed: int) -> Iterator[bytes]:
    """Files with other contents and a checksum that fits."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        document = json.loads(original)
        forge(document["contents"], rng)
        yield with_contents(document, document["contents"])


def merge_forged(original: bytes, folder: Path, begun: Path, count: int, seed: int) -> list[int]:
    """Merge forged files into stores of their own; what the gate doubts is taken as doubted."""
    counts = [0, 0, 0]  # refused at reading, refused by the store, taken
    path, target = folder / "forged.json", folder / "target.sqlite3"
    untouched = begun.read_bytes()
    for raw in forged(original, count, seed):
        said = read(raw)
        if said is None:
            counts[0] += 1
            continue
        path.write_bytes(raw)
        shutil.copy(begun, target)
        try:
            merge(lambda: open_store(target), path, Choices(None, {}))
        except FleetcalError:
            assert target.read_bytes() == untouched
            counts[1] += 1
            continue
        counts[2] += 1
        with open_store(target) as store, store.reading() as session:
            kept = collect_entries(session)
        believed = doubted_entries(said.entries, {})
        assert share_text(kept, registrations=True) == share_text(believed, registrations=True), raw
    return counts


@pytest.mark.long
def test_no_damaged_file_is_taken_for_something_else(original: bytes) -> None:
    refused, same = damage(original, 320, seed=1)
    assert refused >= 200
    assert same >= 40  # blanks were changed, or a digit for itself


@pytest.mark.long
def test_no_damaged_file_of_a_thousand_is_taken_for_something_else(original: bytes) -> None:
    refused, same = damage(original, 1000, seed=3)
    print(f"{refused} refused, {same} said the same in other words")
    assert refused + same == 1000


@pytest.mark.long
def test_no_forged_file_ends_in_a_traceback_or_is_stored_in_part(
    original: bytes, tmp_path: Path, begun_file: Path
) -> None:
    counts = merge_forged(original, tmp_path, begun_file, 150, seed=4)
    print(f"{counts[0]} refused at reading, {counts[1]} by the store, {counts[2]} taken")
    assert min(counts) > 0
    assert sum(counts) == 150


def _first(entries: Any, kind: str) -> Any:
    return entries[kind][0]


FORGERIES: dict[str, Callable[[Any], Any]] = {
    "a zero with a sign": lambda t: t["bench_check"][0]["content"].update(u=-0.0),
    "still to come": lambda t: _first(t, "file")["state"].update(
        added_at="2031-01-01T00:00:00.000000+00:00"
    ),
    "its legs are out of order": lambda t: _first(t, "flights")["content"]["sorties"][0][
        "legs"
    ].reverse(),
    "which the file does not have": lambda t: t["engine"].clear(),
    "does not follow from its content": lambda t: _first(t, "leak_check")["content"].update(
        loss_ft=1.0
    ),
    "have the SHA-256": lambda t: _first(t, "issue")["content"].update(table_json="{}"),
    "is in the file twice": lambda t: t["propeller"].append(t["propeller"][0]),
    "was replaced": lambda t: _first(t, "engine").update(
        replaced=[Entry(kind="engine", key=("e",), content={}).digest]
    ),
    "decisions": lambda t: _first(t, "flights")["state"]["sorties"][0]["decisions"].pop(),
    "the powers of 2": lambda t: _first(t, "flights")["state"]["sorties"][0]["powers"].pop(),
    "has no line": lambda t: _first(t, "cruise_table")["content"]["rows"].clear(),
    "its lines are out of order": lambda t: _first(t, "cruise_table")["content"]["rows"].reverse(),
    "refers to the propeller two-blade fixed": lambda t: t["propeller"].remove(
        next(one for one in t["propeller"] if one["key"] == ["two-blade fixed"])
    ),
    "a time that is still to come": lambda t: [
        power.update(noted_at="2031-01-01T00:00:00.000000+00:00")
        for flights in t["flights"]
        for power in flights["state"]["sorties"][0]["powers"]
        if power is not None
    ],
    "does not unpack to the file": lambda t: t["logs"][0].update(sha256=sha("two")),
    "not written as it should be": lambda t: t["logs"][0].update(packed="#"),
    "there twice": lambda t: t["logs"].append(t["logs"][0]),
    "belongs to no recorded flight": lambda t: t["logs"][0].update(sha256=sha("bench")),
    "has the flights": lambda t: [
        climbs["state"].update(sortie=None)
        for climbs in t["climbs"]
        if climbs["key"][0] == sha("climbs alone")
    ],
    "which its flights were not": lambda t: [
        climbs["content"].update(flown_on="2018-01-02")
        for climbs in t["climbs"]
        if climbs["key"][0] == sha("one")
    ],
    "unknown name": lambda t: _first(t, "airframe")["content"].update(colour="red"),
    "nothing was fitted": lambda t: [
        fit.update(key=["C-01", "2019-04-01"]) for fit in t["fit"][:1]
    ],
}


@pytest.mark.parametrize("said", FORGERIES)
def test_a_forgery_with_a_fitting_checksum_is_refused_for_what_it_is(
    original: bytes, said: str
) -> None:
    document = json.loads(original)
    if said == "nothing was fitted":
        entries = document["contents"]["things"]
        entries["fit"] = [fit for fit in entries["fit"] if fit["key"] != ["C-01", "2019-04-01"]]
    entries = document["contents"]["things"]
    FORGERIES[said]({**entries, "logs": document["contents"]["logs"]})
    with pytest.raises(FleetcalError, match=said):
        read_share(with_contents(document, document["contents"]), "forged.json", LATER)
