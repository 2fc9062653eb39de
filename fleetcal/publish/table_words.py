"""Words that every format of a table uses: headings of columns, facts about the table."""

from __future__ import annotations

from fleetcal.publish.cautions import PITOT_ASSUMPTION
from fleetcal.publish.plain_text import decimal, one_line, signed
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import Band, TableLine


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


def column_words(form: TableForm) -> tuple[tuple[str, str], ...]:
    """Return heading and unit of each column; soft hyphens where a heading may break.

    Parameters
    ----------
    form : TableForm

    Returns
    -------
    tuple of (heading, unit)
    """
    unit = form.speed_unit
    first, second = ("CAS", "IAS") if form.from_cas else ("IAS", "CAS")
    band = f"95\u00a0% band, {unit}"
    return (
        (first, unit),
        ("Correc\u00adtion", unit),
        (second, unit),
        ("Group's mean", band),
        ("Next air\u00adcraft", band),
        ("Alti\u00admeter correc\u00adtion", "ft"),
        ("Air\u00adcraft", ""),
    )


def line_words(line: TableLine, form: TableForm, places: int) -> tuple[str, ...]:
    """Return the cells of a line that has values.

    Parameters
    ----------
    line : TableLine
        Not empty.
    form : TableForm
    places : int
        Decimals of the looked-up speed.

    Returns
    -------
    tuple of str
        One for each column; a band as ``low to high``.
    """
    assert line.answer is not None
    assert line.correction is not None
    height = line.altitude_correction_ft
    return (
        decimal(line.given, places),
        signed(line.correction),
        decimal(line.answer),
        " to ".join(band_ends(line.mean, form)),
        " to ".join(band_ends(line.following, form)),
        "not given" if height is None else signed(height, 0),
        str(line.airframes),
    )


def band_ends(band: Band | None, form: TableForm) -> tuple[str, ...]:
    """Return both ends of a band as words: signed corrections, or plain speeds."""
    if band is None:
        return ()
    return tuple(decimal(end) if form.from_cas else signed(end) for end in band)


def fact_words(table: PooledTable) -> tuple[tuple[str, str], ...]:
    """Return what stands behind a table, as names and sentences; none is empty.

    Parameters
    ----------
    table : PooledTable

    Returns
    -------
    tuple of (name, sentence)
    """
    facts = (
        ("Pooled", _pooled(table)),
        ("Model", table.model),
        ("Assumption", PITOT_ASSUMPTION),
        ("Altitude", table.altitude_statement),
        ("Yardsticks", table.yardstick.removeprefix("Yardsticks, ")),
        ("Issue", _issue(table)),
        ("Made on", f"{table.made_on.isoformat()}, by fleetcal {table.program_version}"),
    )
    return tuple((name, one_line(words)) for name, words in facts if words.strip())


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


def counted(number: int, one: str, many: str) -> str:
    """Return a number with its noun."""
    return f"{number} {one if number == 1 else many}"


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
LAST_COLUMN_HELP = "The last column counts the aircraft whose points reach that speed."
