"""A club's store on a server with real logins: its keeper, a member who reads, an officer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
from sqlalchemy.engine import make_url

from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES
from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml
from tests.cli.invented_glides import GLIDE
from tests.cli.invented_glides import log_text as glide_text
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.cli.poor_fleets import AFTER, CHANGE, FIRST, HEADINGS, SECOND, points_of

PASSWORDS = {"keeper": "Kp-7391-word", "anna": "An-5526-word", "otto": "Ot-9048-word"}
LIMITS = "stall_speed_clean_kt = 46.0\nnever_exceed_kt = 141.0\n"
IDLE = ("--quantity", "glide", "--power-state", "idle")
WHO = ("--airframe", "C-02", "--weight-kg", "580")
DAY = ("--date", "2024-05-02")

# Every command with a part that only reads, on files of the folder it is run in.
READING: tuple[tuple[str, ...], ...] = (
    ("show", "fleet"),
    ("show", "fleet", "--out", "-"),
    ("columns", "log.csv"),
    ("settings",),
    ("fleet", "template"),
    ("manual",),
    ("reduce", "log.csv", "--preview"),
    ("measure", "pace-aircraft", "pace-aircraft.csv", *WHO, *DAY, "--preview"),
    ("points", "list"),
    ("points", "budget", "1"),
    ("points", "list", "--out", "all.csv"),
    ("show", "checks"),
    ("groups",),
    ("curve", TAIL),
    ("standing", "C-02"),
    ("watch", "C-02"),
    ("outliers",),
    ("change", "C-01"),
    ("contrast", TAIL, WING),
    ("contrast", TAIL),
    ("plan", "C-02"),
    ("publish", TAIL, "--out", "pages"),
    ("publish", "--site", "--out", "site"),
    ("show", "issues"),
    ("issue", "compare", TAIL, "1", "2"),
    ("issue", "again", TAIL, "1", "--out", "again"),
    ("show", "handbooks"),
    ("handbook", "compare", WING),
    ("handbook", "compare", WING, "--carry"),
    ("points", "list", "--quantity", "climb", "--quantity", "glide"),
    ("curve", *IDLE[:2]),
    ("standing", "C-02", *IDLE[:2]),
    ("outliers", *IDLE[:2]),
    ("change", "C-01", *IDLE[:2]),
    ("contrast", "75 kW four / x", "75 kW four / y", *IDLE[:2]),
    ("points", "list", "--quantity", "cruise"),
    ("curve", "--quantity", "cruise"),
    ("standing", "C-02", "--quantity", "cruise"),
    ("outliers", "--quantity", "cruise"),
    ("change", "C-01", "--quantity", "cruise"),
    ("contrast", "75 kW four / x", "75 kW four / y", "--quantity", "cruise"),
    ("show", "logs"),
    ("logs", "save", "kept.csv", "--out", "saved.csv"),
    ("share", "--out", "shared.json"),
    ("merge", "shared.json", "--preview"),
    ("owners", "list"),
    ("store", "check"),
    ("store", "backup", "--out", "copy.sqlite3"),
    ("store", "roles", "--read", "x"),
    ("show", "history"),
)
# What has no answer in this club; the keeper is told the same.
UNANSWERED = frozenset(
    words
    for words in READING
    if (words[0] in ("curve", "change", "contrast", "standing", "outliers") and "cruise" in words)
    or (words[0] in ("change", "contrast") and "glide" in words)
)
# Points of the flight that the keeper reduced follow those that he imported.
REDUCED = str(len(FIRST) * 10 + len(SECOND) * 10 + 10 + 1)
# The second flight that he reduced, after the sorties imported and the first.
SORTIE = "24"
# Every command that writes.
WRITING: tuple[tuple[str, ...], ...] = (
    ("fleet", "load", "change.toml"),
    ("fleet", "temperature", "C-02", "--shows", "ambient"),
    ("fleet", "airframe", "C-02", "--note", "x"),
    ("reduce", "log.csv", *WHO),
    ("reduce", "logs", *WHO),
    ("logs", "keep", "power.csv"),
    ("logs", "drop", "kept.csv"),
    *(("measure", name, f"{name}.csv", *WHO, *DAY) for name in TECHNIQUE_FILES),
    ("points", "import", "more.csv"),
    ("points", "weight", SORTIE, "--weight", "590kg"),
    ("points", "move", SORTIE, "C-03"),
    ("points", "move", SORTIE, "C-02"),
    ("points", "reject", "1", "--reason", "x"),
    ("points", "accept", "1"),
    ("bench", "enter", "airspeed", "card.csv", *WHO[:2], *DAY, "--u-kt", "0.2"),
    ("bench", "enter", "altimeter", "feet.csv", *WHO[:2], *DAY, "--u-ft", "10"),
    ("bench", "enter", "leak", *WHO[:2], *DAY, "--loss-ft", "20"),
    ("bench", "withdraw", "leak", "1", "--reason", "x"),
    ("publish", TAIL, "--issue", "--reason", "third", "--out", "third"),
    ("issue", "withdraw", TAIL, "1", "--reason", "x"),
    ("handbook", "enter", "table.csv", "--name", "second", "--static-source", WING),
    ("reduce", "glide.csv", *WHO, *IDLE),
    ("points", "reject", "--quantity", "glide", "1", "--reason", "x"),
    ("points", "accept", "--quantity", "glide", "1"),
    ("power", REDUCED, "--power-pct", "66"),
    ("power", "--file", "powers.csv"),
    ("power", "--log", "power.csv"),
    ("power", REDUCED, "--none"),
    ("merge", "others.json"),
    ("owners", "set", "C-02", "--nobody"),
    ("undo",),
    ("store", "restore", "own.sqlite3", "--replace"),
)


@dataclass(frozen=True)
class Club:
    """The address of the database without user and password, and the folder of files."""

    address: str
    folder: Path

    def place(self, user: str, password: str | None = None) -> str:
        """Return the address as somebody writes it, with his password or without any."""
        url = make_url(self.address).set(username=user, password=password)
        return url.render_as_string(hide_password=False)

    def program(self, user: str) -> Program:
        """Return the program of somebody who writes his password in the address."""
        return Program(self.place(user, PASSWORDS[user]))


def write_files(folder: Path) -> None:
    """Write what the commands are given."""
    card = Card(airspeeds_kt=(80.0, 110.0), legs=4, leg_s=45)
    described = fleet_toml((Group(TAIL, 6, 0.0, 0.0), Group(WING, 4, 0.0, 0.0)))
    powered = fly(card, Truth(roughness=1.0, kappa=0.03), seed=3)
    texts = {
        "power.csv": log_text(powered, more={"engine power (%)": 0.6 * powered.ias_kt}),
        "powers.csv": f"point,power_pct,basis\n{REDUCED},65,actual\n",
        "kept.csv": log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=4)),
        "fleet.toml": described.replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1),
        "change.toml": CHANGE,
        "points.csv": HEADINGS
        + points_of(FIRST)
        + points_of(SECOND)
        + points_of(("C-01",), day=AFTER, sorties=("c", "d")),
        "more.csv": HEADINGS + points_of(("C-02",), day="2024-09-01"),
        "log.csv": log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=1)),
        "logs/second.csv": log_text(fly(card, Truth(roughness=1.0, kappa=0.03), seed=2)),
        "glide.csv": glide_text(GLIDE, weight_kg=600.0, seed=9),
        "card.csv": "indicated_kt,correction_kt\n60,0.5\n120,-1.5\n",
        "feet.csv": "indicated_ft,correction_ft\n0,10\n8000,-20\n",
        "table.csv": "ias_kt,cas_kt\n50,60\n70,76\n90,90\n110,106\n130,121\n140,130\n",
        "speeds.csv": "speed,ias_kt\nstall,55\nflap limit,82\n",
        **{f"{name}.csv": file.example for name, file in TECHNIQUE_FILES.items()},
        **{
            f"glide{n}.csv": glide_text(GLIDE, weight_kg=600.0, more=0.0004 * n, seed=n)
            for n in range(1, 5)
        },
    }
    (folder / "logs").mkdir()
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")


def begin_store(program: Program, folder: Path) -> None:
    """Fill the keeper's store: a fleet, points, a handbook table, glides and two issues."""
    for name in ("fleet.toml", "change.toml"):
        program.output("fleet", "load", folder / name)
    program.output("points", "import", folder / "points.csv")
    for name, keeping in (("power.csv", "--no-keep-log"), ("kept.csv", "--keep-log")):
        program.output("reduce", folder / name, *WHO, keeping)
    program.output("power", REDUCED, "--power-pct", "60")
    speeds = ("--speeds", folder / "speeds.csv")
    table = ("handbook", "enter", folder / "table.csv", "--name", "first", "--static-source", TAIL)
    program.output(*table, *speeds)
    for number in range(1, 5):
        words = ("--airframe", f"C-{number + 1:02d}", "--weight-kg", 600, *IDLE)
        program.output("reduce", folder / f"glide{number}.csv", *words)
    for why in ("first", "second"):
        program.output("publish", TAIL, "--issue", "--reason", why, "--out", folder / why)
    other = Program(str(folder / "other.sqlite3"))
    other.output("fleet", "load", folder / "fleet.toml")
    other.output("share", "--out", folder / "others.json")
    program.output("store", "backup", "--out", folder / "own.sqlite3")


@contextmanager
def asking_for_passwords(server: str) -> Iterator[None]:
    """Let a server ask everybody but its own user for the password."""
    with psycopg.connect(server, autocommit=True) as connection:
        ((file,),) = connection.execute("SHOW hba_file").fetchall()
        path = Path(file)
        kept = path.read_text()
        users = ",".join(PASSWORDS)
        path.write_text(f"local all {users} scram-sha-256\n{kept}")
        connection.execute("SELECT pg_reload_conf()")
        try:
            yield
        finally:
            path.write_text(kept)
            connection.execute("SELECT pg_reload_conf()")
