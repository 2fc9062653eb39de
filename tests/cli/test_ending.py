"""How a command ends that is ended from outside."""

from __future__ import annotations

import signal
import subprocess
import time
import weakref
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from fleetcal.cli.ending import Ended, Terminated, explained_ending
from fleetcal.cli.verbs import Verb, VerbGroup
from tests.attacks.folder_faults import FAULTS, WHO, flights_of
from tests.attacks.trial import Ending, run_and_disturb
from tests.cli.command_line import Program
from tests.cli.invented_sortie import Card, Truth, fly, log_text
from tests.one_airframe import FLEET

MANY = 80


def ended(act: Callable[[], None]) -> tuple[int, str]:
    """Run a command that only acts, in a group of commands; exit code and what was told."""

    @click.group(cls=VerbGroup)
    def program() -> None:
        """Do it."""

    @program.command(cls=Verb)
    def go() -> None:
        """Go."""
        act()

    result = CliRunner().invoke(program, ["go"])
    return result.exit_code, result.stderr


def interrupt() -> None:
    raise KeyboardInterrupt


def interrupt_at_a_question() -> None:
    try:
        raise KeyboardInterrupt
    except KeyboardInterrupt:
        raise click.Abort from None


def refuse() -> None:
    raise click.Abort


def terminate() -> None:
    signal.raise_signal(signal.SIGTERM)


@pytest.mark.parametrize(
    ("act", "code"), [(interrupt, 130), (interrupt_at_a_question, 130), (terminate, 143)]
)
def test_the_exit_code_is_128_and_the_signal(act: Callable[[], None], code: int) -> None:
    before = signal.getsignal(signal.SIGTERM)
    assert ended(act) == (code, "Interrupted: nothing is half-done.\n")
    assert signal.getsignal(signal.SIGTERM) is before


def test_an_answer_of_no_is_no_interruption() -> None:
    assert ended(refuse) == (1, "Aborted!\n")


def test_what_is_open_is_closed_when_the_program_is_terminated() -> None:
    closed = []

    def act() -> None:
        try:
            terminate()
        except Terminated:
            closed.append(True)
            raise

    assert ended(act)[0] == 143
    assert closed == [True]


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A folder of many flights, and a store that knows who flew."""
    folder = tmp_path_factory.mktemp("season")
    logs = folder / "logs"
    logs.mkdir()
    card = Card(airspeeds_kt=(90.0,), legs=4, leg_s=60)
    for seed in range(MANY):
        (logs / f"{seed:03d}.csv").write_text(log_text(fly(card, Truth(roughness=1.0), seed=seed)))
    (folder / "fleet.toml").write_text(FLEET)
    store = folder / "begun.store"
    Program(str(store)).output("fleet", "load", folder / "fleet.toml")
    return logs, store


@pytest.mark.long
@pytest.mark.parametrize("name", ["interrupted", "terminated", "killed"])
def test_a_folder_that_is_ended_leaves_no_process_and_complete_flights(
    name: str, season: tuple[Path, Path], tmp_path: Path
) -> None:
    logs, begun = season
    store = tmp_path / "a.store"
    store.write_bytes(begun.read_bytes())
    words = ("--store", store, "reduce", logs, *WHO, "--processes", 2)

    def disturb(program: subprocess.Popen[bytes], mark: str) -> None:
        while program.poll() is None and len(flights_of(store)) < 2:
            time.sleep(0.05)
        FAULTS[name].disturb(program, mark)

    ending: Ending = run_and_disturb(words, 0.5, disturb, 60.0)
    assert ending.code == FAULTS[name].codes[-1], ending.told
    assert (ending.hung, ending.left) == (False, 0)
    assert "Traceback" not in ending.told
    flights = flights_of(store)
    assert 2 <= len(flights) < MANY
    assert all(flight[0][0] == "sortie" for flight in flights)


@pytest.mark.parametrize(("fault", "code"), [(KeyboardInterrupt, 130), (Terminated, 143)])
def test_a_signal_within_a_callback_of_python_is_not_lost(
    fault: type[KeyboardInterrupt], code: int
) -> None:
    def interrupted(_: object) -> None:
        raise fault  # which Python reports and then forgets

    def go() -> None:
        with explained_ending():
            passing = {1, 2}
            seen = weakref.ref(passing, interrupted)
            del passing
            assert seen() is None
            time.sleep(5.0)

    with pytest.raises(Ended, match="nothing is half-done") as caught:
        go()
    assert caught.value.exit_code == code


def test_ctrl_c_while_the_line_is_read_ends_as_later() -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    @click.group(cls=VerbGroup)
    @click.option("--what", callback=interrupted)
    def program(what: str) -> None:
        """Do it."""

    program.add_command(click.Command("go"))
    result = CliRunner().invoke(program, ["--what", "x", "go"])
    assert (result.exit_code, result.stderr) == (130, "Interrupted: nothing is half-done.\n")
