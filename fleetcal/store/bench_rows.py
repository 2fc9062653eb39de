"""Bench checks of airspeed indicators and altimeters: find them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fleetcal.store.plain_reads import Reader, ask, day_of, numbers_in_sql


@dataclass(frozen=True, kw_only=True)
class NewBenchCheck:
    """One check of an instrument.

    Attributes:
        airframe: Tag.
        kind: ``airspeed`` (kt) or ``altimeter`` (ft).
        u: Standard uncertainty of the corrections, kt or ft.
        rows (tuple of (indicated, correction)): The correction is added to the reading.
    """

    airframe: str
    kind: str
    checked_on: date
    u: float
    rows: tuple[tuple[float, float], ...]
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class BenchCheckRow(NewBenchCheck):
    """A stored bench check with its lines, lowest reading first.

    `withdrawn` is empty while the check stands, else the reason why not.
    """

    bench_check_id: int
    withdrawn: str
    source_name: str
    sha256: str


def bench_check_in_force(reader: Reader, tag: str, kind: str, day: date) -> BenchCheckRow | None:
    """Return the newest bench check not later than a day, None if there is none.

    Args:
        kind: ``airspeed`` or ``altimeter``.
    """
    found = _checks(
        reader,
        """WHERE airframe.tag = :tag AND bench_check.kind = :kind AND checked_on <= :day
            AND withdrawn = '' ORDER BY checked_on DESC, bench_check.id DESC LIMIT 1""",
        {"tag": tag, "kind": kind, "day": day},
    )
    return found[0] if found else None


def list_bench_checks(reader: Reader, tag: str | None = None) -> list[BenchCheckRow]:
    """Return bench checks, withdrawn ones too, by airframe, kind and day.

    Args:
        tag: Only of this airframe.

    Returns:
        Two queries at most, however many checks.
    """
    where, values = ("", {}) if tag is None else ("WHERE airframe.tag = :tag", {"tag": tag})
    found = _checks(reader, where, values)
    return sorted(found, key=lambda c: (c.airframe, c.kind, c.checked_on, c.bench_check_id))


def _checks(reader: Reader, where: str, values: Mapping[str, object]) -> list[BenchCheckRow]:
    """Return the checks that meet conditions, each with its lines."""
    query = f"""FROM bench_check JOIN airframe ON airframe.id = bench_check.airframe_id
        JOIN source_file ON source_file.id = bench_check.source_file_id {where}"""
    names = """airframe.tag, bench_check.kind, checked_on, u, bench_check.note, withdrawn,
        source_file.name, sha256"""
    found = list(ask(reader, f"SELECT bench_check.id, {names} {query}", values))
    lines: dict[int, list[tuple[float, float]]] = {}
    if found:
        rows = f"""SELECT bench_check_id, indicated, correction FROM bench_row
            WHERE bench_check_id IN ({numbers_in_sql(number for number, *_ in found)})
            ORDER BY indicated"""
        for number, indicated, correction in ask(reader, rows):
            lines.setdefault(number, []).append((indicated, correction))
    return [
        BenchCheckRow(
            bench_check_id=number,
            airframe=tag,
            kind=kind,
            checked_on=day_of(checked_on),
            u=u,
            note=note,
            withdrawn=withdrawn,
            source_name=name,
            sha256=sha256,
            rows=tuple(lines.get(number, ())),
        )
        for number, tag, kind, checked_on, u, note, withdrawn, name, sha256 in found
    ]
