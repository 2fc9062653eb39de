from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcal.errors import DataError, ImplausibleError
from fleetcal.publish.published_files import FORMATS, group_file_stem, publish_table
from fleetcal.publish.table_form import TableForm
from tests.publish.invented_table import invented_readings, invented_table


@pytest.mark.long
def test_publishing_twice_gives_the_same_files_one_for_each_format(tmp_path: Path) -> None:
    files = publish_table(invented_table(), tmp_path / "pages")
    assert [file.format for file in files] == list(FORMATS)
    first = {file.path: file.path.read_bytes() for file in files}
    publish_table(invented_table(), tmp_path / "pages")
    assert {path: path.read_bytes() for path in (tmp_path / "pages").iterdir()} == first


def test_only_the_formats_asked_for_are_written(tmp_path: Path) -> None:
    files = publish_table(invented_table(), tmp_path, ["card", "csv"])
    assert [file.format for file in files] == ["csv", "card"]
    assert set(tmp_path.iterdir()) == {file.path for file in files}


def test_an_unknown_format_or_none_or_an_unknown_paper_writes_nothing(tmp_path: Path) -> None:
    with pytest.raises(ImplausibleError, match="'scroll'"):
        publish_table(invented_table(), tmp_path, ["csv", "scroll"])
    with pytest.raises(ImplausibleError, match="no format"):
        publish_table(invented_table(), tmp_path, [])
    with pytest.raises(ImplausibleError, match="'a3'"):
        publish_table(invented_table(), tmp_path, ["csv", "pdf"], "a3")
    assert list(tmp_path.iterdir()) == []


def test_groups_that_differ_in_anything_have_files_of_their_own() -> None:
    tables = [
        invented_table(),
        invented_table(engine=None, propeller=None),
        invented_table(engine=None),
        invented_table(propeller=None),
        invented_table(flap_setting="15"),
        invented_table(static_source="wing boom"),
        invented_table(type_name="Corrie 3"),
        invented_table(form=TableForm(speed_unit="mph")),
        invented_table(form=TableForm(speed_unit="km/h")),
        invented_table(form=TableForm("cas-to-ias"), readings=invented_readings()),
    ]
    assert len({group_file_stem(table) for table in tables}) == len(tables)


@pytest.mark.long
def test_a_folder_that_cannot_be_is_an_explained_error(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("kept")
    with pytest.raises(DataError, match="cannot write"):
        publish_table(invented_table(), tmp_path / "taken")


def test_importing_the_room_does_not_wait_for_libraries_of_drawings_pages_and_paper() -> None:
    code = (
        "import sys\n"
        "from fleetcal.publish import flight_card_html, flight_card_pdf, published_files\n"
        "from fleetcal.publish.site import write_site\n"
        "sys.exit(bool({'matplotlib', 'jinja2', 'fpdf'} & set(sys.modules)))"
    )
    path = os.pathsep.join(filter(None, sys.path))
    environment = {**os.environ, "PYTHONPATH": path}
    assert (
        subprocess.run([sys.executable, "-c", code], env=environment, check=False).returncode == 0
    )
