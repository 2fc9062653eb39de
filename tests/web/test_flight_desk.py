"""A flight comes in, is looked at, its legs are picked, and it is kept."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest

from fleetcal.store import Store, stored_flights
from fleetcal.web.work import LongWork
from tests.cli.hand_legs import ROWS
from tests.cli.invented_sortie import Truth, fly, log_text
from tests.web.served import ServedPages, served


@pytest.fixture(scope="module")
def text() -> str:
    return log_text(fly(truth=Truth(kappa=0.05, roughness=1.0)))


@pytest.fixture
def pages(described: Store) -> Iterator[ServedPages]:
    with served(described) as opened:
        yield opened


def dropped(pages: ServedPages, *files: tuple[str, bytes]) -> Any:
    """Drop files as a browser does."""
    sent = [(io.BytesIO(content), name) for name, content in files]
    return pages.post("flight/", data={"logs": sent}, content_type="multipart/form-data")


def opened(pages: ServedPages, text: str) -> str:
    """Drop a log and return the path of its page."""
    answer = dropped(pages, ("flight.csv", text.encode()))
    assert answer.status_code == 303, answer.get_data(as_text=True)
    return str(answer.headers["Location"]).removeprefix("../")


def legs_of(page: str) -> dict[str, Any]:
    from html import unescape

    found = re.search(r'data-legs="([^"]*)"', page)
    assert found is not None
    legs: dict[str, Any] = json.loads(unescape(found[1]))
    return legs


def sent(legs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [
        {"run": leg["run"], "start_s": leg["start"], "stop_s": leg["stop"], "left_out": leg["out"]}
        for leg in legs
    ]


def words(answer: Any) -> str:
    return str(answer.get_data(as_text=True))


def left_behind(pages: ServedPages) -> list[str]:
    return sorted(path.name for path in pages.desk.folder.rglob("*") if path.is_file())


def test_a_log_that_is_dropped_shows_its_answer_strips_and_legs(
    pages: ServedPages, text: str
) -> None:
    page = words(pages.get("flight/" + opened(pages, text).removeprefix("flight/")))
    assert "your indicator reads" in page
    assert page.count('class="reading"') == 4
    legs = legs_of(page)
    assert len(legs["found"]) == len(legs["picked"]) == 12
    assert {leg["outcome"] for leg in legs["answered"]} == {"solved"}
    assert re.search(r"<[^>]*\s(style|on\w+)=", page) is None
    assert re.search(r"<script(?![^>]*\bsrc=)", page) is None


@pytest.mark.long
def test_an_edge_that_is_moved_moves_the_answer_and_is_remembered(
    pages: ServedPages, text: str
) -> None:
    path = opened(pages, text)
    legs = legs_of(words(pages.get(path)))["found"]
    before = pages.post(path + "solve", json={"legs": sent(legs)}).get_json()
    legs[0]["stop"] -= 30.0
    legs[5]["out"] = True
    after = pages.post(path + "solve", json={"legs": sent(legs)}).get_json()
    assert before["numbers"] != after["numbers"]
    assert not after["refused"]
    assert "reads" in after["sentences"]
    assert len(after["legs"]) == 11
    again = legs_of(words(pages.get(path)))
    assert again["picked"][0]["stop"] == legs[0]["stop"]
    assert again["picked"][5]["out"]
    assert again["found"][0]["stop"] == legs[0]["stop"] + 30.0


def test_legs_that_cannot_be_solved_are_refused_in_the_place_of_the_answer(
    pages: ServedPages, text: str
) -> None:
    path = opened(pages, text)
    legs = legs_of(words(pages.get(path)))["found"]
    legs[0]["stop"] = legs[0]["start"] + 2.0
    found = pages.post(path + "solve", json={"legs": sent(legs)}).get_json()
    assert found["refused"]
    assert "fewer than" in found["sentences"]
    assert found["numbers"].strip() == ""


def test_a_leg_through_a_turn_is_doubted_in_sight(pages: ServedPages, text: str) -> None:
    path = opened(pages, text)
    legs = legs_of(words(pages.get(path)))["found"]
    legs[1]["start"] = legs[0]["stop"] + 1.0
    numbers = pages.post(path + "solve", json={"legs": sent(legs)}).get_json()["numbers"]
    seen = numbers.partition("<details")[0]
    assert "not a steady leg: track drifts by" in seen


@pytest.mark.parametrize(
    "body",
    [None, [], {"legs": 3}, {"legs": [{}]}, {"legs": [{"run": "x"}]}, {"legs": [None] * 900}],
)
def test_a_page_that_sends_nonsense_is_told_so(pages: ServedPages, text: str, body: Any) -> None:
    answer = pages.post(opened(pages, text) + "solve", json=body)
    assert answer.status_code == 400
    assert "not understood" in words(answer)


def test_a_flight_that_says_nothing_shows_why_in_place_of_its_answer(
    pages: ServedPages, text: str
) -> None:
    lines = text.splitlines()
    page = words(pages.get(opened(pages, "\n".join(lines[:400]) + "\n")))
    assert 'class="answer refused"' in page
    assert "no run of three tracks" in page
    assert page.count('class="reading"') == 4


def zipped(name: str, content: bytes) -> bytes:
    made = io.BytesIO()
    with ZipFile(made, "w") as archive:
        archive.writestr(name, content)
    return made.getvalue()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("letter.txt", b"Dear club,\nthe flight was fine.\n"),
        ("empty.csv", b""),
        ("random.bin", bytes(range(256)) * 40),
        ("picture.png", b"\x89PNG\r\n\x1a\n" + bytes(500)),
        ("papers.zip", zipped("readme.txt", b"nothing here")),
        ("broken.zip", b"PK\x03\x04" + bytes(100)),
        ("../../evil.csv", b"\x00\x01"),
    ],
    # without the bytes: a ZIP file says when it was made, and each worker collects for itself
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_log_is_refused_in_words_and_nothing_stays(
    pages: ServedPages, name: str, content: bytes
) -> None:
    answer = dropped(pages, (name, content))
    assert answer.status_code == 400
    assert name.rpartition("/")[2] in words(answer)
    assert 'class="refused"' in words(answer)
    assert left_behind(pages) == []


@pytest.mark.long
@pytest.mark.parametrize(
    "name", ["columns", "stored", "mapping.toml", "a" * 400 + ".csv", "\u00e9" * 200 + ".csv", ".."]
)
def test_any_name_of_a_log_will_do(pages: ServedPages, text: str, name: str) -> None:
    answer = dropped(pages, (name, text.encode()))
    assert answer.status_code == 303, words(answer)
    path = str(answer.headers["Location"]).removeprefix("../")
    assert "your indicator reads" in words(pages.get(path))
    mended = pages.post(path + "columns", data={})
    assert mended.status_code == 400  # nothing is to be used
    assert "your indicator reads" in words(pages.get(path))


def test_no_file_at_all_is_refused(pages: ServedPages) -> None:
    answer = pages.post("flight/", data={}, content_type="multipart/form-data")
    assert answer.status_code == 400
    assert "No file was chosen." in words(answer)


def form(**fields: str) -> dict[str, str]:
    return {"solve_by": "legs", "flap_setting": "up", **fields}


def stored(store: Store) -> list[Any]:
    with store.reading() as session:
        return list(stored_flights(session))


@pytest.mark.long
def test_a_flight_is_kept_for_an_aircraft_of_the_store(
    pages: ServedPages, described: Store, text: str
) -> None:
    path = opened(pages, text)
    legs = legs_of(words(pages.get(path)))["found"]
    legs[2]["start"] += 12.0
    answer = pages.post(
        path + "keep",
        data=form(
            airframe="C-02",
            weight_kg="1236 lb",
            note="smooth air",
            keep_log="yes",
            legs=json.dumps({"legs": sent(legs)}),
        ),
    )
    assert "is kept as sortie" in words(pages.follow(answer))
    (flight,) = stored(described)
    document = json.loads(flight.settings_json)
    assert (flight.airframe, flight.note, flight.is_kept) == ("C-02", "smooth air", True)
    listed = document["choices"]["leg_list"]
    assert listed["name"] == "legs.csv"
    assert len(listed["legs"]) == 12
    again = pages.post(path + "keep", data=form(airframe="C-02", weight_kg="1236 lb"))
    assert "Nothing was added" in words(pages.follow(again))
    assert "is kept already" in words(pages.get(path))


@pytest.mark.long
def test_a_flight_that_is_kept_from_another_file_is_kept_twice_only_if_somebody_says_so(
    pages: ServedPages, described: Store, text: str
) -> None:
    pages.post(opened(pages, text) + "keep", data=form(airframe="C-02", weight_kg="560"))
    path = opened(pages, text.replace("\n", "\r\n"))
    refused = pages.post(path + "keep", data=form(airframe="C-02", weight_kg="560"))
    assert refused.status_code == 400
    assert "stored already, as sortie 1 of C-02" in words(refused)
    assert "choose under" in words(refused)
    assert "--another-flight" not in words(refused)
    assert len(stored(described)) == 1
    instead = form(airframe="C-02", weight_kg="560", repeat="in its place")
    page = words(pages.follow(pages.post(path + "keep", data=instead)))
    assert "Sortie 1 from flight.csv counts no more: 3 points rejected." in page
    assert len(stored(described)) == 2


@pytest.mark.long
def test_a_flight_brings_its_aircraft(pages: ServedPages, described: Store, text: str) -> None:
    answer = pages.post(
        opened(pages, text) + "keep",
        data=form(
            airframe="+new", new_tag="C-51", new_type="Corrie 9", new_static_source="nose pair"
        ),
    )
    assert answer.status_code == 303, words(answer)
    (flight,) = stored(described)
    assert flight.airframe == "C-51"
    assert "nose pair" in words(pages.get("airframes/C-51.html"))


@pytest.mark.long
def test_a_stored_flight_is_looked_at_again_and_replaced(
    pages: ServedPages, described: Store, text: str
) -> None:
    path = opened(pages, text)
    legs = legs_of(words(pages.get(path)))["found"]
    legs[4]["out"] = True
    kept = form(airframe="C-02", weight_kg="560", note="gusty", keep_log="yes")
    kept["legs"] = json.dumps({"legs": sent(legs)})
    pages.post(path + "keep", data=kept)
    (before,) = stored(described)
    assert json.loads(before.settings_json)["choices"]["dropped_legs"] == [[2, 1]]
    assert "flight/of/1" in words(pages.get("sorties/1.html"))
    answer = pages.get("flight/of/1")
    again = str(answer.headers["Location"]).removeprefix("../../")
    page = words(pages.follow(answer))
    assert 'value="gusty"' in page
    assert "Replace sortie 1 of C-02 with this" in page
    picked = legs_of(page)["picked"]
    assert [leg["out"] for leg in picked] == [place == 4 for place in range(12)]
    fields = form(airframe="C-02", weight_kg="560", note="gusty", sortie="1")
    same = pages.follow(pages.post(again + "replace", data=fields))
    assert "Nothing changed" in words(same)
    assert stored(described) == [before]
    picked[4]["out"] = False
    picked[0]["stop"] -= 25.0
    fields["legs"] = json.dumps({"legs": sent(picked)})
    done = words(pages.follow(pages.post(again + "replace", data=fields)))
    assert "Sortie 1 is replaced." in done
    assert "the correction was" in done
    (after,) = stored(described)
    assert len(json.loads(after.settings_json)["choices"]["leg_list"]["legs"]) == 12
    assert (after.sortie_id, after.note, after.airframe) == (1, "gusty", "C-02")
    opened_again = words(pages.follow(pages.get("flight/of/1")))
    assert legs_of(opened_again)["picked"][0]["stop"] == picked[0]["stop"]
    other = pages.post(again + "replace", data={**fields, "airframe": "C-03"})
    assert other.status_code == 400
    assert "Sortie 1 is of C-02, not of C-03." in words(other)
    assert stored(described) == [after]


@pytest.mark.long
def test_a_stored_flight_whose_log_is_not_kept_is_asked_for(pages: ServedPages, text: str) -> None:
    pages.post(opened(pages, text) + "keep", data=form(airframe="C-02", weight_kg="560"))
    refused = pages.get("flight/of/1")
    assert refused.status_code == 400
    assert "is not kept in the store" in words(refused)
    assert pages.get("flight/of/99").status_code == 404


@pytest.mark.long
@pytest.mark.parametrize(
    ("fields", "named"),
    [
        ({"airframe": ""}, "No airframe was named."),
        ({"airframe": "C-99"}, "C-99"),
        ({"airframe": "C-02", "weight_kg": "heavy"}, "Weight: &#x27;heavy&#x27; is not a number."),
        ({"airframe": "C-02", "weight_kg": "500", "takeoff_weight_kg": "520"}, "Give one of them."),
        ({"airframe": "C-02", "fuel_used_kg_per_h": "12"}, "Give both."),
        ({"airframe": "C-02", "flown_on": "yesterday"}, "is not a date"),
        ({"airframe": "C-02", "solve_by": "magic"}, "is not one of the choices."),
        ({"airframe": "C-02", "weight_kg": "90000"}, "90000 kg"),
        ({"airframe": "+new"}, "The new aircraft has no tag."),
        ({"airframe": "+new", "new_tag": "C-02"}, "is in the store already."),
        ({"airframe": "+new", "new_tag": "c2"}, "C-02"),
    ],
)
def test_what_cannot_be_kept_is_refused_with_the_form_as_it_was(
    pages: ServedPages, described: Store, text: str, fields: dict[str, str], named: str
) -> None:
    path = opened(pages, text)
    answer = pages.post(path + "keep", data=form(**{"note": "my own words", **fields}))
    assert answer.status_code == 400
    assert named in words(answer)
    assert 'value="my own words"' in words(answer)
    assert stored(described) == []


@pytest.mark.long
def test_the_form_changes_how_the_flight_is_looked_at(pages: ServedPages, text: str) -> None:
    path = opened(pages, text)
    answer = pages.post(path, data=form(solve_by="flight", airframe="C-02", weight_kg="560"))
    page = words(pages.follow(answer))
    assert legs_of(page)["picking"] is False
    assert "leg-area part-" in page
    assert legs_of(page)["picked"] == []
    back = words(pages.follow(pages.post(path, data=form())))
    assert legs_of(back)["picking"] is True


def test_strips_are_drawn_finer_for_a_shorter_stretch(pages: ServedPages, text: str) -> None:
    path = opened(pages, text)
    part = words(pages.get(path + "strips?start_s=100&stop_s=200"))
    assert 'data-start="100.0"' in part
    assert "<html" not in part
    assert pages.get(path + "strips?start_s=x").status_code == 200


def typed(rows: tuple[str, ...] = ROWS, **more: str) -> dict[str, str]:
    names = ("ias", "altitude", "oat", "ground_speed", "track")
    cells = {
        f"{name}-{place}": cell
        for place, row in enumerate(rows, 1)
        for name, cell in zip(names, row.strip().split(","), strict=True)
    }
    return {**cells, "speed_unit": "kt", "height_unit": "ft", "temperature_unit": "degC", **more}


def test_legs_from_a_kneeboard_are_typed_and_answered(pages: ServedPages) -> None:
    page = words(pages.follow(pages.post("flight/typed", data=typed())))
    assert "4 legs written by hand" in page
    assert "reads" in page
    mph = words(pages.follow(pages.post("flight/typed", data=typed(speed_unit="mph"))))
    assert page != mph


@pytest.mark.parametrize(
    ("cells", "named"),
    [
        ({"ias-2": "fast"}, "kneeboard.csv, line 3"),
        ({"track-1": "4000"}, "kneeboard.csv, line 2"),
        ({"speed_unit": "furlongs"}, "is no unit of the list"),
    ],
)
def test_typed_legs_that_cannot_be_are_refused_and_stay_in_the_form(
    pages: ServedPages, cells: dict[str, str], named: str
) -> None:
    answer = pages.post("flight/typed", data={**typed(), **cells})
    assert answer.status_code == 400
    assert named in words(answer)
    assert 'name="ground_speed-3" inputmode="decimal"' in words(answer)
    assert 'value="99"' in words(answer)
    assert left_behind(pages) == []


def test_no_typed_leg_is_refused(pages: ServedPages) -> None:
    assert "No leg was typed." in words(pages.post("flight/typed", data={}))


@pytest.mark.long
def test_a_column_that_is_not_understood_is_mended_by_choosing(
    pages: ServedPages, text: str
) -> None:
    heading, _, rest = text.partition("\n")
    names = heading.split(",")
    place = next(i for i, name in enumerate(names) if "ias" in name.lower())
    own = names[place]
    names[place] = "needle"
    answer = dropped(pages, ("odd.csv", (",".join(names) + "\n" + rest).encode()))
    path = str(answer.headers["Location"]).removeprefix("../")
    page = words(pages.follow(pages.get(path)))
    assert "needle" in page
    selects = re.findall(r'name="(quantity|unit)-(\d+)"[^>]*>(.*?)</select>', page)
    fields = {}
    for kind, number, options in selects:
        chosen = re.search(r'value="([^"]*)" selected', options)
        fields[f"{kind}-{number}"] = chosen[1] if chosen else ""
    at = max(int(number) for _, number, _ in selects)
    at = next(int(n) for n in re.findall(r'name="quantity-(\d+)" aria-label="What needle', page))
    wrong = pages.post(path + "columns", data={**fields, f"quantity-{at}": "track"})
    assert wrong.status_code == 400
    assert "both to hold track" in words(wrong)
    mended = {**fields, f"quantity-{at}": "indicated_airspeed", f"unit-{at}": "kt"}
    assert own
    done = words(pages.follow(pages.post(path + "columns", data=mended)))
    assert "read again with the columns" in done
    assert "your indicator reads" in done


def finished(pages: ServedPages, answer: Any) -> str:
    """Wait until work is done, and return the page that it leads to."""
    work = pages.desk.works.find(1)
    for thread in list(pages.desk.works._threads.values()):
        thread.join(120.0)
    assert work.state == "done", work
    return words(pages.get(work.leads_to))


@pytest.mark.long
def test_several_logs_are_reduced_and_each_outcome_is_shown(
    pages: ServedPages, described: Store, text: str
) -> None:
    other = log_text(fly(truth=Truth(kappa=0.05, roughness=1.0), seed=9))
    answer = dropped(
        pages,
        ("summer/a.csv", text.encode()),
        ("summer/b.csv", other.encode()),
        ("autumn/a.csv", b"no log at all"),
    )
    path = str(answer.headers["Location"]).removeprefix("../")
    assert "3 logs" in words(pages.get(path))
    refused = pages.post(path, data=form(airframe=""))
    assert refused.status_code == 400
    assert "No aircraft was chosen." in words(refused)
    begun = pages.post(path, data=form(airframe="C-02", weight_kg="560"))
    page = finished(pages, begun)
    assert page.count("stored</td>") == 2
    assert page.count("failed</td>") == 1
    assert "2-a.csv" in page
    assert len(stored(described)) == 2
    assert "sorties/1.html" in page


@pytest.mark.long
def test_logs_that_were_not_reached_when_it_was_stopped_go_on(
    pages: ServedPages, described: Store, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = log_text(fly(truth=Truth(kappa=0.05, roughness=1.0), seed=9))
    answer = dropped(pages, ("a.csv", text.encode()), ("b.csv", other.encode()))
    path = str(answer.headers["Location"]).removeprefix("../")
    say = LongWork.say

    def stopped_after_one(work: LongWork, words: str) -> None:
        work.stopping.set()
        say(work, words)

    monkeypatch.setattr(LongWork, "say", stopped_after_one)
    fields = form(airframe="C-02", weight_kg="560")
    begun = pages.post(path, data=fields)
    for thread in list(pages.desk.works._threads.values()):
        thread.join(120.0)
    page = words(pages.follow(begun))
    assert "It was stopped. 1 of 2 done" in page
    assert f'href="../../{path}"' in page
    assert "1 of 2 logs were not reached" in words(pages.get(path))
    assert len(stored(described)) == 1
    monkeypatch.undo()
    pages.post(path, data=fields)
    for thread in list(pages.desk.works._threads.values()):
        thread.join(120.0)
    page = words(pages.get(path))
    assert "known already" in page
    assert len(stored(described)) == 2


@pytest.mark.long
def test_a_new_aircraft_stays_only_if_one_of_its_logs_does(
    pages: ServedPages, described: Store, text: str
) -> None:
    for logs, there in (
        ((b"no log", b"none either"), False),
        ((text.encode(), b"none either"), True),
    ):
        answer = dropped(pages, *((f"{place}.csv", log) for place, log in enumerate(logs)))
        path = str(answer.headers["Location"]).removeprefix("../")
        begun = pages.post(path, data=form(airframe="+new", new_tag="C-61", new_type="Corrie 9"))
        assert begun.status_code == 303, words(begun)
        for thread in list(pages.desk.works._threads.values()):
            thread.join(120.0)
        page = words(pages.get(path))
        assert "What came of each" in page
        assert (pages.get("airframes/C-61.html").status_code == 200) is there
    assert len(stored(described)) == 1


@pytest.mark.parametrize("path", ["flight/7/", "flight/7/columns", "flight/several/7/"])
def test_a_flight_that_is_not_there_is_named(pages: ServedPages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_files_go_with_the_program(described: Store, text: str) -> None:
    with served(described) as pages:
        opened(pages, text)
        folder = pages.desk.folder
        assert list(Path(folder).rglob("flight.csv"))
    assert not folder.exists()
