"""Attack the history and the rows it answers for: python -m tests.attacks.history.

On a file with plain SQL, on a server with the login of an officer and of the tables' owner.
Each attack is refused, or `store check` must find it. Bits of a file are flipped at random under
a valid seal and under one that another program's write made stale; a flip counts where it
changed what any table holds. Printed is how many tries were found, and every one that was not.

Not tried, because no file can show it: somebody who may write the file works out the chain and
all digests anew. Only a newest hash that was noted elsewhere tells then.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from fleetcal.errors import FleetcalError
from tests.attacks.history_on_file import FILE_ATTACKS
from tests.attacks.history_on_server import SERVER_ATTACKS, club_on
from tests.attacks.undo_chains import begin
from tests.postgres_server import serving
from tests.store.faults.judging import faults_of

_HEADER_BYTES = 100


@dataclass(frozen=True, kw_only=True)
class Tried:
    """What became of one kind of attack: tries, and those that nothing found."""

    engine: str
    attack: str
    tries: int
    unfound: tuple[str, ...]


def on_file(begun: Path) -> Iterator[Tried]:
    """Run every attack by SQL on copies of a store file."""
    for name, attack in FILE_ATTACKS.items():
        with tempfile.TemporaryDirectory(prefix="fleetcal-attack-") as folder:
            place = Path(shutil.copy(begun, Path(folder, "club.sqlite3")))
            unfound = () if attack(place) else (name,)
            yield Tried(engine="file", attack=name, tries=1, unfound=unfound)


def on_server(server: str, begun: Path) -> Iterator[Tried]:
    """Run every attack by SQL on databases of a server."""
    for name, attack in SERVER_ATTACKS.items():
        with club_on(server, begun) as club:
            _refuse_faults(club.owner)
            unfound = () if attack(club) else (name,)
            yield Tried(engine="server", attack=name, tries=1, unfound=unfound)


def flips(begun: Path, number: int, *, stale: bool, seed: int) -> Tried:
    """Flip single bits of a file until so many of them changed what it holds."""
    choose, whole = random.Random(seed), begun.read_bytes()
    held, tries, unfound = _dump(begun), 0, []
    with tempfile.TemporaryDirectory(prefix="fleetcal-attack-") as folder:
        place = Path(folder, "club.sqlite3")
        while tries < number:
            place.write_bytes(whole)
            if stale:
                _write_past_us(place)
            offset, bit = choose.randrange(_HEADER_BYTES, len(whole)), choose.randrange(8)
            damaged = bytearray(place.read_bytes())
            damaged[offset] ^= 1 << bit
            place.write_bytes(damaged)
            now = _dump(place)
            if now == held:
                continue
            tries += 1
            if missed := _missed(place):
                tables = sorted(name for name in held if now.get(name) != held[name])
                unfound.append(f"byte {offset}, bit {bit} ({', '.join(tables)}): {missed}")
    seal = "stale" if stale else "valid"
    name = f"a bit flipped, the seal {seal}"
    return Tried(engine="file", attack=name, tries=tries, unfound=tuple(unfound))


def _write_past_us(place: Path) -> None:
    """Write as another program does, which leaves the seal behind."""
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("UPDATE fleetcal_revision SET version_num = version_num || ''")


def _dump(place: Path) -> dict[str, list[object]]:
    """Return every row of every table by its number, empty where it cannot be read."""
    found: dict[str, list[object]] = {}
    with closing(sqlite3.connect(place)) as connection:
        connection.text_factory = bytes
        try:
            names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            for (name,) in names.fetchall():
                rows = connection.execute(f"SELECT rowid, * FROM {name.decode()} ORDER BY rowid")
                found[name.decode()] = list(map(repr, rows))
        except (sqlite3.Error, UnicodeDecodeError):
            return {}
    return found


def _refuse_faults(place: str) -> None:
    """Hold the unharmed store to be whole: else everything would be found."""
    if faults := faults_of(place):
        raise RuntimeError(f"the store has faults before any attack: {faults}")


def _missed(place: Path) -> str:
    """Return what is wrong with the answer to damage: empty where it is found and explained."""
    try:
        return "" if faults_of(str(place)) else "nothing was found"
    except FleetcalError:
        return ""
    except Exception as error:
        return f"the program fell over it: {error!r}"


def main() -> None:
    """Print what was tried and found; end in 1 if anything was not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--flips", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    tried: list[Tried] = []
    with tempfile.TemporaryDirectory(prefix="fleetcal-history-") as scratch:
        begun = begin(Path(scratch, "begun")) / "club.sqlite3"
        _refuse_faults(str(begun))
        tried += on_file(begun)
        for stale in (False, True):
            tried.append(flips(begun, chosen.flips, stale=stale, seed=chosen.seed))
        with serving(fsync=False) as server:
            tried += on_server(server, begun)
    for one in tried:
        print(f"{one.engine:7} {one.attack:66} {one.tries - len(one.unfound):3} of {one.tries:3}")
        for words in one.unfound:
            print(f"        not found: {words}")
    tries, unfound = sum(one.tries for one in tried), sum(len(one.unfound) for one in tried)
    print(f"{tries} attacks on the history, refused or found {tries - unfound}, unfound {unfound}")
    raise SystemExit(unfound > 0)


if __name__ == "__main__":
    main()
