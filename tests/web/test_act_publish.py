"""Tables and sites published from pages, and issues of tables."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from urllib.parse import quote
from zipfile import ZipFile

import pytest
from werkzeug.test import TestResponse

from fleetcal.publish.published_files import FORMATS
from fleetcal.services.curves.pooled_curve import CurveRequest
from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.keeping.store_history import history_of, state_of
from fleetcal.services.points.decide_points import reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.issues import known_issues
from fleetcal.services.publishing.publish_curve import Layout, publish_curve
from fleetcal.store import Store
from fleetcal.web.work import DONE, RUNNING
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE

pytestmark = pytest.mark.long

OF = "type=Corrie+2&group=wing+boom+%2F+75+kW+four+%2F+two-blade+fixed&flaps=up"


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04", "C-05"])
    import_points(described, tmp_path / "p.csv")
    describe_airframe(described, AirframeAnswers(tag="C-02", registration="XX-SECRET"))
    with served(described) as opened:
        yield opened


def issued(pages: ServedPages, reason: str = "first pooled table") -> TestResponse:
    return pages.follow(pages.post(f"issues/make?{OF}", data={"reason": reason}))


def test_a_table_is_shown_before_it_is_published(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    text = pages.get(f"publish?{OF}&step=10&speed_unit=mph&weight_kg=560").get_data(as_text=True)
    assert "560 kg" in text
    assert "mph" in text
    assert text.index("Corrections") < text.index("Choose otherwise")
    assert 'name="step" value="10"' in text
    assert state_of(pages.desk.store) == before


@pytest.mark.parametrize("name", FORMATS)
def test_each_file_is_the_one_that_the_command_writes(
    pages: ServedPages, tmp_path: Path, name: str
) -> None:
    answer = pages.get(f"publish/file?group=wing+boom&step=10&format={name}")
    request = CurveRequest(group="wing boom", step_kt=10.0)
    layout = Layout(formats=(name,))
    done = publish_curve(pages.desk.store, request, tmp_path, date.today(), layout)
    written = Path(done.files[0].path)
    if name not in ("pdf", "card"):  # they carry the second in which they were made
        assert answer.get_data() == written.read_bytes()
    assert f"attachment; filename={written.name}" == answer.headers["Content-Disposition"]
    answer.close()
    assert not list(pages.desk.folder.iterdir())


@pytest.mark.parametrize("name", ["", "exe", "../../etc/passwd", HOSTILE])
def test_a_file_that_there_is_not_is_refused(pages: ServedPages, name: str) -> None:
    answer = pages.get(f"publish/file?group=wing+boom&format={quote(name)}")
    assert answer.status_code == 400
    assert "unknown format" in answer.get_data(as_text=True).lower()
    assert "<script>alert" not in answer.get_data(as_text=True)


@pytest.mark.parametrize(
    "query",
    [
        "group=nose+boom&step=5",
        "group=wing+boom&step=0",
        "group=wing+boom&step=five",
        "group=wing+boom&speed_unit=furlongs",
        "group=wing+boom&weight_kg=5",
        f"group={quote(HOSTILE)}&type={quote(HOSTILE)}&flaps={quote(HOSTILE)}&step=5",
    ],
)
def test_a_table_that_cannot_be_is_refused_and_all_is_kept(pages: ServedPages, query: str) -> None:
    answer = pages.get(f"publish?{query}")
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'role="alert"' in text
    assert "<script>alert" not in text
    if "script" not in query:
        assert f'value="{re.findall("group=([^&]+)", query)[0].replace("+", " ")}"' in text


def test_the_table_of_one_airframe_has_no_issues(pages: ServedPages) -> None:
    text = pages.get("publish?group=C-02").get_data(as_text=True)
    assert "C-02" in text
    assert "Issue this table" not in text
    before = state_of(pages.desk.store)
    answer = pages.post("issues/make?group=C-02", data={"reason": "first"})
    assert answer.status_code == 400
    assert "an issue is of a group of airframes" in answer.get_data(as_text=True)
    assert 'value="first"' in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before


def test_a_table_is_issued_with_its_reason(pages: ServedPages) -> None:
    text = issued(pages).get_data(as_text=True)
    assert "Issue 1 of wing boom / 75 kW four / two-blade fixed, flaps up, is made." in text
    assert "first pooled table" in text
    assert history_of(pages.desk.store).lines[-1].command == "serve: publish --issue"
    assert not list(pages.desk.folder.iterdir())


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_table_is_not_issued_without_a_reason(pages: ServedPages, reason: str) -> None:
    answer = pages.post(f"issues/make?{OF}", data={"reason": reason})
    assert answer.status_code == 400
    assert not known_issues(pages.desk.store).issues


def test_files_of_an_issue_are_as_they_were_published(pages: ServedPages) -> None:
    issued(pages)
    first = pages.get(f"issues/file?{OF}&number=1&format=csv").get_data()
    reject(pages.desk.store, [1, 2], "static line loose")
    answer = pages.get(f"issues/file?{OF}&number=1&format=csv")
    assert answer.get_data() == first
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=issue-1-Corrie")


def test_two_issues_are_compared(pages: ServedPages) -> None:
    issued(pages)
    reject(pages.desk.store, [1, 2], "static line loose")
    issued(pages, "without a loose line")
    text = pages.get(f"issues/compare?{OF}&first=1&second=2").get_data(as_text=True)
    assert "Issue 2 of wing boom" in text
    assert "2 points of C-02 went: static line loose" in text


def test_an_issue_is_withdrawn_with_a_reason_once(pages: ServedPages) -> None:
    issued(pages)
    path = f"issues/withdraw?{OF}&number=1"
    before = state_of(pages.desk.store)
    assert pages.post(path, data={"reason": ""}).status_code == 400
    assert state_of(pages.desk.store) == before
    text = pages.follow(pages.post(path, data={"reason": HOSTILE})).get_data(as_text=True)
    assert "is withdrawn" in text
    assert "<script>alert" not in text
    again = pages.post(path, data={"reason": "twice"})
    assert again.status_code == 400
    assert 'value="twice"' in again.get_data(as_text=True)


@pytest.mark.parametrize(
    "query",
    [
        f"{OF}&number=7&first=1&second=7&format=csv",
        f"{OF}&number=..&first=..&second=1&format=csv",
        "type=x&group=y&flaps=up&number=1&first=1&second=2&format=csv",
        f"type={quote(HOSTILE)}&group=..%2F..&number=1&first=1&second=1&format=csv",
    ],
)
@pytest.mark.parametrize("act", ["compare", "file"])
def test_an_issue_that_there_is_not_is_named_so(pages: ServedPages, act: str, query: str) -> None:
    issued(pages)
    answer = pages.get(f"issues/{act}?{query}")
    assert answer.status_code == 404
    assert "<script>alert" not in answer.get_data(as_text=True)


def site(pages: ServedPages, **form: str) -> ZipFile:
    answer = pages.post("publish/site", data=form)
    number = int(re.findall(r"progress/(\d+)/", answer.headers["Location"])[0])
    work = pages.desk.works.find(number)
    for _ in range(600):
        if work.state != RUNNING:
            break
        time.sleep(0.05)
    assert work.state == DONE, work.error
    page = pages.get(work.leads_to)
    assert "The site is ready" in page.get_data(as_text=True)
    sent = pages.get(f"{work.leads_to}site.zip")
    assert sent.headers["Content-Disposition"] == "attachment; filename=site.zip"
    packed = ZipFile(io.BytesIO(sent.get_data()))
    sent.close()
    return packed


def words(packed: ZipFile) -> str:
    return "".join(packed.read(one).decode() for one in packed.namelist() if "html" in one)


def test_a_site_has_no_days_and_no_registrations_unless_chosen(pages: ServedPages) -> None:
    plain = site(pages)
    assert {"site/index.html", "site/airframes/C-02.html"} <= set(plain.namelist())
    assert "XX-SECRET" not in words(plain)
    assert "2021-03-05" not in words(plain)
    named = site(pages, with_days="yes", with_registrations="yes")
    assert "XX-SECRET" in words(named)
    assert "2021-03-05" in words(named)


def test_a_site_for_an_impossible_weight_is_refused_and_leaves_nothing(
    pages: ServedPages,
) -> None:
    answer = pages.post("publish/site", data={"weight_kg": "heavy", "with_days": "yes"})
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'value="heavy"' in text
    assert 'name="with_days" value="yes" checked' in text
    assert not list(pages.desk.folder.iterdir())


@pytest.mark.parametrize("key", ["0" * 16, "..", "%2e%2e", "..%2f..%2fetc", "x" * 400])
def test_a_site_that_was_not_made_is_not_sent(pages: ServedPages, key: str) -> None:
    assert pages.get(f"publish/site/{key}/site.zip").status_code == 404
    assert pages.get(f"publish/site/{key}/").status_code == 404
