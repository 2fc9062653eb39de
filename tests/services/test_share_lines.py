"""The lines of a share file: an entry each, and nothing for show."""

from __future__ import annotations

import json
from pathlib import Path

from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import Store
from tests.services.invented_group import flown_points


def test_every_entry_of_a_share_file_has_a_line(described: Store, tmp_path: Path) -> None:
    flown_points(tmp_path / "points.csv", ["C-01", "C-02", "C-03"])
    import_points(described, tmp_path / "points.csv")
    share(described, tmp_path / "share.json", ShareChoice())
    text = (tmp_path / "share.json").read_text(encoding="ascii")
    document = json.loads(text)
    entries = [entry for rows in document["contents"]["things"].values() for entry in rows]
    lines = [line.rstrip(",") for line in text.splitlines()]
    of_entries = [json.loads(line) for line in lines if line.startswith('{"key"')]
    assert of_entries == entries
    assert len(entries) > 10
    assert len(text) < 0.8 * len(json.dumps(document, indent=1))


def test_a_change_of_one_airframe_changes_few_lines(described: Store, tmp_path: Path) -> None:
    flown_points(tmp_path / "points.csv", ["C-01", "C-02", "C-03"])
    import_points(described, tmp_path / "points.csv")
    share(described, tmp_path / "before.json", ShareChoice())
    flown_points(tmp_path / "more.csv", ["C-02"], "2023-05-05")
    import_points(described, tmp_path / "more.csv")
    share(described, tmp_path / "after.json", ShareChoice())
    before, after = (
        set((tmp_path / name).read_text(encoding="ascii").splitlines())
        for name in ("before.json", "after.json")
    )
    assert len(after - before) <= 4  # the flight, a comma before it, the checksum and signature
