"""The history on pages: what was done, taken back after a look at it; checks and backups."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text as sql

from fleetcal.services.keeping.store_history import history_of, state_of
from fleetcal.services.points.decide_points import reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store, open_store, select_points
from fleetcal.store.history_guard import lifted
from fleetcal.web.work import RUNNING
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served

HOSTILE = '<script>alert(1)</script>"><img src=x onerror=alert(2)>'


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04"])
    import_points(described, tmp_path / "p.csv")
    with served(described) as opened:
        yield opened


def newest(store: Store) -> int:
    return max(line.change for line in history_of(store).lines)


def test_the_history_names_what_was_done_by_whom_and_what_it_changed(pages: ServedPages) -> None:
    reject(pages.desk.store, [1], "static line loose")
    text = pages.get("history").get_data(as_text=True)
    assert "static line loose" in text
    assert "Added 1 file, 3 sorties" in text
    assert re.search(r"\d{4}-\d{2}-\d{2} \d{2}:\d{2} UTC", text)


def test_a_change_is_taken_back_after_a_look_at_it(pages: ServedPages) -> None:
    reject(pages.desk.store, [1], "static line loose")
    change = newest(pages.desk.store)
    path = f"history/undo?change={change}"
    look = pages.get(path).get_data(as_text=True)
    assert "static line loose" in look
    done = pages.follow(pages.post(path)).get_data(as_text=True)
    assert f"Change {change} is taken back" in done
    with pages.desk.store.reading() as session:
        assert all(row.accepted for row in select_points(session))


def test_a_change_that_something_rests_on_is_not_taken_back(pages: ServedPages) -> None:
    first = newest(pages.desk.store)
    reject(pages.desk.store, [1], "static line loose")
    before = state_of(pages.desk.store)
    answer = pages.post(f"history/undo?change={first}")
    assert answer.status_code == 400
    assert "cannot be taken back" in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before


def of_another(store: Store, number: int) -> None:
    """Let a change be of somebody else, as in a store that went from hand to hand."""
    with store.writing() as session, lifted(session.connection()):
        session.execute(
            sql("UPDATE store_change SET made_by = 'anna', name_from = 'claimed' WHERE id = :id"),
            {"id": number},
        )


def test_names_carry_who_vouches_for_them(pages: ServedPages) -> None:
    of_another(pages.desk.store, newest(pages.desk.store))
    shown = pages.get("history").get_data(as_text=True)
    assert "anna (name as it was claimed)" in shown
    vouched = "login of the server" if pages.desk.store.path is None else "as the machine has it"
    assert vouched in shown


def test_another_persons_change_is_taken_back_only_with_the_tick(pages: ServedPages) -> None:
    reject(pages.desk.store, [1], "static line loose")
    change = newest(pages.desk.store)
    of_another(pages.desk.store, change)
    path = f"history/undo?change={change}"
    assert "although another person made it" in pages.get(path).get_data(as_text=True)
    refused = pages.post(path)
    assert refused.status_code == 400
    said = refused.get_data(as_text=True)
    assert "was made by anna, not by you" in said
    assert f"the tick on the page of change {change}" in said.lower().replace("&#39;", "'")
    done = pages.follow(pages.post(path, data={"of_others": "yes"})).get_data(as_text=True)
    assert f"Change {change} is taken back, which anna made" in done


def test_a_taking_back_is_listed_and_cannot_be_taken_back_itself(pages: ServedPages) -> None:
    reject(pages.desk.store, [1], "static line loose")
    change = newest(pages.desk.store)
    pages.post(f"history/undo?change={change}")
    shown = pages.get("history").get_data(as_text=True)
    assert f"Took change {change} back" in shown
    back = newest(pages.desk.store)
    assert back > change
    assert f"history/undo?change={back}" not in shown
    assert pages.post(f"history/undo?change={back}").status_code == 400


@pytest.mark.parametrize("number", ["", "0", "9999", "1 or 1=1", "..%2F..", HOSTILE])
def test_a_change_that_is_not_there_is_named_so(pages: ServedPages, number: str) -> None:
    for answer in (
        pages.get(f"history/undo?change={number}"),
        pages.post(f"history/undo?change={number}"),
    ):
        assert answer.status_code == 404
        assert "there is no such change" in answer.get_data(as_text=True).lower()


def test_words_of_the_store_cannot_become_markup_in_the_history(pages: ServedPages) -> None:
    reject(pages.desk.store, [1], HOSTILE)
    for path in ("history", f"history/undo?change={newest(pages.desk.store)}"):
        text = pages.get(path).get_data(as_text=True)
        assert "<script>alert" not in text
        assert "<img" not in text
        assert "&lt;script&gt;" in text


@pytest.mark.long
def test_a_long_history_is_shown_in_parts(pages: ServedPages) -> None:
    for number in range(55):
        reject(pages.desk.store, [1], f"reason {number}")
    text = pages.get("history").get_data(as_text=True)
    assert "reason 54" in text
    assert "reason 0" not in text
    older = re.search(r'href="[^"]*history\?before=(\d+)"', text)
    assert older is not None
    assert "reason 0" in pages.get(f"history?before={older[1]}").get_data(as_text=True)


def test_the_store_is_checked_in_the_background(pages: ServedPages) -> None:
    answer = pages.post("history/check")
    (number,) = re.findall(r"progress/(\d+)/", answer.headers["Location"])
    work = pages.desk.works.find(int(number))
    for _ in range(600):
        if work.state != RUNNING:
            break
        time.sleep(0.05)
    assert "No faults were found" in pages.get(work.leads_to).get_data(as_text=True)


@pytest.mark.parametrize("number", ["0", "77", "..", "x"])
def test_a_check_that_was_not_made_is_named_so(pages: ServedPages, number: str) -> None:
    assert pages.get(f"history/check/{number}").status_code == 404


def test_a_backup_is_sent_that_holds_the_points(pages: ServedPages, tmp_path: Path) -> None:
    answer = pages.get("history/backup")
    assert "attachment" in answer.headers["Content-Disposition"]
    (tmp_path / "back.store").write_bytes(answer.get_data())
    with open_store(tmp_path / "back.store", create=False) as back, back.reading() as session:
        copied = select_points(session)
    with pages.desk.store.reading() as session:
        assert copied == select_points(session)
    answer.close()
    assert not list(pages.desk.folder.iterdir())


def test_the_program_ends_after_a_question(
    pages: ServedPages, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended: list[float] = []

    class Soon:
        def __init__(self, delay_s: float, end: object) -> None:
            self.end = end

        def start(self) -> None:
            assert callable(self.end)
            self.end()

    monkeypatch.setattr("fleetcal.web.keeping.Timer", Soon)
    pages.desk.end = lambda: ended.append(1.0)
    assert "End the program" in pages.get("end").get_data(as_text=True)
    assert not ended
    assert "has ended" in pages.post("end").get_data(as_text=True)
    assert ended == [1.0]
