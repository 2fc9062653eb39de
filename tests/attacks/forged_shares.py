"""Forge shares and try to have them believed: python -m tests.attacks.forged_shares.

Anna has a store with flights of C-02, and Bo has taken her share in. Then each forgery is
merged into a copy of either store. It must be refused, or be a conflict, or change nothing;
what is taken in silence has been believed. Most forgeries are signed by a stranger with a key
of his own, and come once more with no signature.
"""

from __future__ import annotations

import copy
import hashlib
import json
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from fleetcal.services.sharing.share_signature import signature_of
from fleetcal.services.sharing.signing_key import Signer, signer_by_need
from fleetcal.store.exchange.collect_flown import content_mark
from fleetcal.store.exchange.entries import Entry, canonical
from fleetcal.store.exchange.moments import moment_text
from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.store.faults.judging import state_of
from tests.store.invented_shares import signing_as

TAG: Final = "C-02"
CARD: Final = Card(airspeeds_kt=(80.0, 110.0), legs=4, leg_s=45)
Document = dict[str, Any]
Change = Callable[[Document], object]
REMEMBERING = ("store_change", "changed_row", "fleetcal_revision")
VICTIMS: Final = ("Anna", "Bo")


@dataclass(frozen=True)
class Outcome:
    """What became of a forgery.

    Attributes:
        words: ``refused``, ``conflict``, ``no change``, or ``BELIEVED``.
        why: First line of what the program said.
    """

    forgery: str
    victim: str
    words: str
    why: str


def entries(document: Document, kind: str) -> list[Document]:
    found: list[Document] = document["contents"]["things"][kind]
    return found


def rewritten(document: Document, kind: str, change: Change) -> None:
    """Change the content of entries, which then claim to stand in the place of the true ones."""
    for row in entries(document, kind):
        before = Entry(kind=kind, key=tuple(row["key"]), content=copy.deepcopy(row["content"]))
        change(row["content"])
        row["replaced"] = sorted({*row["replaced"], before.digest})


def with_kappa(point: Document, more: float) -> None:
    """Give a point another kappa with the corrections that follow from it."""
    from fleetcal.airdata.position_error import corrections
    from fleetcal.units import MPS_PER_KT, from_si, to_si

    point["kappa"] += more
    altitude_m = to_si(point["pressure_altitude_ft"], "ft")
    found = corrections(point["vic_kt"] * MPS_PER_KT, altitude_m, point["kappa"])
    point["dvpc_kt"] = from_si(float(found.airspeed_mps), "kt")
    point["dhpc_ft"] = from_si(float(found.altitude_m), "ft")


def _moved(content: Document, *, keep_legs: bool) -> None:
    for sortie in content["sorties"]:
        sortie["legs"] = sortie["legs"] if keep_legs else []
        for point in sortie["points"]:
            with_kappa(point, 0.05)


def kappa_moved(document: Document) -> None:
    rewritten(document, "flights", lambda content: _moved(content, keep_legs=False))


def contradicting_legs(document: Document) -> None:
    rewritten(document, "flights", lambda content: _moved(content, keep_legs=True))


def one_point_left(document: Document) -> None:
    def only_first(content: Document) -> None:
        for sortie in content["sorties"]:
            del sortie["points"][1:]

    rewritten(document, "flights", only_first)
    for row in entries(document, "flights"):
        for state in row["state"]["sorties"]:
            del state["decisions"][1:], state["powers"][1:]


def other_weight(document: Document) -> None:
    def heavier(content: Document) -> None:
        for sortie in content["sorties"]:
            sortie["weight_kg"] += 60.0

    rewritten(document, "flights", heavier)


def rejected(ahead: timedelta) -> Change:
    def change(document: Document) -> None:
        moment = moment_text(datetime.now(UTC) + ahead)
        for row in entries(document, "flights"):
            for state in row["state"]["sorties"]:
                for decision in state["decisions"]:
                    decision.update(accepted=False, reason="rough air", decided_at=moment)

    return change


def type_value(name: str, value: float) -> Change:
    return lambda document: rewritten(
        document, "type", lambda content: content.update({name: value})
    )


def handbook_lines(document: Document) -> None:
    def slower(content: Document) -> None:
        content["rows"] = [[ias, cas - 8.0] for ias, cas in content["rows"]]

    rewritten(document, "handbook", slower)


def failed_leak_check(document: Document) -> None:
    content = {"loss_ft": 900.0, "limit_ft": 100.0, "limit_source": "club", "note": ""}
    row = {
        "key": [TAG, "2015-05-01", content_mark(content), 1],
        "content": content,
        "state": {"added_at": moment_text(datetime.now(UTC)), "withdrawn": ""},
        "replaced": [],
    }
    entries(document, "leak_check").append(row)


def withdrawn_check(document: Document) -> None:
    for row in entries(document, "leak_check"):
        row["state"]["withdrawn"] = "wrong day"


def invented_flight(document: Document) -> None:
    """Add a flight of a file that nobody has, so sure that it outweighs all others."""
    row = copy.deepcopy(entries(document, "flights")[0])
    digest = hashlib.sha256(b"invented").hexdigest()
    row["key"][0] = digest
    row["replaced"] = []
    for sortie in row["content"]["sorties"]:
        sortie["legs"] = []
        for point in sortie["points"]:
            with_kappa(point, 0.09)
            point.update(u_kappa=1e-5, terms=[])
    entries(document, "flights").append(row)
    file = copy.deepcopy(entries(document, "file")[0])
    file.update(key=[digest], content={"kind": "points"}, replaced=[])
    entries(document, "file").append(file)


def nothing(document: Document) -> None:
    """Change nothing: only who signs is another."""


#: Forgeries of the contents, each signed by a stranger and once more by nobody.
CONTENTS: Final[dict[str, Change]] = {
    "all flights replaced, kappa +0.05": kappa_moved,
    "all but one point removed": one_point_left,
    "points that contradict their legs": contradicting_legs,
    "all flights at another weight": other_weight,
    "all points rejected, dated +20 h": rejected(timedelta(hours=20)),
    "all points rejected, dated now": rejected(timedelta()),
    "never-exceed speed 154 to 300": type_value("never_exceed_kt", 300.0),
    "another scaling speed": type_value("scaling_speed_kt", 60.0),
    "other handbook lines": handbook_lines,
    "a failed leak check": failed_leak_check,
    "a leak check withdrawn": withdrawn_check,
    "an invented flight, u = 1e-5": invented_flight,
}


def signed(document: Document, signer: Signer | None, owners: list[Document] | None) -> bytes:
    """Return a share with the checksum and the signature that fit its contents.

    Args:
        owners: What it says of them; as the document does where it is None.
    """
    contents = document["contents"]
    contents["signed_by"] = None if signer is None else vars(signer.person)
    if owners is not None:
        contents["owners"] = owners
    checksum = hashlib.sha256(canonical(contents).encode("ascii")).hexdigest()
    whole = {**document, "sha256": checksum, "signature": signature_of(signer, checksum)}
    return json.dumps(whole).encode("ascii")


class Forger:
    """A stranger with a key of his own, and the shares that Anna has given."""

    def __init__(self, folder: Path) -> None:
        self.old, self.new = (folder / name for name in ("old.json", "new.json"))
        with signing_as("Mal"):
            self._mal = signer_by_need()

    def _document(self) -> Document:
        found: Document = json.loads(self.new.read_bytes())
        return found

    def forgeries(self) -> Iterator[tuple[str, bytes]]:
        """Yield each forgery with its name."""
        for name, change in CONTENTS.items():
            for words, signer in (("a stranger's key", self._mal), ("nobody signed", None)):
                document = self._document()
                change(document)
                yield f"{name}; {words}", signed(document, signer, [])
        document = self._document()
        kappa_moved(document)
        claims = self._claims(document)
        yield (
            "flights replaced by one who says to own the airframe",
            signed(document, self._mal, claims),
        )
        document = self._document()
        kappa_moved(document)
        written = canonical(document["contents"]).encode("ascii")
        document["sha256"] = hashlib.sha256(written).hexdigest()
        yield "a copied signature over changed contents", json.dumps(document).encode("ascii")
        yield "an owner's key named, a stranger's signature", self._misnamed()
        yield "an older share of the owner, sent again", self.old.read_bytes()
        yield "an owner's name with a stranger's key", self._namesake()

    def _claims(self, document: Document) -> list[Document]:
        rows = document["contents"]["owners"]
        return [{**row, "person": vars(self._mal.person)} for row in rows]

    def _misnamed(self) -> bytes:
        document = self._document()
        kappa_moved(document)
        owner = document["contents"]["signed_by"]
        forged: Document = json.loads(signed(document, self._mal, None))
        forged["contents"]["signed_by"] = owner
        checksum = hashlib.sha256(canonical(forged["contents"]).encode("ascii")).hexdigest()
        forged.update(sha256=checksum, signature=signature_of(self._mal, checksum))
        return json.dumps(forged).encode("ascii")

    def _namesake(self) -> bytes:
        document = self._document()
        name = document["contents"]["signed_by"]["name"]
        person = type(self._mal.person)(self._mal.person.key, name)
        return signed(document, Signer(person, self._mal.seed), [])


def begin(folder: Path) -> Forger:
    """Make the stores of Anna and Bo, and the two shares that she has given."""
    described = fleet_toml((Group(TAIL, 1, 0.0, 0.0), Group(WING, 1, 0.0, 0.0)))
    limits = "never_exceed_kt = 154.0\nscaling_speed_kt"
    (folder / "fleet.toml").write_text(described.replace("scaling_speed_kt", limits, 1))
    (folder / "table.csv").write_text("ias_kt,cas_kt\n50,60\n70,76\n90,90\n110,106\n")
    anna, bo = (Program(str(folder / f"{who}.sqlite3")) for who in VICTIMS)
    with signing_as("Anna"):
        anna.output("fleet", "load", folder / "fleet.toml")
        table = ("handbook", "enter", folder / "table.csv", "--name", "first")
        anna.output(*table, "--static-source", WING)
        leak = ("--airframe", TAG, "--date", "2024-05-01", "--loss-ft", "20")
        anna.output("bench", "enter", "leak", *leak)
        for seed in (1, 2):
            log = folder / f"flight-{seed}.csv"
            log.write_text(log_text(fly(CARD, Truth(roughness=1.0, kappa=0.03), seed=seed)))
            anna.output("reduce", log, "--airframe", TAG, "--weight-kg", "580")
        anna.output("share", "--out", folder / "old.json")
        anna.output("points", "reject", "1", "--reason", "rough air")
        anna.output("share", "--out", folder / "new.json")
    with signing_as("Bo"):
        bo.output("merge", folder / "new.json")
    return Forger(folder)


def tried(folder: Path, name: str, raw: bytes, victim: str) -> Outcome:
    """Merge a forgery into a copy of somebody's store, and say what became of it."""
    path, forged = folder / "copy.sqlite3", folder / "forged.json"
    shutil.copy(folder / f"{victim}.sqlite3", path)
    forged.write_bytes(raw)
    before = rows(path)
    with signing_as(victim):
        result = Program(str(path)).run("merge", forged)
    said = (result.stderr or result.stdout).strip().splitlines() or [""]
    if rows(path) != before:
        words = "BELIEVED"
    elif result.exit_code == 39:
        words = "conflict"
        listed = [line for line in result.stdout.splitlines() if line.startswith("Conflict ")]
        said = [line.split(": ", 1)[1] for line in listed] or said
    elif result.exit_code == 0:
        words = "no change"
    else:
        words = "refused" if result.exit_code in (34, 36) else "BELIEVED"
    return Outcome(name, victim, words, said[0])


def rows(path: Path) -> Any:
    """Return all that a store holds but its history."""
    return {name: held for name, held in state_of(str(path)).items() if name not in REMEMBERING}


def outcomes(folder: Path) -> Iterator[Outcome]:
    """Try every forgery on every victim."""
    for name, raw in begin(folder).forgeries():
        for victim in VICTIMS:
            yield tried(folder, name, raw, victim)


def main() -> int:
    """Print the table; return 1 if a forgery was believed."""
    believed = total = 0
    with tempfile.TemporaryDirectory(prefix="fleetcal-forged-") as scratch:
        for one in outcomes(Path(scratch)):
            print(f"{one.forgery:56} {one.victim:5} {one.words:10} {one.why[:90]}", flush=True)
            total += 1
            believed += one.words == "BELIEVED"
    print(f"{total} trials of forged shares, believed: {believed}")
    return 1 if believed else 0


if __name__ == "__main__":
    sys.exit(main())
