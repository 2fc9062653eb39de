"""Words that every format of a table uses: headings of columns, facts about the table."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.cautions import CURVE_ASSUMPTION, LIMIT_CAUTION, PITOT_ASSUMPTION
from fleetcal.publish.plain_text import one_line, signed
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import (
    TableLimit,
    beyond_words,
    lowest_bound,
    printed_limit,
    titled,
)
from fleetcal.publish.table_lines import Band, TableLine
from fleetcal.wording import counted, decimal

MEAN_BAND: Final = "Group's mean"
"""Heading of the band of the group's mean."""


def title_words(table: PooledTable) -> str:
    """Return type and static source."""
    return one_line(f"{table.type_name}, {table.static_source}")


def held_for_words(table: PooledTable) -> str:
    """Return pairing, flap setting and weight, for which alone it holds, and who was left out."""
    pairing = one_line(table.pairing)
    without = f" Without {'; '.join(table.without)}." if table.without else ""
    return one_line(
        f"{pairing[:1].upper()}{pairing[1:]}. Flaps {table.flap_setting}. "
        f"Weight {table.weight_kg:.0f} kg.{without}"
    )


def relation_words(form: TableForm) -> str:
    """Return how to use the numbers."""
    if form.from_cas:
        return "IAS = CAS − correction. Bands are of the IAS that shows the CAS."
    return "Add the correction to the reading: CAS = IAS + correction."


def column_words(table: PooledTable) -> tuple[tuple[str, str], ...]:
    """Return heading and unit of each column; soft hyphens where a heading may break.

    Returns:
        Tuple of (heading, unit).
    """
    unit = table.form.speed_unit
    first, second = ("CAS", "IAS") if table.form.from_cas else ("IAS", "CAS")
    band = f"95\u00a0% band, {unit}"
    weight = f"at {table.weight_kg:.0f} kg, {unit}"
    light: tuple[tuple[str, str], ...] = ()
    if table.light_weight_kg is not None:
        light = ((second, f"at {table.light_weight_kg:.0f} kg, {unit}"),)
    return (
        (first, unit if light else weight),
        ("Correc\u00adtion", weight if light else unit),
        (second, weight if light or table.form.from_cas else unit),
        *light,
        (MEAN_BAND, band),
        ("Next air\u00adcraft", band),
        ("Alti\u00admeter correc\u00adtion", "ft"),
        ("Flown by", ""),
    )


def line_words(line: TableLine, table: PooledTable, places: int) -> tuple[str, ...]:
    """Return the cells of a line that has values.

    Args:
        line: Not empty.
        places: Decimals of the looked-up speed.

    Returns:
        One for each column; a band as ``low to high``.
    """
    assert line.answer is not None
    assert line.correction is not None
    height = line.altitude_correction_ft
    light: tuple[str, ...] = ()
    if table.light_weight_kg is not None:
        light = ("" if line.light is None else decimal(line.light),)
    return (
        decimal(line.given, places),
        signed(line.correction),
        decimal(line.answer),
        *light,
        " to ".join(band_ends(line.mean, table.form)),
        " to ".join(band_ends(line.following, table.form)),
        "not given" if height is None else signed(height, 0),
        flown_words(line),
    )


def flown_words(line: TableLine) -> str:
    """Return how many aircraft really read a speed; empty where it was not counted."""
    return "" if line.flown_by is None else str(line.flown_by)


def band_ends(band: Band | None, form: TableForm) -> tuple[str, ...]:
    """Return both ends of a band as words: signed corrections, or plain speeds."""
    if band is None:
        return ()
    return tuple(decimal(end) if form.from_cas else signed(end) for end in band)


def fact_words(table: PooledTable) -> tuple[tuple[str, str], ...]:
    """Return what stands behind a table, as names and sentences; none is empty.

    Returns:
        Tuple of (name, sentence).
    """
    facts = (
        *_limits(table),
        ("Pooled", _pooled(table)),
        ("Model", table.model),
        ("Assumptions", f"{PITOT_ASSUMPTION} {table.pitot} {CURVE_ASSUMPTION}"),
        ("Altitude", table.altitude_statement),
        ("Yardsticks", table.yardstick.removeprefix("Yardsticks, ")),
        ("Issue", _issue(table)),
        ("Made on", f"{table.made_on.isoformat()}, by fleetcal {table.program_version}"),
    )
    return tuple((name, one_line(words)) for name, words in facts if words.strip())


def _limits(table: PooledTable) -> list[tuple[str, str]]:
    """Return each limit on this port with where it comes from, and what it is worth."""
    if not table.limits:
        return []
    unit = table.form.speed_unit

    def weight(limit: TableLimit) -> str:
        return ", at all weights flown" if limit.bound else f" at {table.weight_kg:.0f} kg"

    told = [
        (
            titled(limit),
            f"{printed_limit(limit, table.form)} {unit} IAS on this port{weight(limit)}. "
            f"{limit.reasons}.",
        )
        for limit in table.limits
    ]
    return [*told, ("Limits", LIMIT_CAUTION)]


def bound_words(table: PooledTable) -> str:
    """Return what stands above the first line that is not for flying; empty without a bound."""
    bound = lowest_bound(table.limits)
    return "" if bound is None else one_line(beyond_words(bound, table.form))


def short_limits(table: PooledTable) -> str:
    """Return the limits on this port as names and figures; empty if none is known."""
    return one_line(
        "; ".join(f"{limit.name} {printed_limit(limit, table.form)}" for limit in table.limits)
    )


def _issue(table: PooledTable) -> str:
    mark = table.issue
    if mark is None:
        return ""
    why = f": {mark.why}" if mark.why.strip() else ""
    return f"{mark.title}{why}. What went in has the SHA-256 {mark.inputs_sha256}."


def _pooled(table: PooledTable) -> str:
    return ", ".join(
        (
            counted(table.airframe_count, "aircraft", "aircraft"),
            counted(table.sortie_count, "sortie", "sorties"),
            counted(table.point_count, "point", "points"),
        )
    )


READING_HELP = (
    (
        "group's mean",
        "band says how well the curve itself is known: with 95 % confidence the mean "
        "of all such aircraft lies in it.",
    ),
    (
        "next aircraft",
        "band is the wider one that matters for a single aircraft: one more of this "
        "group should lie in it with 95 % probability.",
    ),
)
"""What the two bands mean, as (name, rest of the sentence)."""
LAST_COLUMN_HELP = (
    "A line has values where points of three aircraft, brought to the weight of the table, reach "
    "its speed; the last column counts the aircraft whose indicator really showed that speed, at "
    "the weight they flew."
)
